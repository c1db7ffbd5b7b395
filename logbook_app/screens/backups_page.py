"""Backups: write the logbook into a folder, or put one back; Undo brings what that replaced."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.properties import BooleanProperty, ListProperty, StringProperty

from logbook_app.analysis.spoken_units import spoken_dives
from logbook_app.language import _
from logbook_app.screens.platform_services import starting_folder
from logbook_app.screens.rooms import Room
from logbook_app.screens.settings_words import backup_words

ENDING = ".leadline"


class BackupsPage(Room):
    """When the last backup was made, the folders of the device, and the two things to do."""

    endings = ListProperty([ENDING])
    """Endings of the files that may be backups."""

    last = StringProperty("")
    """When the last backup was made, and where it lies."""

    automatic = ListProperty([])
    """The backups that were made without being asked for, the newest first."""

    busy = BooleanProperty(False)
    """True while a backup is written or put back."""

    def entered(self) -> None:
        """Look at the folder, and ask for the last backup."""
        files = self.ids.files
        if files.folder is None:
            files.folder = starting_folder()
        files.look_again()
        self._ask_last()

    def refresh(self, changes: Any) -> None:
        """Ask again where the page is shown."""
        if self.present and changes.settings:
            self._ask_last()

    def look_at_automatic(self) -> None:
        """Show the folder of the backups that were made without being asked for."""
        self.ids.files.look_in(self.automatic[0].parent)

    def back_up(self) -> None:
        """Write a backup into the folder that is shown."""
        folder = self.ids.files.folder
        self._begin(lambda logbook: logbook.back_up(folder), self._backed_up)

    def put_back(self, path: Path) -> None:
        """Put a backup in the place of the logbook."""
        self._begin(lambda logbook: logbook.restore(path), lambda done: self._restored(path, done))

    def _begin(self, work: Any, then: Any) -> None:
        self.busy = True
        App.get_running_app().ask(work, then=then, failed=self._failed)

    def _backed_up(self, made: Any) -> None:
        self.busy = False
        words = _("Wrote {dives} to {path}.").format(dives=spoken_dives(made.dives), path=made.path)
        App.get_running_app().say(" ".join([words, *(problem.what for problem in made.problems)]))
        self.ids.files.look_again()
        self._ask_last()

    def _restored(self, path: Path, done: Any) -> None:
        app = App.get_running_app()
        self.busy = False
        app.changed(done.changes)
        app.say(
            _("Put back {path}. What was there before is in {aside}.").format(
                path=path.name, aside=done.kept_aside.name
            ),
            undo=lambda: self._take_back(done.kept_aside),
        )

    def _take_back(self, kept_aside: Path) -> None:
        app = App.get_running_app()

        def taken_back(done: Any) -> None:
            app.changed(done.changes)
            app.say(_("Your logbook is as it was before."))

        app.ask(lambda logbook: logbook.restore(kept_aside), then=taken_back)

    def _failed(self, error: Exception) -> None:
        self.busy = False
        App.get_running_app().say_trouble(error)

    def _ask_last(self) -> None:
        App.get_running_app().ask(
            lambda logbook: (logbook.last_backup(), logbook.automatic_backups()), then=self._show_last
        )

    def _show_last(self, answer: Any) -> None:
        last, self.automatic = answer
        now = App.get_running_app().now()
        self.last = backup_words(last and last.at, str(last.path) if last else "", now)
