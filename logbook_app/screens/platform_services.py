"""What the device offers: a file chooser, folders, notifications, its language. Nothing here ever raises.

Everything of plyer is behind this one module, because on some device each of its services fails
in a way of its own: no implementation, no desktop program to call, a Java error, a silent None.
A screen gets a `Result` and says its reason, or hides what the device cannot do.

Nothing is imported before it is needed: the first touch of plyer's chooser takes a third of a
second.
"""

from __future__ import annotations

import os
import shutil
import sys
import threading
import warnings
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from logbook_app.language import _

_DESKTOP_CHOOSERS = ("zenity", "yad", "kdialog")  # what plyer's chooser calls on Linux


@dataclass(frozen=True, slots=True)
class Result:
    """What a service answered.

    ok       True where there is a value
    value    the answer
    reason   why there is none, in words; empty where the diver simply cancelled
    """

    ok: bool
    value: Any = None
    reason: str = ""


@dataclass(frozen=True, slots=True)
class FolderRow:
    """One line of a folder: another folder, or a file that can be read.

    size_bytes   of a file
    """

    path: Path
    name: str
    is_folder: bool
    size_bytes: int = 0


def has_file_chooser(platform: str = sys.platform, find_program: Callable[[str], Any] = shutil.which) -> bool:
    """Return whether the device has a chooser of its own; without one the own folder list serves.

    On Linux plyer calls a program of the desktop: without any of them, or without a display to
    show it on, there is none.
    """
    if not _importable("plyer"):
        return False
    if not platform.startswith("linux") or _on_android():
        return True
    if not _importable("distutils"):  # plyer 2.1.0 still needs it there, and Python 3.12 dropped it
        return False
    has_display = bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))
    return has_display and any(find_program(name) for name in _DESKTOP_CHOOSERS)


def pick_files(
    endings: Iterable[str], chosen: Callable[[Result], None], *, kind: str = "", title: str = ""
) -> None:
    """Ask the device's own chooser for files, and hand the paths to `chosen`, from any thread.

    kind    what the files are, recordings unless said otherwise
    title   what the chooser says at its top

    No answer and an empty answer mean that the diver cancelled. Addresses that are not paths
    (an Android provider that gives no file) are refused in words, as nothing could read them.
    """
    filters = [(kind or _("Recordings"), *(f"*{ending}" for ending in endings))]

    def ask() -> None:
        trouble = _attempt(
            lambda: _plyer_chooser().open_file(
                on_selection=lambda selection: chosen(_paths(selection)),
                multiple=True,
                title=title or _("Choose recordings"),
                filters=filters,
            )
        )
        if trouble:
            chosen(Result(False, None, trouble))

    if _on_linux_desktop():  # plyer waits there until the desktop's program ends
        threading.Thread(target=ask, name="file chooser", daemon=True).start()
    else:  # macOS shows its chooser from the drawing thread only; Android answers later anyway
        ask()


def share_file(path: Path) -> Result:
    """Hand a file to another app of the device: on Android, with its own sheet; elsewhere there is none.

    The file goes through the provider of files that the app was packaged with; without one, or without
    an app that takes the file, the Result says no, and the caller says where the file lies.
    """
    if not _on_android():
        return Result(False)
    try:
        from jnius import autoclass, cast
    except ImportError:
        return Result(False)
    try:
        activity = autoclass("org.kivy.android.PythonActivity").mActivity
        intent_class = autoclass("android.content.Intent")
        provider = autoclass("androidx.core.content.FileProvider")
        uri = provider.getUriForFile(
            activity, f"{activity.getPackageName()}.fileprovider", autoclass("java.io.File")(str(path))
        )
        intent = intent_class(intent_class.ACTION_SEND)
        intent.setType("application/octet-stream")
        intent.putExtra(intent_class.EXTRA_STREAM, cast("android.os.Parcelable", uri))
        intent.addFlags(intent_class.FLAG_GRANT_READ_URI_PERMISSION)
        activity.startActivity(intent_class.createChooser(intent, None))
    except Exception as error:  # Java's errors of every kind; none of them is ours to raise
        return Result(False, None, type(error).__name__)
    return Result(True, path)


def notify(title: str, message: str) -> Result:
    """Show a notification of the device, where it has any. Slow at first: call it in the background.

    Android 13 and later ask the diver first; it is shown once they have agreed.
    """
    try:
        from android.permissions import Permission, check_permission, request_permissions
    except ImportError:  # a device that asks nobody
        return _notify(title, message)
    try:
        if check_permission(Permission.POST_NOTIFICATIONS):
            return _notify(title, message)

        def answered(_asked: Any, granted: Any) -> None:
            if all(granted):
                _notify(title, message)

        request_permissions([Permission.POST_NOTIFICATIONS], answered)
    except Exception:  # an Android that knows no such question
        return _notify(title, message)
    return Result(True)


def _notify(title: str, message: str) -> Result:
    try:
        from plyer import notification  # late, as all of plyer

        with warnings.catch_warnings(action="ignore"):  # plyer says on the terminal what Linux lacks
            notification.notify(title=title, message=message, app_name=title)
    except Exception as error:
        # Every kind of error is met here, Java's among them, and none of them is ours to raise.
        return Result(
            False, None, _("This device shows no notification ({name}).").format(name=type(error).__name__)
        )
    return Result(True)


def device_language() -> str:
    """Return what a phone or a tablet speaks, `de-AT`; empty on a desk, whose environment says it."""
    if not _on_android():
        return ""
    try:
        from jnius import autoclass

        return str(autoclass("java.util.Locale").getDefault().toLanguageTag())
    except ImportError:
        return ""


def starting_folder(home: Path | None = None) -> Path:
    """Return where recordings are looked for first: the downloads where there are any, else home."""
    home = home or _home()
    for name in ("Download", "Downloads"):
        if (home / name).is_dir():
            return home / name
    return home


def folder_rows(folder: Path, endings: Iterable[str]) -> Result:
    """Return the lines of a folder as a Result of FolderRow, folders first, each by name.

    Hidden ones and files with other endings are left out. A folder that cannot be opened is said
    in words. Slow on a network drive: call it in the background.
    """
    wanted = tuple(ending.lower() for ending in endings)
    try:
        with os.scandir(folder) as entries:
            found = [row for entry in entries if (row := _row(entry, wanted))]
    except OSError as error:
        return Result(
            False,
            (),
            _("{folder}: this folder cannot be opened ({strerror}).").format(
                folder=folder, strerror=error.strerror or error
            ),
        )
    return Result(True, tuple(sorted(found, key=lambda row: (not row.is_folder, row.name.casefold()))))


def files_below(folder: Path, endings: Iterable[str]) -> Iterator[Path]:
    """Yield the files with these endings in a folder and in all folders below it, each folder by name.

    Hidden ones are left out, links to folders are not followed, and a folder that cannot be opened is
    passed over. Slow on a large tree: call it in the background.
    """
    rows = folder_rows(folder, tuple(endings)).value
    for row in rows:
        if not row.is_folder:
            yield row.path
        elif not row.path.is_symlink():
            yield from files_below(row.path, endings)


def _row(entry: os.DirEntry[str], endings: tuple[str, ...]) -> FolderRow | None:
    if entry.name.startswith("."):
        return None
    try:
        if entry.is_dir():
            return FolderRow(Path(entry.path), entry.name, is_folder=True)
        if entry.name.lower().endswith(endings) and entry.is_file():
            return FolderRow(Path(entry.path), entry.name, is_folder=False, size_bytes=entry.stat().st_size)
    except OSError:  # gone or locked since the folder was listed: it is not there to be chosen
        return None
    return None


def _paths(selection: Any) -> Result:
    if not selection:
        return Result(False)
    named = [selection] if isinstance(selection, str) else [str(each) for each in selection]
    strange = [each for each in named if "://" in each and not each.startswith("file://")]
    if strange:
        return Result(
            False,
            None,
            _("The device gave an address in place of a file. Copy the file into Downloads first."),
        )
    return Result(True, tuple(Path(each.removeprefix("file://")) for each in named))


def _attempt(call: Callable[[], Any]) -> str:
    """Run one call into plyer; return in words why it could not be done, empty where it was."""
    try:
        call()
    except Exception as error:
        # Every kind of error is met here, Java's among them, and none of them is ours to raise.
        return _("The file chooser of this device did not open ({name}). Use the folder list.").format(
            name=type(error).__name__
        )
    return ""


def _plyer_chooser() -> Any:
    from plyer import filechooser  # late: its first touch takes a third of a second

    return filechooser


def _importable(name: str) -> bool:
    from importlib.util import find_spec

    return find_spec(name) is not None


def _on_linux_desktop() -> bool:
    return sys.platform.startswith("linux") and not _on_android()


def _on_android() -> bool:
    return "ANDROID_ARGUMENT" in os.environ


def _home() -> Path:
    if _on_android():
        return Path(os.environ.get("EXTERNAL_STORAGE", "/storage/emulated/0"))
    try:
        return Path.home()
    except RuntimeError:  # a system that knows no home: start where the program stands
        return Path.cwd()
