"""The package for Android, as far as it can be looked at without building one."""

from __future__ import annotations

import configparser
import fnmatch
import os
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from defusedxml import ElementTree

from tests.house.test_device_imports import CARRIED, PACKAGED

ROOT = Path(__file__).parents[2]
SPEC = ROOT / "assets" / "packaging" / "buildozer.spec"
BESIDE_THE_APP = {".po", ".png", ".typed"}  # read by nobody on a device
ANDROID = "{http://schemas.android.com/apk/res/android}"

START = """
import os, sys, tempfile
from pathlib import Path
sys.path.insert(0, sys.argv[1])
os.environ["SDL_VIDEODRIVER"] = "offscreen"
import logbook_app, main
assert str(Path(logbook_app.__file__).parent) == str(Path(sys.argv[1]) / "logbook_app")
from logbook_app.demo_logbook import demo_clock, throw_away_demo
from logbook_app.logbook import Logbook
from logbook_app.screens import portraits
from logbook_app.screens.help_text import read_help
from logbook_app.catalogues import use_language
portraits.ROOMS = ("surface", "dive", "import", "settings")
with throw_away_demo() as path, tempfile.TemporaryDirectory() as folder:
    now = demo_clock()
    opened = lambda: Logbook.open(path, now=now)
    drawn = list(portraits.render_rooms(opened, now, Path(folder), [(360, 640)], ["day"]))
    use_language("de")
    print(len(drawn), read_help("surface")[0].words)
"""


@pytest.fixture(scope="module")
def app() -> configparser.SectionProxy:
    parser = configparser.ConfigParser(interpolation=None)
    parser.read(SPEC, encoding="utf-8")
    return parser["app"]


@pytest.fixture(scope="module")
def laid_out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What buildozer is given."""
    folder = tmp_path_factory.mktemp("package")
    subprocess.run(["make", "-s", "package-source", f"PACKAGE={folder}"], cwd=ROOT, check=True)
    return folder


def _list(section: configparser.SectionProxy, name: str) -> list[str]:
    return [part.strip() for part in section[name].replace("\n", ",").split(",") if part.strip()]


def _carried(app: configparser.SectionProxy, laid_out: Path) -> list[Path]:
    """Files that buildozer takes: by their ending, less the folders and patterns that are left out."""
    endings = {f".{ending}" for ending in _list(app, "source.include_exts")}
    folders, patterns = _list(app, "source.exclude_dirs"), _list(app, "source.exclude_patterns")
    return [
        Path(name)
        for name in (path.relative_to(laid_out).as_posix() for path in laid_out.rglob("*") if path.is_file())
        if Path(name).suffix in endings
        and not any(name.startswith(f"{folder}/") for folder in folders)
        and not any(fnmatch.fnmatch(name, pattern) for pattern in patterns)
    ]


def test_every_requirement_is_one_that_a_phone_can_carry(app):
    allowed = {name.replace("_", "-") for name in PACKAGED | CARRIED}
    names = [requirement.partition("==")[0] for requirement in _list(app, "requirements")]
    assert [name for name in names if name not in allowed] == []
    assert len(names) == len(set(names))


def test_every_requirement_is_pinned_but_what_comes_with_the_tools(app):
    loose = [requirement for requirement in _list(app, "requirements") if "==" not in requirement]
    assert loose == ["openssl", "android"]


def test_everything_that_the_app_depends_on_is_required(app):
    told = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
    names = {
        name.strip() for told_one in told for name in [told_one.split(">")[0].split("=")[0].split("<")[0]]
    }
    required = {requirement.partition("==")[0] for requirement in _list(app, "requirements")}
    assert names <= required


def test_every_shipped_file_that_the_app_reads_is_taken(app, laid_out):
    """What a wheel carries beside the code, a phone must have as well."""
    hatch = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["hatch"]
    folders = ("logbook_app", *hatch["build"]["targets"]["wheel"]["force-include"])
    listed = subprocess.run(
        ["git", "ls-files", *folders], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.splitlines()
    needed = {Path(name) for name in listed if Path(name).suffix not in BESIDE_THE_APP}
    tools = {Path("assets/coast/make_coast.py")}
    assert needed - set(_carried(app, laid_out)) - tools == set()


def test_it_asks_for_no_more_than_it_uses(app):
    assert _list(app, "android.permissions") == ["INTERNET", "POST_NOTIFICATIONS"]


def test_other_apps_may_open_recordings_with_it():
    filters = (SPEC.parent / "intent_filters.xml").read_text(encoding="utf-8")
    tree = ElementTree.fromstring(
        f'<all xmlns:android="http://schemas.android.com/apk/res/android">{filters}</all>'
    )
    actions = {element.get(f"{ANDROID}name") for element in tree.iter("action")}
    endings = {element.get(f"{ANDROID}pathPattern") for element in tree.iter("data")} - {None}
    assert actions == {"android.intent.action.VIEW"}
    assert endings == {r".*\\.uddf", r".*\\.csv", r".*\\.json"}


def test_the_app_starts_from_what_is_taken_and_nothing_else(app, laid_out, tmp_path):
    for name in _carried(app, laid_out):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(laid_out / name, tmp_path / name)
    ran = subprocess.run(
        [sys.executable, "-c", START, str(tmp_path)],
        env={"PATH": "/usr/bin:/bin", "HOME": str(tmp_path / "home"), "LANGUAGE": "en"} | _of_the_window(),
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    if "Leadline cannot open a window" in ran.stderr and not os.environ.get("CI"):
        pytest.skip(ran.stderr)
    assert ran.returncode == 0, ran.stderr[-2000:]
    assert ran.stdout.split("\n")[0] == "4 An der Oberfläche"


def _of_the_window() -> dict[str, str]:
    return {
        name: value for name, value in os.environ.items() if name.startswith(("SDL", "KIVY", "LIBGL", "MESA"))
    }
