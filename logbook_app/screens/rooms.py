"""The rooms of the app: which there are, and the one that is shown.

A room is imported, its kv read and its widgets built when it is first visited, so that the first
frame does not wait for the others. A built room stays: coming back shows it as it was left.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any

from kivy.properties import BooleanProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.language import later
from logbook_app.screens.kv_files import KvBeside


@dataclass(frozen=True, slots=True)
class Doorway:
    """Where a room is found: `words` (English) and `icon` on the rail, `widget` in `module`."""

    name: str
    words: str
    icon: str
    module: str
    widget: str
    on_rail: bool = True


_HERE = "logbook_app.screens"
_FILE, _BACK = "file-import-outline", "restore"  # icons
DOORWAYS = {
    doorway.name: doorway
    for doorway in (
        Doorway("surface", later("Surface"), "waves", f"{_HERE}.surface_room", "SurfaceRoom"),
        Doorway("logbook", later("Logbook"), "notebook-outline", f"{_HERE}.logbook_room", "LogbookRoom"),
        Doorway("record", later("Record"), "plus-circle", f"{_HERE}.record_room", "RecordRoom"),
        Doorway("plan", later("Plan"), "clipboard-text-clock", f"{_HERE}.plan_room", "PlanRoom"),
        Doorway(
            "buddies",
            later("Buddies"),
            "account-multiple-outline",
            f"{_HERE}.buddies_room",
            "BuddiesRoom",
        ),
        Doorway("kit", later("Kit"), "diving-scuba-tank", f"{_HERE}.kit_room", "KitRoom"),
        Doorway("settings", later("Settings"), "cog", f"{_HERE}.settings_room", "SettingsRoom"),
        Doorway("dive", later("Dive"), "notebook-outline", f"{_HERE}.dive_page", "DivePage", False),
        Doorway(
            "import", later("Import"), "file-import-outline", f"{_HERE}.import_page", "ImportPage", False
        ),
        Doorway("columns", later("Columns"), "file-outline", f"{_HERE}.columns_page", "ColumnsPage", False),
        Doorway(
            "imports",
            later("Earlier imports"),
            "restore",
            f"{_HERE}.earlier_imports",
            "EarlierImports",
            False,
        ),
        Doorway(
            "kit-piece", later("Piece of kit"), "diving-scuba-tank", f"{_HERE}.kit_page", "KitPage", False
        ),
        Doorway("backups", later("Backups"), _BACK, f"{_HERE}.backups_page", "BackupsPage", False),
        Doorway("club", later("Club"), "account-multiple-outline", f"{_HERE}.club_page", "ClubPage", False),
        Doorway(
            "pre-dive", later("Before the dive"), "check", f"{_HERE}.pre_dive_page", "PreDivePage", False
        ),
        Doorway(
            "statistics",
            later("Statistics"),
            "notebook-outline",
            f"{_HERE}.statistics_page",
            "StatisticsPage",
            False,
        ),
        Doorway(
            "experience",
            later("Experience"),
            "notebook-outline",
            f"{_HERE}.experience_page",
            "ExperiencePage",
            False,
        ),
        Doorway(
            "certificates",
            later("Certificates"),
            "pencil-outline",
            f"{_HERE}.certificates_page",
            "CertificatesPage",
            False,
        ),
        Doorway(
            "hand-over", later("Hand a dive over"), "qrcode", f"{_HERE}.hand_over_page", "HandOverPage", False
        ),
        Doorway("photo", later("Photo"), "notebook-outline", f"{_HERE}.photo_page", "PhotoPage", False),
        Doorway("help", later("Help"), "help-circle-outline", f"{_HERE}.help_page", "HelpPage", False),
    )
}


# Where a diver is likely to go next; the others are built when they are asked for.
AHEAD = ("logbook", "dive", "record", "settings")


class Room(KvBeside, BoxLayout):
    """One room. It asks the logbook in `entered` and `refresh`, never in its constructor."""

    room_name = StringProperty("")
    """Name of its doorway."""

    title = StringProperty("")
    """What the room is called on screen."""

    present = BooleanProperty(False)
    """True while the room is the one shown."""

    def entered(self) -> None:
        """The room is now shown."""

    def left(self) -> None:
        """Another room is shown, or the app goes to sleep: stop whatever ticks."""

    def refresh(self, changes: Any) -> None:
        """The logbook changed (`Changes`), whether or not the room is shown."""

    def take_files(self, paths: list[Path]) -> bool:  # noqa: ARG002
        """Return True where files dropped on the window are for this room."""
        return False

    def back(self) -> bool:
        """Return True where the room itself had something to close, such as a sheet."""
        return False


class Rooms(BoxLayout):
    """Holds the shown room, and the way back."""

    current = StringProperty("")
    """Name of the shown room."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._built: dict[str, Room] = {}
        self._way_back: list[str] = []

    def room(self, name: str) -> Room:
        """Return a room, building it on its first visit."""
        if name not in self._built:
            doorway = DOORWAYS[name]
            self._built[name] = getattr(import_module(doorway.module), doorway.widget)(room_name=name)
        return self._built[name]

    def build_ahead(self) -> bool:
        """Build one room that nobody has visited yet; False where there is none left."""
        waiting = [name for name in AHEAD if name not in self._built]
        if waiting:
            self.room(waiting[0])
        return len(waiting) > 1

    def go(self, name: str) -> Room:
        """Show a room. One from the rail forgets the way back; a page remembers where it came from."""
        if DOORWAYS[name].on_rail:
            self._way_back = [] if name == "surface" else ["surface"]
        elif self.current != name:
            self._way_back.append(self.current)
        return self._show(name)

    def back(self) -> bool:
        """Go one step back; False where there is none."""
        if self.current and self.room(self.current).back():
            return True
        if not self._way_back:
            return False
        self._show(self._way_back.pop())
        return True

    def forget(self) -> None:
        """Let go of every built room, and build the shown one anew: the words it was built with are old."""
        shown = self.current
        self.leave()
        self.clear_widgets()
        self._built, self.current = {}, ""
        if shown:
            self._show(shown)

    def leave(self) -> None:
        """Tell the shown room that nobody looks at it."""
        if self.current and self.room(self.current).present:
            self.room(self.current).present = False
            self.room(self.current).left()

    def enter(self) -> None:
        """Tell the shown room that somebody looks at it."""
        if self.current and not self.room(self.current).present:
            self.room(self.current).present = True
            self.room(self.current).entered()

    def refresh(self, changes: Any) -> None:
        """Tell every built room what changed in the logbook."""
        for room in list(self._built.values()):
            room.refresh(changes)

    def _show(self, name: str) -> Room:
        room = self.room(name)
        if name != self.current:
            self.leave()
            self.clear_widgets()
            self.add_widget(room)
            self.current = name
        self.enter()
        return room
