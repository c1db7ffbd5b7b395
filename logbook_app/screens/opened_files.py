"""Recordings that another app opens with Leadline, on Android: a copy of each, as a file that can be read.

Android hands over an address, not a path, and the right to read it only for now. So what it leads to
is copied into a folder of Leadline's own first. Elsewhere nothing of this happens.
"""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

_VIEW = "android.intent.action.VIEW"
_NO_NAME = re.compile(r"[^\w.() +-]")


def watch_for_opened_files(folder: Callable[[], Path], came: Callable[[Path], None]) -> None:
    """Hand on a copy of each file that another app opens with Leadline, now and while it runs.

    folder   returns where copies go; asked on Android alone, because asking makes it
    came     called with each copy, from any thread
    """
    try:
        from android import activity
        from jnius import autoclass
    except ImportError:  # not on Android
        return
    this = autoclass("org.kivy.android.PythonActivity").mActivity

    def look(intent: Any) -> None:
        copy = copy_of_opened(intent, this.getContentResolver(), folder())
        if copy is not None:
            came(copy)

    activity.bind(on_new_intent=look)
    look(this.getIntent())


def copy_of_opened(intent: Any, resolver: Any, folder: Path) -> Path | None:
    """Return a copy of the file that an intent asks to view, None where it asks for nothing of the kind.

    intent, resolver   Android's own objects
    """
    address = intent.getData() if intent is not None and intent.getAction() == _VIEW else None
    if address is None:
        return None
    copy = folder / _name_of(address)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        descriptor = resolver.openFileDescriptor(address, "r").detachFd()
        with os.fdopen(descriptor, "rb") as opened, copy.open("wb") as kept:
            shutil.copyfileobj(opened, kept)
    except Exception:
        # Java's errors are among them: an app that takes its file back must not end this one.
        return None
    return copy


def _name_of(address: Any) -> str:
    """Return a name for the copy: the last part of the address, without what no file is called."""
    name = str(address.getLastPathSegment() or "").rpartition("/")[2]
    return _NO_NAME.sub("_", name).lstrip(".")[-80:] or "opened"
