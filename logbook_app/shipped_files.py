"""Where the files that ship with the program lie: fonts, help pages, the demo logbook.

A wheel carries them inside the package; a checkout has them beside it. Both are looked at in
that order, so the same call works in both.
"""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def shipped_folder(name: str) -> Path:
    """Return the folder of shipped files with this name: `assets` or `demo_data`.

    Raises FileNotFoundError where the installation is not whole.
    """
    for parent in (_PACKAGE, _PACKAGE.parent):
        folder = parent / name
        if folder.is_dir():
            return folder
    raise FileNotFoundError(f"The folder {name} that ships with Leadline is missing. Install Leadline again.")


def font_file(name: str) -> Path:
    """Return the path of a bundled font."""
    return shipped_folder("assets") / "fonts" / name
