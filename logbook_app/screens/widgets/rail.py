"""The rail of rooms: at the left of a wide window, along the bottom of any other.

A bar along the bottom of a phone has room for five. Where there are more rooms it shows the first four
and More, which opens a sheet with the rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kivy.app import App
from kivy.properties import BooleanProperty, ListProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout

from logbook_app.language import _
from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.rooms import DOORWAYS, Doorway

# A page lights up the room that it belongs to.
BELONGS_TO = {
    "dive": "logbook",
    "photo": "logbook",
    "statistics": "logbook",
    "experience": "logbook",
    "certificates": "logbook",
    "hand-over": "buddies",
    "import": "record",
    "columns": "record",
    "imports": "record",
    "pre-dive": "surface",
    "kit-piece": "kit",
    "backups": "settings",
}

MOST_IN_BAR = 5
MORE = "more"


class RoomEntry(KvBeside, ButtonBehavior, BoxLayout):
    """One room to go to."""

    room_name = StringProperty("")
    """Where it leads."""

    words = StringProperty("")
    """What it is called."""

    icon = StringProperty("")
    """Name of its icon."""

    chosen = BooleanProperty(False)
    """True where that room is shown."""

    test_id = StringProperty("")
    """How tests find it: `rail-` and the room's name."""

    def on_release(self) -> None:
        """Go there."""
        App.get_running_app().go(self.room_name)


class RailEntry(RoomEntry):
    """One room on the rail: its words under its icon."""


class MoreEntry(RailEntry):
    """The last of the bar where there are more rooms than it holds: opens and closes the sheet."""

    def on_release(self) -> None:
        """Ask the bar for its sheet."""
        self.dispatch("on_ask")

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_ask")
        super().__init__(**kwargs)

    def on_ask(self) -> None:
        """The sheet is wanted, or wanted no more."""


class SheetEntry(RoomEntry):
    """One room in the sheet: its icon, and its words beside it."""


class Rail(KvBeside, BoxLayout):
    """All rooms that stand on the rail, the shown one filled."""

    current = StringProperty("")
    """Name of the shown room."""

    beyond = ListProperty([])
    """Names of the rooms that only the sheet leads to."""

    sheet_open = BooleanProperty(False)
    """True while the sheet shows."""

    def on_kv_post(self, _base_widget: Any) -> None:
        """Set out the entries, now and whenever rail becomes bar or bar rail."""
        App.get_running_app().look.fbind("wide", self.set_out)
        self.set_out()

    def set_out(self, *_args: Any) -> None:
        """Set out the entries in the language that is spoken now."""
        doors = [door for door in DOORWAYS.values() if door.on_rail]
        wide = App.get_running_app().look.wide
        shown, self.beyond = (doors, []) if wide else in_bar(doors)
        entries = self.ids.entries
        entries.clear_widgets()
        for door in shown:
            entries.add_widget(self._entry(RailEntry, door))
        if self.beyond:
            more = MoreEntry(room_name=MORE, words=_("More"), icon="menu", test_id="rail-more")
            more.bind(on_ask=lambda _more: setattr(self, "sheet_open", not self.sheet_open))
            entries.add_widget(more)
        self.on_current()

    def on_current(self, *_args: Any) -> None:
        """Put the sheet away, and fill the entry of the shown room.

        A help page leaves its room's entry filled.
        """
        self.sheet_open = False
        if self.current == "help" or "entries" not in self.ids:
            return
        shown = BELONGS_TO.get(self.current, self.current)
        for entry in (*self.ids.entries.children, *self.ids.sheet.children):
            entry.chosen = entry.room_name == shown or (entry.room_name == MORE and shown in self.beyond)

    def back(self) -> bool:
        """Put the sheet away; False where it is not there."""
        was_open, self.sheet_open = self.sheet_open, False
        return was_open

    def on_sheet_open(self, *_args: Any) -> None:
        """Set out the rest of the rooms, or take them away: nothing hidden can be touched."""
        sheet = self.ids.sheet
        sheet.clear_widgets()
        for name in self.beyond if self.sheet_open else ():
            sheet.add_widget(self._entry(SheetEntry, DOORWAYS[name]))
        shown = BELONGS_TO.get(self.current, self.current)
        for entry in sheet.children:
            entry.chosen = entry.room_name == shown

    def _entry(self, kind: type[RoomEntry], door: Doorway) -> RoomEntry:
        entry = kind(room_name=door.name, words=_(door.words), icon=door.icon, test_id=f"rail-{door.name}")
        entry.bind(on_release=self._put_sheet_away)
        return entry

    def _put_sheet_away(self, _entry: Any) -> None:
        self.sheet_open = False


def in_bar(doors: Sequence[Doorway]) -> tuple[Sequence[Doorway], list[str]]:
    """Return the rooms that a bar shows, and the names of those that its sheet leads to."""
    if len(doors) <= MOST_IN_BAR:
        return doors, []
    return doors[: MOST_IN_BAR - 1], [door.name for door in doors[MOST_IN_BAR - 1 :]]
