"""The app's talk with the club: by touch, and by itself where the diver allows it; and where it stands.

It runs beside everything else and holds nothing up. Where no club was joined nothing is asked of any
network, and the rules of the sync are not even loaded. By itself the app talks at its start and a while
after a save, never in turns: what failed is tried again with the next save, the next start or a touch.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from kivy.clock import Clock
from kivy.event import EventDispatcher
from kivy.properties import BooleanProperty, StringProperty

from logbook_app.screens.club_lines import Standing, standing_of

AFTER_A_SAVE_S: Final = 4.0  # several fields of one dive are saved one after the other
AT_THE_START_S: Final = 2.0  # what the diver looks at first comes first


class ClubTalk(EventDispatcher):
    """What the app says to the club of its logbook.

    app   the running app
    """

    words = StringProperty("")
    """Where the logbook stands with its club, in one line; empty where none was joined."""

    busy = BooleanProperty(False)
    """True while the club is talked to."""

    def __init__(self, app: Any) -> None:
        super().__init__()
        self._app, self._its_own, self._started = app, False, False
        self._soon = Clock.create_trigger(lambda _dt: self._by_itself(), AFTER_A_SAVE_S)
        self._at_start = Clock.create_trigger(lambda _dt: self._by_itself(), AT_THE_START_S)

    def start(self) -> None:
        """Say where the logbook stands; sync, and tell clubs that were left, where that is wanted."""
        if self._started:
            return
        self._started = True
        self._app.ask(lambda logbook: logbook.has_left, then=self._tell_left_where)
        self._ask(self._start_where_allowed)

    def stop(self) -> None:
        """Begin nothing more."""
        self._soon.cancel()
        self._at_start.cancel()

    def heard(self, changes: Any) -> None:
        """Something changed in the logbook: say what waits, and send it soon where the diver allows it."""
        if self._started and (changes.dives or changes.settings or changes.kit):
            self._ask(None if self._its_own else self._send_where_allowed)

    def sync(
        self, then: Callable[[Any], None] | None = None, failed: Callable[[Exception], None] | None = None
    ) -> None:
        """Send, receive and compare; where that goes on already, nothing more is begun."""

        def synced(answer: Any) -> None:
            self._its_own = True
            self._app.changed(answer.changes)
            self._its_own = False
            if then:
                then(answer)

        self.talk(lambda logbook, cancelled: logbook.club.sync(cancelled=cancelled), synced, failed)

    def talk(
        self,
        work: Callable[[Any, Callable[[], bool]], Any],
        then: Callable[[Any], None],
        failed: Callable[[Exception], None] | None = None,
    ) -> None:
        """Run `work(logbook, cancelled)`, which waits for the club, once the talk before it is over."""
        if self.busy:
            return
        self.busy = True

        def over(callback: Callable[[Any], None], value: Any) -> None:
            self.busy = False
            callback(value)
            self._ask(None)

        self._app.talk(
            lambda logbook, _report, cancelled: work(logbook, cancelled),
            then=lambda answer: over(then, answer),
            failed=lambda error: over(failed or _nothing, error),
        )

    def tell_left(self) -> None:
        """Tell clubs that were left that this device speaks for nobody any more; say where that fails."""

        def told(answers: list[tuple[Any, str]]) -> None:
            from logbook_app.screens.club_lines import left_words

            for membership, why in answers:
                self._app.say(left_words(membership, why))

        self._app.talk(
            lambda logbook, _report, cancelled: logbook.club.tell_left(cancelled), then=told, failed=_nothing
        )

    def _tell_left_where(self, has_left: bool) -> None:
        if has_left:
            self.tell_left()

    def _start_where_allowed(self, standing: Standing) -> None:
        if standing.alone:
            self._at_start()

    def _send_where_allowed(self, standing: Standing) -> None:
        if standing.alone and standing.waits:
            self._soon()

    def _by_itself(self) -> None:
        """Sync without a word: what came of it stands in the line and on the page."""
        if self.busy:
            self._soon()
        else:
            self.sync()

    def _ask(self, then: Callable[[Standing], None] | None) -> None:
        now = self._app.now()

        def show(standing: Standing) -> None:
            self.words = standing.words
            if then:
                then(standing)

        self._app.ask(lambda logbook: standing_of(logbook, now), then=show, failed=_nothing)


def _nothing(_value: Any) -> None:
    pass
