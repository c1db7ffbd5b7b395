"""One dive handed over where there is no network: as a picture code for a camera, or as a file."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.properties import BooleanProperty, ListProperty, StringProperty

from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.problems import RefusedRecord
from logbook_app.language import _
from logbook_app.logbook import HandedOver
from logbook_app.screens.buddies_lines import choice_words
from logbook_app.screens.platform_services import share_file
from logbook_app.screens.rooms import Room


@dataclass(frozen=True, slots=True, eq=False)
class Offered:
    """What the page shows of a dive: its code, or why there is none."""

    dive_id: str
    line: str
    own: bool
    name: str
    code: HandedOver | None
    refusal: str


class HandOverPage(Room):
    """The page of the dive that `show` names."""

    dive_id = StringProperty("")
    """Which dive; empty before the first."""

    dive_line = StringProperty("")
    """What that dive is."""

    name = StringProperty("")
    """Whose dive the code says it is, empty while nobody wrote it down."""

    written = StringProperty("")
    """The name as it stands in the field."""

    own = BooleanProperty(False)
    """True where it is the owner's dive, who may write another name."""

    said = StringProperty("")
    """What the code carries and what it does not, or why there is none."""

    rows = ListProperty([])
    """The modules of the code; none where there is no code."""

    def show(self, dive_id: str) -> None:
        """Turn to a dive."""
        if dive_id != self.dive_id:
            self.dive_id, self.dive_line, self.said, self.rows = dive_id, "", "", []
        self._ask()

    def entered(self) -> None:
        """Ask again: the dive or the name may have changed."""
        if self.dive_id:
            self._ask()

    def refresh(self, changes: Any) -> None:
        """The dive may have changed."""
        if self.present and self.dive_id and (changes.dives or changes.settings):
            self._ask()

    def keep_name(self, name: str) -> None:
        """Keep what the diver is called, for this dive and those to come."""
        app, kept = App.get_running_app(), " ".join(name.split())

        def work(logbook: Any) -> Any:
            return logbook.change_settings(replace(logbook.settings(), name=kept))

        app.ask(work, then=app.changed)

    def write_file(self) -> None:
        """Write the dive to a UDDF file, and share it where the device can; else say where it lies."""
        from logbook_app.screens.printed_files import write_dive

        app, dive_id = App.get_running_app(), self.dive_id

        def written(path: Path) -> None:
            if not share_file(path).ok:
                app.say(_("The dive lies in {path}.").format(path=path))

        app.ask(lambda logbook: write_dive(logbook, dive_id, ".uddf"), then=written)

    def _ask(self) -> None:
        dive_id = self.dive_id
        app = App.get_running_app()
        app.ask(lambda logbook: _offered(logbook, dive_id), then=self._show, failed=self._gone)

    def _show(self, offered: Offered) -> None:
        if offered.dive_id != self.dive_id:
            return  # another dive was turned to since
        self.dive_line, self.own, self.name = offered.line, offered.own, offered.name
        self.ids.name.text = offered.name
        self.rows = [] if offered.code is None else list(offered.code.rows)
        self.said = offered.refusal or " ".join(offered.code.words if offered.code else [])

    def _gone(self, error: Exception) -> None:
        app = App.get_running_app()
        self.dive_id = ""
        if self.present:
            app.back()
        app.say_trouble(error)


def _offered(logbook: Any, dive_id: str) -> Offered:
    """Return what there is to show. Run in the worker. Raises UnknownDive."""
    dive, settings = logbook.dive(dive_id), logbook.settings()
    code, refusal = None, ""
    try:
        code = logbook.hand_over(dive_id)
    except RefusedRecord as error:
        refusal = str(error)
    line = choice_words(dive, SpokenUnits(settings.units))
    return Offered(dive_id, line, dive.own, dive.diver or settings.name, code, refusal)
