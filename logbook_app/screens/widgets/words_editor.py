"""Words of a record given anew: chips of what was written before, and a field for anything else."""

from __future__ import annotations

from typing import Any

from kivy.properties import BooleanProperty, ListProperty, StringProperty

from logbook_app.dive.history import EXTRA
from logbook_app.screens.entry_draft import names_in
from logbook_app.screens.widgets.field_panel import Editor

MOST_CHIPS = 10
SEVERAL = ("buddies", "tags")
LONG = ("notes", "conditions")


class WordsEditor(Editor):
    """One text, or several names with commas between."""

    several = BooleanProperty(False)
    """True where there may be more than one name."""

    long = BooleanProperty(False)
    """True for text of several lines."""

    offered = ListProperty([])
    """What was written before."""

    chosen = ListProperty([])
    """The chips that hold."""

    hint = StringProperty("")
    """What may be written."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.several = self.name in SEVERAL
        self.long = self.name in LONG or self.name.startswith(EXTRA)
        known = self.editing.known.words.get("buddies" if self.name == "diver" else self.name, ())
        self.offered = list(known[:MOST_CHIPS])
        self._show(self._so_far())

    def choose(self, chosen: list[str]) -> None:
        """Take a chip: one of several names, or the whole text, which is then kept at once."""
        if self.several:
            self.chosen = chosen
        else:
            self._give(chosen[0] if chosen else "")

    def save(self) -> None:
        """Keep what stands in the field and in the chips."""
        text = self.ids.text.text
        self._give((*self.chosen, *names_in(text)) if self.several else text)

    def _so_far(self) -> Any:
        dive = self.editing.dive
        return (
            dive.extra[self.name.removeprefix(EXTRA)]
            if self.name.startswith(EXTRA)
            else getattr(dive, self.name)
        )

    def _show(self, value: Any) -> None:
        if self.several:
            self.chosen = [name for name in value if name in self.offered]
            self.ids.text.text = ", ".join(name for name in value if name not in self.offered)
        else:
            self.chosen = [value] if value in self.offered else []
            self.ids.text.text = value

    def _give(self, value: Any) -> None:
        if self.name.startswith(EXTRA):
            self.dispatch("on_save", {"extra": {self.name.removeprefix(EXTRA): value or None}})
        else:
            self.dispatch("on_save", {self.name: value})
