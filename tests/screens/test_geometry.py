"""Every room and page of the app at every size: nothing small, close, clipped, over anything, or too pale.

The rooms are taken from the doorways, so that a new one is looked at without a word here. Each is shown with
a logbook that has something for it, at the largest text that a system asks for, and with words that are twice
as long as ours.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from driver import Driver, OpenApp
from entering import enter
from long_words import draw_long_words

from logbook_app.demo_logbook import demo_clock, throw_away_demo
from logbook_app.screens.rooms import DOORWAYS
from logbook_app.screens.theme import THEMES

SMALLEST, TABLET, UPRIGHT, LARGEST = (360, 640), (1280, 800), (800, 1280), (1920, 1200)
LONGER_THAN_A_LINE = ("logbook-path", "last_weekend.uddf")  # a path, and a file's name, are broken
PLACES = (1.0, 0.5, 0.0)  # where on a page that scrolls it is looked at


@pytest.fixture(scope="module")
def demo() -> Iterator[Path]:
    """The demo logbook, to be thrown away."""
    with throw_away_demo() as path:
        yield path


def misfits(app: Driver, room: str, sizes: tuple[tuple[int, int], ...]) -> list[str]:
    """Return what does not fit in a room, at each size and at some places of its pages."""
    found: list[str] = []
    for size in sizes:
        app.resize(*size)
        app.wait(0.2)
        for place in PLACES:
            pages = app.find_all(role="Page")
            for page in pages:
                page.scroll_y = place
            app.frames(3)
            found += [f"{room} at {place}: {words}" for words in app.misfits()]
            if not pages:
                break
    return list(dict.fromkeys(found))


@pytest.mark.parametrize("room", DOORWAYS)
def test_everything_fits_at_every_size(open_app: OpenApp, demo: Path, room: str) -> None:
    """From a small phone to a large tablet, both ways up."""
    app = open_app(demo, at=demo_clock()())
    enter(app, room, demo.parent)
    found = misfits(app, room, (SMALLEST, UPRIGHT, TABLET, LARGEST))
    assert not found, "\n".join(found)


@pytest.mark.parametrize("room", DOORWAYS)
def test_everything_fits_with_text_twice_as_large(open_app: OpenApp, demo: Path, room: str) -> None:
    """On the smallest phone and on a tablet."""
    app = open_app(demo, at=demo_clock()(), text_scale=2.0)
    enter(app, room, demo.parent)
    found = misfits(app, room, (SMALLEST, TABLET))
    assert not found, "\n".join(found)
    app.resize(*SMALLEST)
    app.wait(0.2)
    broken = [words for words in app.broken_words() if not any(odd in words for odd in LONGER_THAN_A_LINE)]
    assert not broken, "\n".join(broken)


@pytest.mark.parametrize("room", DOORWAYS)
def test_everything_fits_with_words_twice_as_long(
    open_app: OpenApp, demo: Path, room: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every word that is drawn has twice its letters."""
    draw_long_words(monkeypatch)
    app = open_app(demo, at=demo_clock()())
    enter(app, room, demo.parent)
    found = misfits(app, room, (SMALLEST, TABLET))
    assert not found, "\n".join(found)


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("room", DOORWAYS)
def test_every_text_stands_out_from_its_ground(open_app: OpenApp, demo: Path, room: str, theme: str) -> None:
    """At least 7:1 for ink and 4.5:1 for quiet text and the accent (WCAG 2.2, 1.4.6 and 1.4.3)."""
    app = open_app(demo, at=demo_clock()())
    enter(app, room, demo.parent)
    app.app.look.wear(theme)
    app.frames(4)
    found = app.pale_texts()
    assert not found, "\n".join(found)
