"""Which editor changes which field of the record."""

from __future__ import annotations

from typing import Any

from logbook_app.dive.history import EXTRA
from logbook_app.screens.editing import Editing
from logbook_app.screens.record_groups import CYLINDER
from logbook_app.screens.widgets.choice_editor import ChoiceEditor, SeveralEditor
from logbook_app.screens.widgets.cylinder_editor import CylinderEditor
from logbook_app.screens.widgets.number_editor import NumberEditor
from logbook_app.screens.widgets.site_editor import SiteEditor
from logbook_app.screens.widgets.start_editor import StartEditor
from logbook_app.screens.widgets.words_editor import WordsEditor

_EDITORS: dict[str, Any] = {
    "began_at": StartEditor,
    "site": SiteEditor,
    "water": ChoiceEditor,
    "rating": ChoiceEditor,
    "role": ChoiceEditor,
    "environments": SeveralEditor,
}
_TEXTS = ("suit", "current", "conditions", "purpose", "notes", "trip", "supervised_by")
_WORDS = (*_TEXTS, "diver", "buddies", "tags")


def editor_for(name: str, editing: Editing) -> Any:
    """Return a new editor for a field; see `record_groups` for the names."""
    if name.startswith(CYLINDER):
        kind = CylinderEditor
    elif name.startswith(EXTRA) or name in _WORDS:
        kind = WordsEditor
    else:
        kind = _EDITORS.get(name, NumberEditor)
    return kind(name=name, editing=editing)
