"""The rail of rooms: at the left of a wide window, along the bottom of any other."""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.properties import BooleanProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout

from logbook_app.language import _
from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.rooms import DOORWAYS

# A page lights up the room that it belongs to.
BELONGS_TO = {"dive": "logbook", "import": "record", "columns": "record", "imports": "record"}


class RailEntry(KvBeside, ButtonBehavior, BoxLayout):
    """One room on the rail."""

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


class Rail(KvBeside, BoxLayout):
    """All rooms that stand on the rail, the shown one filled."""

    current = StringProperty("")
    """Name of the shown room."""

    def on_kv_post(self, _base_widget: Any) -> None:
        """Set out the entries."""
        self.set_out()

    def set_out(self) -> None:
        """Set out the entries in the language that is spoken now."""
        self.ids.entries.clear_widgets()
        for doorway in (door for door in DOORWAYS.values() if door.on_rail):
            entry = RailEntry(
                room_name=doorway.name,
                words=_(doorway.words),
                icon=doorway.icon,
                test_id=f"rail-{doorway.name}",
            )
            self.ids.entries.add_widget(entry)
        self.on_current()

    def on_current(self, *_args: Any) -> None:
        """Fill the entry of the shown room; a help page leaves its room's entry filled."""
        if self.current == "help":
            return
        shown = BELONGS_TO.get(self.current, self.current)
        for entry in self.ids.entries.children if "entries" in self.ids else ():
            entry.chosen = entry.room_name == shown
