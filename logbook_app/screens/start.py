"""Starts the touch app: prepares Kivy's environment, and says in a sentence what is missing.

Kivy reads its environment when it is first imported, and without a graphics library it ends the
process with no word that a diver could use. So this module imports no Kivy before it has looked.
"""

from __future__ import annotations

import ctypes
import logging
import os
import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

from logbook_app.dive.problems import LeadlineError
from logbook_app.language import _

# Names of shared libraries that Kivy's window opens on Linux, and the Debian packages with them.
LINUX_LIBRARIES = ("libEGL.so.1", "libGL.so.1", "libGLESv2.so.2", "libmtdev.so.1")
DEBIAN_PACKAGES = "libegl1 libgl1 libgles2 libgl1-mesa-dri libmtdev1"

WINDOW_PX = (1280, 800)  # on a desktop; a phone or a tablet gives its whole screen whatever is asked

ENVIRONMENT = {
    "KIVY_WINDOW": "sdl2",  # else a missing library makes Kivy fall to a window that ends the process
    "KIVY_NO_ARGS": "1",
    "KIVY_NO_FILELOG": "1",
    "KIVY_LOG_MODE": "PYTHON",  # else Kivy takes standard error, and our own sentence is never seen
    "KIVY_NO_CONFIG": "1",
}


class NoWindow(LeadlineError):
    """No window can be opened on this machine."""


def run_app(
    open_logbook: Callable[[], Any], now: Callable[[], datetime], trouble_log: Path | None = None
) -> None:
    """Open the touch app and return when it is closed.

    open_logbook   opens the logbook; called in a worker thread after the first frame
    now            the clock
    trouble_log    file that unexpected errors are written to; how the screen looked last lies beside it

    Raises NoWindow where no window can be opened.
    """
    prepare_environment()
    refuse_without_window()
    from logbook_app.screens.app import LeadlineApp  # the environment comes first
    from logbook_app.screens.platform_services import notify
    from logbook_app.screens.trouble import bear_errors

    last_look = trouble_log.with_name("last-look.txt") if trouble_log else None
    app = LeadlineApp(open_logbook, now, trouble_log, last_look, notify=notify)
    bear_errors(app.say_trouble)
    app.run()


def prepare_environment() -> None:
    """Set what Kivy reads when it is imported; what is already set stays."""
    for name, value in ENVIRONMENT.items():
        os.environ.setdefault(name, value)
    logging.getLogger("kivy").addHandler(logging.NullHandler())


def missing_libraries() -> list[str]:
    """Return the graphics libraries that a window needs and this machine lacks."""
    if not sys.platform.startswith("linux") or "ANDROID_ARGUMENT" in os.environ:
        return []
    return [name for name in LINUX_LIBRARIES if not _loads(name)]


def refuse_without_window(width_px: int = WINDOW_PX[0], height_px: int = WINDOW_PX[1]) -> None:
    """Open the window at this size. Raises NoWindow with what to install where that fails."""
    missing = missing_libraries()
    if missing:
        raise NoWindow(
            _(
                "Leadline cannot open a window: {missing} is missing. On Debian: apt-get install "
                "{packages}. The command line works without a window."
            ).format(missing=", ".join(missing), packages=DEBIAN_PACKAGES)
        )
    from kivy.config import Config  # only now that the libraries are known to be there

    Config.set("kivy", "exit_on_escape", "0")
    Config.set("graphics", "width", str(width_px))
    Config.set("graphics", "height", str(height_px))
    from kivy.core.window import Window

    if Window is None:
        raise NoWindow(
            _(
                "Leadline cannot open a window: no graphics driver or no screen answered. On Debian: "
                "apt-get install {packages}, or start it from a desktop."
            ).format(packages=DEBIAN_PACKAGES)
        )


def _loads(name: str) -> bool:
    try:
        ctypes.CDLL(name)
    except OSError:
        return False
    return True
