"""What the device offers, on a device that offers little: every failure becomes a reason in words."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any

import pytest

from logbook_app.screens import platform_services
from logbook_app.screens.platform_services import (
    Result,
    files_below,
    folder_rows,
    has_file_chooser,
    notify,
    pick_files,
    share_file,
    starting_folder,
)

ENDINGS = (".uddf", ".csv")


def put_chooser(monkeypatch: pytest.MonkeyPatch, open_file: Any, platform: str = "win32") -> None:
    """Stand in for the device's chooser: plyer's own cannot answer where nobody sits at a screen."""
    plyer = ModuleType("plyer")
    plyer.filechooser = SimpleNamespace(open_file=open_file)  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "plyer", plyer)
    monkeypatch.setattr(sys, "platform", platform)


def picked(monkeypatch: pytest.MonkeyPatch, answer: Any) -> Result:
    results: list[Result] = []
    put_chooser(monkeypatch, lambda on_selection, **_kwargs: on_selection(answer))
    pick_files(ENDINGS, results.append)
    (result,) = results
    return result


@pytest.mark.parametrize("answer", [None, [], ""])
def test_no_answer_means_cancelled(monkeypatch: pytest.MonkeyPatch, answer: Any) -> None:
    """Cancelling is no trouble: there is no value, and nothing to say."""
    assert picked(monkeypatch, answer) == Result(False, None, "")


def test_chosen_files_come_as_paths(monkeypatch: pytest.MonkeyPatch) -> None:
    """Plain paths and file addresses alike."""
    result = picked(monkeypatch, ["/dives/a.uddf", "file:///dives/b.uddf"])
    assert result.ok
    assert result.value == (Path("/dives/a.uddf"), Path("/dives/b.uddf"))


def test_an_address_that_is_no_file_is_said_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    """Some phones hand over an address that no program can open as a file."""
    result = picked(monkeypatch, ["content://provider/17"])
    assert not result.ok
    assert "Downloads" in result.reason


@pytest.mark.parametrize(
    "error",
    [NotImplementedError(), OSError("No back-end available"), AttributeError("share"), RuntimeError("Java")],
)
def test_every_failure_of_the_chooser_is_a_reason(monkeypatch: pytest.MonkeyPatch, error: Exception) -> None:
    """Whatever the chooser raises, the diver reads one sentence that names another way."""

    def fail(**_kwargs: Any) -> None:
        raise error

    results: list[Result] = []
    put_chooser(monkeypatch, fail)
    pick_files(ENDINGS, results.append)
    assert [result.ok for result in results] == [False]
    assert "folder list" in results[0].reason


def test_the_real_chooser_of_this_machine_never_raises(monkeypatch: pytest.MonkeyPatch) -> None:
    """plyer as it is installed, with no program of a desktop to call: a reason, from its own thread."""
    monkeypatch.setenv("PATH", "/nowhere")
    results: list[Result] = []
    monkeypatch.setattr(platform_services, "_on_linux_desktop", lambda: False)  # answer before returning
    pick_files(ENDINGS, results.append)
    assert len(results) == 1
    assert not results[0].ok


def test_linux_has_a_chooser_only_with_a_desktop_program(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a program to call or a display to show it on, the own folder list serves."""
    monkeypatch.setattr(platform_services, "_importable", lambda _name: True)
    monkeypatch.delenv("ANDROID_ARGUMENT", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    monkeypatch.setenv("DISPLAY", ":0")
    assert has_file_chooser("linux", lambda name: "/usr/bin/zenity" if name == "zenity" else None)
    assert not has_file_chooser("linux", lambda _name: None)
    monkeypatch.delenv("DISPLAY")
    assert not has_file_chooser("linux", lambda _name: "/usr/bin/zenity")
    assert has_file_chooser("win32", lambda _name: None)


def test_without_plyer_there_is_no_chooser(monkeypatch: pytest.MonkeyPatch) -> None:
    """The folder list needs nothing but Python."""
    monkeypatch.setattr(platform_services, "_importable", lambda name: name != "plyer")
    assert not has_file_chooser("win32")


def test_a_folder_lists_folders_first_and_only_what_can_be_read(tmp_path: Path) -> None:
    """Each by name, whatever its case; hidden ones and other endings are left out."""
    for name in ("zander", "Almarena"):
        (tmp_path / name).mkdir()
    (tmp_path / ".hidden").mkdir()
    for name in ("b.uddf", "A.UDDF", "dives.csv", "picture.jpg", ".c.uddf"):
        (tmp_path / name).write_text("x" * 10)
    result = folder_rows(tmp_path, ENDINGS)
    assert result.ok
    assert [row.name for row in result.value] == ["Almarena", "zander", "A.UDDF", "b.uddf", "dives.csv"]
    assert [row.is_folder for row in result.value] == [True, True, False, False, False]
    assert result.value[2].size_bytes == 10


def test_a_folder_that_is_gone_is_said_in_words(tmp_path: Path) -> None:
    """Which folder, and why."""
    result = folder_rows(tmp_path / "gone", ENDINGS)
    assert not result.ok
    assert "gone" in result.reason
    assert "cannot be opened" in result.reason


def test_a_broken_link_is_not_there_to_be_chosen(tmp_path: Path) -> None:
    """A link into nothing, as a card reader leaves it, neither fails nor shows."""
    (tmp_path / "lost.uddf").symlink_to(tmp_path / "nowhere.uddf")
    assert folder_rows(tmp_path, ENDINGS).value == ()


def test_looking_starts_in_the_downloads(tmp_path: Path) -> None:
    """The downloads where there are any, else home."""
    assert starting_folder(tmp_path) == tmp_path
    (tmp_path / "Downloads").mkdir()
    assert starting_folder(tmp_path) == tmp_path / "Downloads"


def test_all_below_a_folder_is_found_once(tmp_path: Path) -> None:
    """However deep; hidden folders are left out, and a link that leads back up does not go round."""
    for folder in ("a/b/c", ".hidden"):
        (tmp_path / folder).mkdir(parents=True)
    for name in ("top.uddf", "a/one.csv", "a/b/c/deep.uddf", "a/picture.jpg", ".hidden/no.uddf"):
        (tmp_path / name).write_text("x")
    (tmp_path / "a" / "round").symlink_to(tmp_path, target_is_directory=True)
    found = [str(path.relative_to(tmp_path)) for path in files_below(tmp_path, ENDINGS)]
    assert found == ["a/b/c/deep.uddf", "a/one.csv", "top.uddf"]
    assert list(files_below(tmp_path / "gone", ENDINGS)) == []


def test_a_notification_reaches_the_device(monkeypatch: pytest.MonkeyPatch) -> None:
    """Title and message are handed over as they are."""
    shown: list[dict[str, str]] = []
    plyer = ModuleType("plyer")
    plyer.notification = SimpleNamespace(notify=lambda **told: shown.append(told))  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "plyer", plyer)
    assert notify("Leadline", "Regulator, service: due today").ok
    assert (shown[0]["title"], shown[0]["message"]) == ("Leadline", "Regulator, service: due today")


@pytest.mark.parametrize(("held", "agrees", "told"), [(True, True, 1), (False, True, 1), (False, False, 0)])
def test_android_asks_the_diver_before_the_first_notification(
    monkeypatch: pytest.MonkeyPatch, held: bool, agrees: bool, told: int
) -> None:
    """Android 13 and later show none to a diver who was not asked."""
    shown: list[dict[str, str]] = []
    asked: list[list[str]] = []
    plyer = ModuleType("plyer")
    plyer.notification = SimpleNamespace(notify=lambda **words: shown.append(words))  # type: ignore[attr-defined]
    permissions = ModuleType("android.permissions")

    def request(wanted: list[str], answered: Callable[[list[str], list[bool]], None]) -> None:
        asked.append(wanted)
        answered(wanted, [agrees])

    permissions.Permission = SimpleNamespace(POST_NOTIFICATIONS="post")  # type: ignore[attr-defined]
    permissions.check_permission = lambda _name: held  # type: ignore[attr-defined]
    permissions.request_permissions = request  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "plyer", plyer)
    monkeypatch.setitem(sys.modules, "android", ModuleType("android"))
    monkeypatch.setitem(sys.modules, "android.permissions", permissions)
    assert notify("Leadline", "Regulator, service: due today").ok
    assert asked == ([] if held else [["post"]])
    assert len(shown) == told


@pytest.mark.parametrize("error", [NotImplementedError("none"), OSError("no bus"), TypeError("odd")])
def test_a_device_without_notifications_gives_a_reason(
    monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    """No implementation, no desktop to ask: a reason, and nothing raised."""

    def refuse(**_told: str) -> None:
        raise error

    plyer = ModuleType("plyer")
    plyer.notification = SimpleNamespace(notify=refuse)  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "plyer", plyer)
    result = notify("Leadline", "anything")
    assert not result.ok
    assert type(error).__name__ in result.reason


class _Java:
    """What pyjnius gives of Android, as far as sharing a file needs it."""

    def __init__(self) -> None:
        self.shown: list[object] = []

    def autoclass(self, name: str) -> object:
        if name == "org.kivy.android.PythonActivity":
            activity = SimpleNamespace(getPackageName=lambda: "our.app", startActivity=self.shown.append)
            return SimpleNamespace(mActivity=activity)
        if name == "androidx.core.content.FileProvider":
            return SimpleNamespace(getUriForFile=lambda _activity, provider, file: f"{provider}:{file}")
        return str if name == "java.io.File" else _Intent


class _Intent:
    ACTION_SEND, EXTRA_STREAM, FLAG_GRANT_READ_URI_PERMISSION = "send", "stream", 1

    def __init__(self, action: str) -> None:
        self.told: dict[str, object] = {"action": action}
        self.setType = lambda kind: self.told.update(kind=kind)
        self.putExtra = lambda name, value: self.told.update({name: value})
        self.addFlags = lambda flags: self.told.update(flags=flags)

    @staticmethod
    def createChooser(intent: _Intent, _title: None) -> dict[str, object]:  # noqa: N802 (Java's name)
        return intent.told


def test_a_file_is_shared_on_android_and_nowhere_else(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Against stand-ins of pyjnius: no phone is at hand. Java's names are recalled from its documentation."""
    path = tmp_path / "dive 214.uddf"
    assert not share_file(path).ok
    monkeypatch.setenv("ANDROID_ARGUMENT", "")
    assert not share_file(path).ok  # without pyjnius
    java = _Java()
    monkeypatch.setitem(
        sys.modules, "jnius", SimpleNamespace(autoclass=java.autoclass, cast=lambda _kind, value: value)
    )
    assert share_file(path).ok
    (told,) = java.shown
    assert told == {
        "action": "send",
        "kind": "application/octet-stream",
        "stream": f"our.app.fileprovider:{path}",
        "flags": 1,
    }
    monkeypatch.setitem(sys.modules, "jnius", SimpleNamespace(autoclass=None, cast=None))
    assert not share_file(path).ok  # Java said no
