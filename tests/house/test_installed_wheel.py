"""What a wheel carries: the program finds its shipped files from a checkout and from a wheel alike."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SHIPPED = (
    "assets/fonts/IBMPlexSans-Regular.ttf",
    "assets/fonts/MaterialDesignIcons-subset.ttf",
    "assets/help/surface.md",
    "assets/requirements/cmas.toml",
    "assets/languages/de.mo",
    "demo_data/last_weekend.uddf",
    "demo_data/hand_entries.json",
)
FIND_AND_USE = """
import sys, tempfile
from pathlib import Path
import logbook_app
from logbook_app.demo_logbook import make_demo_logbook
from logbook_app.logbook import Logbook
from logbook_app.shipped_files import shipped_folder
for name in sys.argv[1:]:
    folder, _, rest = name.partition("/")
    assert (shipped_folder(folder) / rest).is_file(), name
with tempfile.TemporaryDirectory() as folder:
    path = Path(folder) / "demo.leadline"
    make_demo_logbook(path)
    logbook = Logbook.open(path)
    print(Path(logbook_app.__file__).parent, len(logbook.dives()))
    logbook.close()
"""


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A wheel built from this checkout and unpacked as an installer would."""
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", folder, ROOT],
        check=True,
        capture_output=True,
    )
    (wheel,) = folder.glob("leadline-*.whl")
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(folder / "installed")
    return folder / "installed"


@pytest.mark.parametrize("place", ["checkout", "wheel"])
def test_shipped_files_are_found_and_the_demo_can_be_made(place, installed, tmp_path):
    packages = installed if place == "wheel" else ROOT
    ran = subprocess.run(
        [sys.executable, "-c", FIND_AND_USE, *SHIPPED],
        env={"PYTHONPATH": str(packages), "PATH": "/usr/bin:/bin"},
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    where, dives = ran.stdout.split()
    assert Path(where) == packages / "logbook_app"
    assert int(dives) >= 150


def test_the_wheel_holds_the_package_and_its_shipped_files_alone(installed):
    top = {path.name for path in installed.iterdir() if not path.name.endswith(".dist-info")}
    assert top == {"logbook_app", "server"}
    assert not list(installed.rglob("*test*.py"))
