"""Portraits: every room comes out as a picture of the right size with something on it."""

from __future__ import annotations

import struct
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


def _size(png: Path) -> tuple[int, int]:
    """Width and height from the header chunk (ISO/IEC 15948, 11.2.2)."""
    data = png.read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    width, height = struct.unpack(">II", data[16:24])
    return width, height
