"""The club: join it, sync with it, leave it; and fields that two devices wrote apart from each other.

A sync waits for a network, so it runs beside everything else; the page may be left meanwhile.
"""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.properties import BooleanProperty, StringProperty

from logbook_app.dive.changes import Changes
from logbook_app.language import _
from logbook_app.screens.club_lines import ClubWords, ConflictLine, club_words, synced_words
from logbook_app.screens.rooms import Room
from logbook_app.screens.widgets.side_choice import SideChoice


class ClubPage(Room):
    """Where the logbook stands with its club."""

    state = StringProperty("")
    """Joined or not, what waits, and why the last sync did not come to its end."""

    tries = StringProperty("")
    """The last syncs, a line each."""

    joined = BooleanProperty(False)
    """Whether there is a club to sync with."""

    busy = BooleanProperty(False)
    """True while the club is talked to."""

    two_sided = BooleanProperty(False)
    """Whether a field has two sides."""

    def entered(self) -> None:
        """Ask where the logbook stands."""
        self._ask()

    def refresh(self, changes: Changes) -> None:
        """Ask again where the page is shown."""
        if self.present and (changes.dives or changes.settings or changes.kit):
            self._ask()

    def join(self) -> None:
        """Join the club at the address, with the code."""
        address, code = self.ids.address.text.strip(), self.ids.code.text.strip()
        if not address or not code:
            App.get_running_app().say(_("Write the address and the code that the club gave you."))
            return
        self._talk(
            lambda logbook, cancelled: logbook.club.join(address, code, cancelled=cancelled), self._joined
        )

    def sync(self) -> None:
        """Send, receive and compare."""
        self._talk(lambda logbook, cancelled: logbook.club.sync(cancelled=cancelled), self._synced)

    def leave(self) -> None:
        """Leave the club; Undo comes back to it."""
        app = App.get_running_app()

        def left(membership: Any) -> None:
            self._ask()
            app.say(
                _("You have left the club. Your logbook stays as it is."),
                undo=lambda: app.ask(
                    lambda logbook: logbook.club.come_back(membership), then=lambda _done: self._ask()
                ),
            )

        app.ask(lambda logbook: logbook.club.leave(), then=left)

    def choose(self, line: ConflictLine, change: str) -> None:
        """Let one side stand alone."""
        app = App.get_running_app()
        app.ask(lambda logbook: logbook.club.choose(line.key, line.name, change), then=app.changed)

    def _talk(self, work: Any, then: Any) -> None:
        self.busy = True
        App.get_running_app().talk(
            lambda logbook, _report, cancelled: work(logbook, cancelled), then=then, failed=self._failed
        )

    def _joined(self, membership: Any) -> None:
        self.busy = False
        self.ids.code.text = ""
        App.get_running_app().say(_("You have joined {club}.").format(club=membership.club))
        self._ask()

    def _synced(self, synced: Any) -> None:
        app = App.get_running_app()
        self.busy = False
        app.changed(synced.changes)
        app.say(synced_words(synced))
        self._ask()

    def _failed(self, error: Exception) -> None:
        self.busy = False
        App.get_running_app().say_trouble(error)
        self._ask()

    def _ask(self) -> None:
        now = App.get_running_app().now()
        App.get_running_app().ask(lambda logbook: club_words(logbook, now), then=self._show)

    def _show(self, words: ClubWords) -> None:
        self.state, self.tries, self.joined = words.state, words.tries, words.joined
        self.two_sided = bool(words.conflicts)
        self.ids.conflicts.clear_widgets()
        for line in words.conflicts:
            row = SideChoice(line=line)
            row.bind(on_choose=lambda _row, line, change: self.choose(line, change))
            self.ids.conflicts.add_widget(row)
