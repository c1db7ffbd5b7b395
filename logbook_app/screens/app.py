"""The touch app: one window, a rail of rooms, one worker that owns the logbook.

Nothing heavy is imported before the first frame; the logbook file is opened in the worker after
it. `screens/start.py` prepares the environment and runs this.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.base import EventLoop
from kivy.clock import Clock
from kivy.core.window import Window
from kivy.properties import BooleanProperty, ObjectProperty
from kivy.utils import platform

from logbook_app.catalogues import use_language
from logbook_app.dive.problems import Cancelled
from logbook_app.language import SYSTEM, spoken
from logbook_app.screens.club_talk import ClubTalk
from logbook_app.screens.dropped_files import DroppedFiles
from logbook_app.screens.fonts import register_fonts
from logbook_app.screens.key_walk import KeyWalk
from logbook_app.screens.last_look import LastLook
from logbook_app.screens.look import Look
from logbook_app.screens.opened_files import watch_for_opened_files
from logbook_app.screens.platform_services import device_language
from logbook_app.screens.shell import Shell
from logbook_app.screens.trouble import TroubleLog
from logbook_app.screens.worker import LogbookWorker, LongTask, LongWork, Work

BUILT_AHEAD_AFTER_S = 1.0  # from the first answer, from a finger, and from one room to the next
BACKED_UP_AFTER_S = 20.0  # the diver's first questions are answered by then
PAUSE_WAITS_S = 1.0  # for the last touch to be kept; a phone gives an app some seconds
BACK_KEYS = (27, 1001, 1073742106)  # escape, and what Android's back is called by SDL2 and SDL3


class LeadlineApp(App):
    """Leadline on a screen.

    open_logbook   opens the logbook; called in the worker thread, after the first frame
    now            the clock: an aware datetime
    trouble_log    file that unexpected errors are written to, None for nowhere
    last_look      file that remembers theme and size of text for the first frame, None for nowhere
    builds_ahead   whether rooms not yet visited are built while nobody touches the screen
    notify         shows a notification of the device, by title and message; None shows none
    """

    title = "Leadline"

    look = ObjectProperty(None)
    """The live Look: theme, width, size of text."""

    club = ObjectProperty(None, rebind=True)
    """The ClubTalk: where the logbook stands with its club."""

    sunday_first = BooleanProperty(False)
    """True where the diver's week begins on Sunday."""

    def __init__(
        self,
        open_logbook: Callable[[], Any],
        now: Callable[[], datetime],
        trouble_log: Path | None = None,
        last_look: Path | None = None,
        builds_ahead: bool = True,
        notify: Callable[[str, str], Any] | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(**kwargs)
        self.look = Look()
        self._last_look = LastLook(last_look)
        self._ahead = Clock.create_trigger(lambda _dt: self._build_ahead(), BUILT_AHEAD_AFTER_S)
        self._builds_ahead = builds_ahead
        self._notify = notify
        self.now = now
        self._keys = KeyWalk(self.look)
        self._drops = DroppedFiles(self._take_dropped)
        self._trouble = TroubleLog(trouble_log, now)
        self.club = ClubTalk(self)
        self._worker = LogbookWorker(open_logbook, _on_drawing_thread)
        self._network = LogbookWorker(open_logbook, _on_drawing_thread)  # a club may be slow, a page may not

    def load_kv(self, *_args: Any, **_kwargs: Any) -> bool:
        """Look for no kv file named after the app: each module brings its own."""
        return False

    def build(self) -> Shell:
        """Return the frame of the app with the Surface room in it."""
        register_fonts()
        self.look.follow(Window)
        theme, text_scale, language = self._last_look.read() or (self.look.theme.name, 1.0, SYSTEM)
        self._wear(theme, text_scale)
        self._speak(language)
        self.shell = Shell()
        return self.shell

    def on_start(self) -> None:
        """Show the Surface room; open the logbook once the first frame is on the screen."""
        Window.bind(on_keyboard=self._on_key, on_flip=self._first_frame)
        self._keys.start()
        self._drops.start()
        self.go("surface")
        watch_for_opened_files(lambda: Path(self.user_data_dir) / "opened", self._opened_elsewhere)
        self.ask(lambda logbook: logbook.settings(), then=self._settings_known)
        self.ask(lambda logbook: logbook.closed_because, then=self._say_closed, failed=_nothing)

    def on_pause(self) -> bool:
        """Let the system put the app to sleep, and end it: what was touched last is on the disk first."""
        self.shell.rooms.leave()
        self._worker.finish(PAUSE_WAITS_S)
        return True

    def on_resume(self) -> None:
        """Wake up: the shown room looks at the clock again."""
        self.shell.rooms.enter()
        Window.canvas.ask_update()

    def on_stop(self) -> None:
        """Let long work stop at its next record and close the logbook."""
        self.shell.rooms.leave()
        self._keys.stop()
        self._drops.stop()
        Window.unbind(on_keyboard=self._on_key, on_flip=self._first_frame)
        self.look.unfollow(Window)
        self.club.stop()
        self._network.close()
        self._worker.close()

    # Going from room to room

    def go(self, room_name: str) -> Any:
        """Show a room and return it."""
        return self.shell.rooms.go(room_name)

    def open_dive(self, dive_id: str) -> None:
        """Show the page of one dive."""
        self.shell.rooms.room("dive").show(dive_id)
        self.go("dive")

    def bring_in(self, paths: list[Path]) -> None:
        """Show the import page with these files and folders chosen."""
        self.go("import").choose(paths)

    def _take_dropped(self, paths: list[Path]) -> None:
        """Give dropped files to the shown room where it has a use for them, else bring them in."""
        if not self.shell.rooms.room(self.shell.rooms.current).take_files(paths):
            self.bring_in(paths)

    def open_help(self, room_name: str) -> None:
        """Show the help page of a room."""
        self.shell.rooms.room("help").show(room_name)
        self.go("help")

    def back(self) -> bool:
        """Go one step back; False where there is nowhere to go."""
        return self.shell.back()

    # Asking the logbook

    def ask(
        self,
        work: Work,
        then: Callable[[Any], None] | None = None,
        failed: Callable[[Exception], None] | None = None,
    ) -> None:
        """Run `work(logbook)` in the worker; call `then(result)` or `failed(error)` on this thread.

        Without `failed` the error is said in one sentence at the bottom of the screen.
        """
        self._worker.ask(work, then or _nothing, failed or self.say_trouble)

    def run_long(
        self,
        work: LongWork,
        *,
        words: str = "",
        then: Callable[[Any], None] | None = None,
        failed: Callable[[Exception], None] | None = None,
    ) -> LongTask:
        """Run `work(logbook, report, cancelled)` in the worker and return the handle on it.

        `report(done, all, note)` may be called from the work as often as it likes. Where `words`
        are given, a bar with them, the progress and a Cancel button shows until it is over.
        """
        task = self._worker.run_long(work, then or _nothing, failed or self.say_trouble)
        if words:
            self.shell.show_progress(task, words)
        return task

    def talk(
        self,
        work: LongWork,
        then: Callable[[Any], None],
        failed: Callable[[Exception], None],
    ) -> LongTask:
        """Run `work(logbook, report, cancelled)` that waits for a network, beside the other worker."""
        self._network.start()
        return self._network.run_long(work, then, failed)

    def changed(self, changes: Any) -> None:
        """Tell the rooms what changed in the logbook."""
        self.shell.rooms.refresh(changes)
        self.club.heard(changes)
        if getattr(changes, "settings", False):
            self.ask(lambda logbook: logbook.settings(), then=self._wear_settings)

    # Saying something

    def say(self, sentence: str, undo: Callable[[], None] | None = None) -> None:
        """Say one sentence at the bottom of the screen, with an Undo button where it can be undone."""
        self.shell.say(sentence, undo)

    def say_trouble(self, error: Exception) -> None:
        """Say what went wrong in one sentence; write down what nobody expected."""
        if isinstance(error, Cancelled):
            return
        self.say(self._trouble.sentence(error))

    # Inside

    def _opened_elsewhere(self, path: Path) -> None:
        """Another app opened a recording with this one; Android says so on a thread of its own."""
        _on_drawing_thread(lambda: self.bring_in([path]))

    def _first_frame(self, *_args: Any) -> None:
        """Opening the logbook imports what is heavy; the first frame does not wait for it."""
        Window.unbind(on_flip=self._first_frame)
        Clock.schedule_once(lambda _dt: self._worker.start())

    def _settings_known(self, settings: Any) -> None:
        """Look as the diver chose, and remind of kit in the diver's language; no answer is no trouble."""
        self._wear_settings(settings)
        self.club.start()
        if (notify := self._notify) is not None:
            self.ask(lambda logbook: _remind(logbook, notify), failed=_nothing)
        Clock.schedule_once(lambda _dt: self._back_up(), BACKED_UP_AFTER_S)

    def _back_up(self) -> None:
        """Back the logbook up where that is due; a damaged one is said."""
        self.run_long(lambda logbook, _report, _cancelled: logbook.daily_backup(), then=self._backed_up)

    def _backed_up(self, done: Any) -> None:
        if done.problems:
            self.say(done.problems[0].sentence())

    def _say_closed(self, why: str) -> None:
        if why:
            self.say(why)

    def _wear_settings(self, settings: Any) -> None:
        self._wear(settings.theme, settings.text_scale)
        self.sunday_first = settings.week_begins == "sunday"
        if self._speak(settings.language):
            self.shell.say_anew()
        self.ask(
            lambda _logbook: self._last_look.keep(settings.theme, settings.text_scale, settings.language)
        )
        if self._builds_ahead:
            self._ahead()

    def _wear(self, theme: str, text_scale: float) -> None:
        self.look.wear(theme)
        self.look.scale_text(text_scale)
        Window.clearcolor = self.look.theme.paper  # seen before the first frame, and while resizing

    def _speak(self, language: str) -> bool:
        """Speak the diver's language; True where it is another than before."""
        before = spoken()
        use_language(language, device_language())
        return spoken() != before

    def _build_ahead(self) -> None:
        """Build one more room while no finger is down: what is touched now is answered first."""
        if any(touch.is_touch for touch in EventLoop.touches) or self.shell.rooms.build_ahead():
            self._ahead()

    def _on_key(self, _window: Any, key: int, *_rest: Any) -> bool:
        if key not in BACK_KEYS:
            return False
        return self.back() or platform not in ("android", "ios")


def _on_drawing_thread(callback: Callable[[], None]) -> None:
    Clock.schedule_once(lambda _dt: callback())


def _remind(logbook: Any, notify: Callable[[str, str], Any]) -> None:
    """Say once a day what of the kit is due; runs in the worker."""
    from logbook_app.analysis.kit_words import reminder_words  # after the first frame

    if sentence := reminder_words(logbook.kit.to_remind_of()):
        notify(LeadlineApp.title, sentence)


def _nothing(_result: Any) -> None:
    pass
