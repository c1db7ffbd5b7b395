"""The club: join it, sync with it, leave it; what it sees, what it refused, and what its members show.

A sync waits for a network, so it runs beside everything else; the page may be left meanwhile.
"""

from __future__ import annotations

import platform
from dataclasses import replace
from typing import Any, Final

from kivy.app import App
from kivy.clock import Clock
from kivy.properties import BooleanProperty, ListProperty, StringProperty

from logbook_app.dive.changes import Changes
from logbook_app.language import _
from logbook_app.screens.club_lines import (
    ClubWords,
    ConflictLine,
    OtherLine,
    RefusedLine,
    club_words,
    synced_words,
)
from logbook_app.screens.rooms import Room
from logbook_app.screens.shown_lines import NEVER_SHOWN, part_answers
from logbook_app.screens.widgets.refused_row import RefusedRow
from logbook_app.screens.widgets.report_rows import DiveButton
from logbook_app.screens.widgets.side_choice import SideChoice

TOLD_AFTER_S: Final = 20.0  # that the diver left: for as long Undo is offered
LAID_OUT_AFTER_S: Final = 0.1


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

    any_refused = BooleanProperty(False)
    """Whether the club refused something that was not dealt with."""

    alone = BooleanProperty(False)
    """Whether this device syncs by itself."""

    shows_new = BooleanProperty(False)
    """Whether the club sees every new dive."""

    parts = ListProperty([])
    """Which parts of a dive it sees unless another choice is made for one."""

    answers = ListProperty([])
    """The parts that can be chosen, in words."""

    shown = StringProperty("")
    """How many dives the club sees."""

    any_shown = BooleanProperty(False)
    """Whether it sees any."""

    never = StringProperty("")
    """What is never shown."""

    any_others = BooleanProperty(False)
    """Whether other members show a dive."""

    more = StringProperty("")
    """How many dives of theirs are not in the list."""

    def __init__(self, **kwargs: Any) -> None:
        self._tell_left = Clock.create_trigger(
            lambda _dt: App.get_running_app().club.tell_left(), TOLD_AFTER_S
        )
        self._to_top = Clock.create_trigger(lambda _dt: self.ids.page.to_top(), LAID_OUT_AFTER_S)
        super().__init__(answers=part_answers(), never=_(NEVER_SHOWN), **kwargs)
        App.get_running_app().club.bind(busy=self.setter("busy"))

    def on_kv_post(self, _base_widget: Any) -> None:
        """Offer a name for this device."""
        self.ids.device.text = platform.node()[:40]

    def entered(self) -> None:
        """Ask where the logbook stands."""
        self._ask()

    def refresh(self, changes: Changes) -> None:
        """Ask again where the page is shown."""
        if self.present and (changes.dives or changes.settings or changes.kit):
            self._ask()

    # The club

    def join(self) -> None:
        """Join the club at the address, with the code."""
        app, ids = App.get_running_app(), self.ids
        address, code, device = ids.address.text.strip(), ids.code.text.strip(), ids.device.text
        if not address or not code:
            app.say(_("Write the address and the code that the club gave you."))
            return

        def work(logbook: Any, cancelled: Any) -> Any:
            return logbook.club.join(address, code, device=device, cancelled=cancelled)

        app.club.talk(work, then=self._joined, failed=self._failed)

    def sync(self) -> None:
        """Send, receive and compare."""
        App.get_running_app().club.sync(then=self._synced, failed=self._failed)

    def choose_alone(self) -> None:
        """Let this device sync by itself, or only by touch."""
        self._set(syncs_alone=not self.alone)

    def leave(self) -> None:
        """Leave the club; Undo comes back to it, as long as it was not told."""
        app = App.get_running_app()

        def come_back(membership: Any) -> None:
            self._tell_left.cancel()
            app.ask(lambda logbook: logbook.club.come_back(membership), then=lambda _done: self._moved())

        def left(membership: Any) -> None:
            self._moved()
            self._tell_left()
            app.say(
                _("You have left the club. Your logbook stays as it is."),
                undo=lambda: come_back(membership),
            )

        app.ask(lambda logbook: logbook.club.leave(), then=left)

    def _moved(self) -> None:
        """Another club, or none: other things stand on the page, and what others show is there or gone."""
        self.ids.devices.forget()
        self._to_top()
        App.get_running_app().changed(Changes(totals=True, settings=True))
        self._ask()

    # What two devices wrote, and what was refused

    def choose(self, line: ConflictLine, change: str) -> None:
        """Let one side stand alone."""
        app = App.get_running_app()
        app.ask(lambda logbook: logbook.club.choose(line.key, line.name, change), then=app.changed)

    def keep(self, line: RefusedLine) -> None:
        """Keep what was refused as a new record."""
        self._deal(lambda logbook: logbook.refused.keep(line.changes), _("It is kept as a new record."))

    def let_go(self, line: RefusedLine) -> None:
        """Look at what was refused no more."""
        self._deal(lambda logbook: logbook.refused.let_go(line.changes), _("It is let go."))

    def _deal(self, work: Any, words: str) -> None:
        app = App.get_running_app()

        def take_back(dealt: Any) -> None:
            app.ask(lambda logbook: logbook.refused.take_back(dealt), then=app.changed)

        def done(dealt: Any) -> None:
            app.changed(dealt.touched)
            app.say(words, undo=lambda: take_back(dealt))

        app.ask(work, then=done)

    # What others see

    def choose_new(self) -> None:
        """Show every new dive, or none unless it is chosen."""
        self._set(shows_new_dives=not self.shows_new)

    def choose_parts(self, parts: list[str]) -> None:
        """Say what others see of a dive from now on; what is shown already stays as it is."""
        self._set(shown_parts=" ".join(parts))

    def withdraw_all(self) -> None:
        """Let the club see no dive any more."""
        app = App.get_running_app()

        def put_back(shown: Any) -> None:
            app.ask(lambda logbook: logbook.for_others.put_back(shown), then=app.changed)

        def done(shown: Any) -> None:
            app.changed(shown.changes)
            app.say(
                _("The club sees none of your dives, once you have synced."), undo=lambda: put_back(shown)
            )

        app.ask(lambda logbook: logbook.for_others.withdraw_all(), then=done)

    def look_at(self, dive_id: str) -> None:
        """Lay a dive of somebody else's beside one's own."""
        App.get_running_app().go("buddies").begin_with(dive_id)

    def _set(self, **chosen: Any) -> None:
        app = App.get_running_app()

        def work(logbook: Any) -> Changes:
            return logbook.change_settings(replace(logbook.settings(), **chosen))

        app.ask(work, then=app.changed)

    # Inside

    def _joined(self, membership: Any) -> None:
        self.ids.code.text = ""
        App.get_running_app().say(_("You have joined {club}.").format(club=membership.club))
        self._moved()

    def _synced(self, synced: Any) -> None:
        App.get_running_app().say(synced_words(synced))
        self._ask()

    def _failed(self, error: Exception) -> None:
        App.get_running_app().say_trouble(error)
        self._ask()

    def _ask(self) -> None:
        now = App.get_running_app().now()
        App.get_running_app().ask(lambda logbook: club_words(logbook, now), then=self._show)

    def _show(self, words: ClubWords) -> None:
        self.state, self.tries, self.joined = words.state, words.tries, words.joined
        self.alone, self.shows_new, self.parts = words.alone, words.shows_new, list(words.parts)
        self.shown, self.any_shown, self.more = words.shown, words.any_shown, words.more
        self.two_sided, self.any_refused = bool(words.conflicts), bool(words.refused)
        self.any_others = bool(words.others)
        self._set_out("conflicts", map(self._conflict, words.conflicts))
        self._set_out("refused", map(self._refused, words.refused))
        self._set_out("others", map(self._other, words.others))

    def _set_out(self, where: str, rows: Any) -> None:
        self.ids[where].clear_widgets()
        for row in rows:
            self.ids[where].add_widget(row)

    def _conflict(self, line: ConflictLine) -> SideChoice:
        row = SideChoice(line=line)
        row.bind(on_choose=lambda _row, line, change: self.choose(line, change))
        return row

    def _refused(self, line: RefusedLine) -> RefusedRow:
        row = RefusedRow(line=line)
        row.bind(on_keep=lambda row: self.keep(row.line), on_let_go=lambda row: self.let_go(row.line))
        return row

    def _other(self, line: OtherLine) -> DiveButton:
        row = DiveButton(line=line, test_id="shown-by-other")
        row.bind(on_release=lambda row: self.look_at(row.line.dive_id))
        return row
