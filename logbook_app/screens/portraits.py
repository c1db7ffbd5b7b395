"""Portraits of the rooms: every room at every size in both themes, drawn where no screen is.

    python -m logbook_app.screens.portraits FOLDER

draws the demo logbook. The window is opened at the largest size and made smaller for the rest: what
an offscreen window draws on never grows. One app is started for each portrait, as a diver starts it.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import product
from pathlib import Path
from typing import Any

from logbook_app.dive.problems import LeadlineError
from logbook_app.screens.start import prepare_environment, refuse_without_window
from logbook_app.shipped_files import shipped_folder

SIZES = ((1280, 800), (800, 1280), (360, 640))
THEMES = ("day", "night")
ROOMS = (
    "surface",
    "logbook",
    "dive",
    "record",
    "import",
    "plan",
    "buddies",
    "kit",
    "statistics",
    "experience",
    "certificates",
    "settings",
)
LONGEST_WAIT_S = 60.0


def render_rooms(
    open_logbook: Callable[[], Any],
    now: Callable[[], datetime],
    folder: Path,
    sizes: Sequence[tuple[int, int]] = SIZES,
    themes: Sequence[str] = THEMES,
) -> Iterator[Path]:
    """Draw every room into `folder` and give the path of each picture as it is written.

    open_logbook   opens the logbook; called in a worker thread
    now            the clock on the dock
    sizes          width and height of the window
    themes         `day`, `night`
    The theme is one of the choices kept in the logbook, so hand in one that may be changed.
    Pictures are named like `surface-1280x800-day.png`. Raises NoWindow where nothing can be drawn,
    LeadlineError where a room does not come to rest.
    """
    folder.mkdir(parents=True, exist_ok=True)
    _open_unseen_window(max(width for width, _ in sizes), max(height for _, height in sizes))
    for (width, height), theme in product(sizes, themes):
        sitting = _Sitting(open_logbook, now, (width, height), theme)
        try:
            for room in ROOMS:
                sitting.enter(room)
                yield write_picture(folder / f"{room}-{width}x{height}-{theme}.png")
        finally:
            sitting.end()


def put_on_window(app: Any, size: tuple[int, int]) -> None:
    """Start an app on the window and return: whoever calls then lets the frames pass.

    `_run_prepare` is private to Kivy; Kivy is pinned below 2.4, and this is the one place to mend.
    """
    from kivy.base import runTouchApp
    from kivy.core.window import Window

    if tuple(Window.size) != size:
        Window.size = size
    app._run_prepare()
    runTouchApp(embedded=True)


def take_off_window(app: Any) -> None:
    """Stop an app as closing its window does, and leave the window empty."""
    from kivy.app import App
    from kivy.core.window import Window
    from kivy.lang.parser import global_idmap

    app.dispatch("on_stop")
    for widget in list(Window.children):
        Window.remove_widget(widget)
    App._running_app = None
    # What changes while an app stops makes kv's `app` take hold of it again; the next app on this
    # window would then be drawn with the look of this one.
    object.__setattr__(global_idmap["app"], "_obj", None)


def write_picture(path: Path) -> Path:
    """Draw the window once more and write what is on it to a PNG; return its path."""
    from kivy.core.image import Image
    from kivy.core.window import Window
    from kivy.graphics.opengl import GL_RGBA, GL_UNSIGNED_BYTE, glReadPixels
    from kivy.graphics.texture import Texture

    width, height = Window.size
    Window.canvas.ask_update()
    Window.dispatch("on_draw")  # the back buffer is read before it is shown
    pixels = glReadPixels(0, 0, width, height, GL_RGBA, GL_UNSIGNED_BYTE)
    Window.dispatch("on_flip")
    texture = Texture.create(size=(width, height), colorfmt="rgba")
    texture.blit_buffer(pixels, colorfmt="rgba", bufferfmt="ubyte")
    Image(texture).save(str(path), flipped=True)
    return path


class _Sitting:
    """One app on the window, walked through its rooms frame by frame."""

    def __init__(
        self,
        open_logbook: Callable[[], Any],
        now: Callable[[], datetime],
        size: tuple[int, int],
        theme: str,
    ) -> None:
        from kivy.base import EventLoop

        from logbook_app.screens.app import LeadlineApp

        self._loop = EventLoop
        self._app = LeadlineApp(open_logbook, now, builds_ahead=False)
        put_on_window(self._app, size)
        self._rest()
        self._until_answered(lambda logbook: _choose_theme(logbook, theme), self._app.changed)
        self._rest()

    def enter(self, room: str) -> None:
        """Show a room and wait until everything that it asked for is drawn."""
        if room == "dive":
            self._until_answered(lambda logbook: logbook.rows(), self._open_newest)
        else:
            if room == "import":  # whoever draws it has nothing of their own to show
                self._app.shell.rooms.room(room).ids.files.folder = shipped_folder("demo_data")
            self._app.go(room)
        self._rest()
        if room == "buddies":
            self._until_answered(lambda logbook: logbook.buddies.likely(most=1), self._compare)
            self._rest()

    def end(self) -> None:
        """Stop the app as closing its window does."""
        take_off_window(self._app)

    def _open_newest(self, rows: Sequence[Any]) -> None:
        """Show the newest of the owner's dives that has samples, else the newest; none shows no page."""
        recorded = [row for row in rows if not row.diver and not row.estimate]
        for row in (recorded or list(rows))[:1]:
            self._app.open_dive(row.id)

    def _compare(self, pairs: Sequence[Any]) -> None:
        """Lay the newest likely pair over each other; where there is none, the choice shows."""
        for pair in pairs:
            self._app.shell.rooms.room("buddies").compare([pair.own.id, pair.other.id])

    def _rest(self) -> None:
        """Let frames pass until the worker has answered twice: a room may ask again after an answer."""
        for _ in range(2):
            self._until_answered(lambda _logbook: None, lambda _: None)
            self._frames(12)

    def _until_answered(self, work: Callable[[Any], Any], then: Callable[[Any], None]) -> None:
        outcomes: list[Callable[[], None]] = []
        self._app.ask(
            work,
            then=lambda answer: outcomes.append(lambda: then(answer)),
            failed=lambda error: outcomes.append(lambda: _raise(error)),
        )
        end_s = time.monotonic() + LONGEST_WAIT_S
        while not outcomes:
            if time.monotonic() > end_s:
                raise LeadlineError(f"A room did not come to rest in {LONGEST_WAIT_S:.0f} s.")
            self._frames(1)
        outcomes[0]()

    def _frames(self, count: int) -> None:
        for _ in range(count):
            self._loop.idle()
            time.sleep(0.005)


def _open_unseen_window(width: int, height: int) -> None:
    os.environ.setdefault("SDL_VIDEODRIVER", "offscreen")
    prepare_environment()
    from kivy.config import Config

    Config.set("graphics", "multisamples", "0")
    refuse_without_window(width, height)


def _choose_theme(logbook: Any, theme: str) -> Any:
    return logbook.change_settings(replace(logbook.settings(), theme=theme))


def _raise(error: Exception) -> None:
    raise error


def main(folder: Path) -> None:
    """Draw the rooms of the demo logbook into a folder and print where each picture is."""
    from logbook_app.demo_logbook import demo_clock, throw_away_demo
    from logbook_app.logbook import Logbook

    now = demo_clock()
    with throw_away_demo() as path:
        for picture in render_rooms(lambda: Logbook.open(path, now=now), now, folder):
            sys.stdout.write(f"{picture}\n")


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("Say where the pictures go: python -m logbook_app.screens.portraits FOLDER")
    main(Path(sys.argv[1]))
