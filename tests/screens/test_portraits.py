"""Portraits: every room comes out as a picture of the right size with something on it."""

from __future__ import annotations

import os
import struct
import subprocess
import sys
from pathlib import Path

from driver import Driver

from logbook_app.demo_logbook import demo_clock, make_demo_logbook
from logbook_app.logbook import Logbook
from logbook_app.screens.portraits import ROOMS, render_rooms


def test_every_room_of_the_demo_is_drawn(window: Driver, tmp_path: Path) -> None:
    """On a phone at night: a picture a room, named for it, and no two alike."""
    path, now = tmp_path / "demo.leadline", demo_clock()
    make_demo_logbook(path)
    pictures = list(
        render_rooms(
            lambda: Logbook.open(path, now=now),
            now,
            tmp_path / "rooms",
            sizes=[(360, 640)],
            themes=["night"],
        )
    )
    assert [picture.name for picture in pictures] == [f"{room}-360x640-night.png" for room in ROOMS]
    assert all(_size(picture) == (360, 640) for picture in pictures)
    assert len({picture.read_bytes() for picture in pictures}) == len(ROOMS)


def test_an_upright_portrait_has_a_window_of_its_height(window: Driver) -> None:
    """What an unseen window draws on never grows, so it opens as high as asked (in a process of its own)."""
    opened = (
        "import sys; from logbook_app.screens.portraits import _open_unseen_window as o; o(800, 1280); "
        "from kivy.core.window import Window; sys.stdout.write('size %d x %d' % tuple(Window.size))"
    )
    run = subprocess.run(
        [sys.executable, "-c", opened],
        capture_output=True,
        text=True,
        timeout=120,
        env={name: value for name, value in os.environ.items() if not name.startswith("KCFG_")},
    )
    assert run.stdout == "size 800 x 1280", run.stderr


def _size(png: Path) -> tuple[int, int]:
    """Width and height from the header chunk (ISO/IEC 15948, 11.2.2)."""
    data = png.read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    width, height = struct.unpack(">II", data[16:24])
    return width, height
