"""The look: contrast in both themes, roles instead of colours, text that grows with the diver's choice."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from driver import Driver, OpenApp

from logbook_app.screens import theme as look
from logbook_app.screens.theme import THEMES, Theme, colour, contrast

SCREENS = Path(look.__file__).parent
KV_FILES = sorted(SCREENS.rglob("*.kv"))
PY_FILES = [path for path in sorted(SCREENS.rglob("*.py")) if path.name != "theme.py"]


@pytest.mark.published
@pytest.mark.parametrize(
    ("first", "second", "ratio"),
    [
        # W3C, Web Content Accessibility Guidelines 2.2, definition of contrast ratio: "from 1 to 21".
        ("#000000", "#FFFFFF", 21.0),
        ("#FFFFFF", "#FFFFFF", 1.0),
        # W3C, Understanding SC 1.4.3: #777777 on white is 4.47:1 and fails (recalled from memory).
        ("#777777", "#FFFFFF", 4.47),
    ],
)
def test_contrast_as_the_w3c_defines_it(first: str, second: str, ratio: float) -> None:
    """The published figures have two decimals, the last one cut or rounded."""
    assert contrast(colour(first), colour(second)) == pytest.approx(ratio, abs=0.01)


@pytest.mark.parametrize("theme", THEMES.values(), ids=THEMES)
def test_figures_and_words_can_be_read_in_the_sun(theme: Theme) -> None:
    """At least 7:1 for figures (WCAG 2.2, 1.4.6) and 4.5:1 for quiet text and the accent (1.4.3)."""
    for ground in (theme.paper, theme.card, theme.rail):
        assert contrast(theme.ink, ground) >= 7
        assert contrast(theme.quiet, ground) >= 4.5
        assert contrast(theme.accent, ground) >= 4.5
    assert contrast(theme.on_ink, theme.ink) >= 7


@pytest.mark.parametrize("theme", THEMES.values(), ids=THEMES)
def test_lines_and_bars_stand_out(theme: Theme) -> None:
    """Bars and curves carry meaning: at least 3:1 against what they lie on (WCAG 2.2, 1.4.11)."""
    for ground in (theme.card, theme.paper):
        assert contrast(theme.blue, ground) >= 3
    for tint in theme.water:
        assert contrast(theme.ink, tint) >= 3


def test_a_theme_reaches_what_is_already_drawn(app: Driver) -> None:
    """Widgets follow a role; none keeps the colour that it was made with."""
    title = app.find(test_id="title")
    day = tuple(title.color)
    app.app.look.wear("night")
    app.frames(3)
    assert tuple(title.color) == THEMES["night"].ink != day
    app.app.look.wear("day")
    app.frames(3)
    assert tuple(title.color) == day


def test_the_ground_is_paper_and_becomes_ink(app: Driver, tmp_path: Path) -> None:
    """Looked at in the picture itself: the corner of the room has the colour of the paper."""
    for name, theme in THEMES.items():
        app.app.look.wear(name)
        app.frames(3)
        assert app.colour_at(1270, 790) == pytest.approx(theme.paper, abs=0.01)


@pytest.mark.parametrize("path", KV_FILES, ids=[path.name for path in KV_FILES])
def test_kv_sizes_of_text_follow_the_text_size(path: Path) -> None:
    """A string such as '16sp' follows a change of text size; `sp(16)` in kv is worked out once."""
    assert not re.findall(r"\bsp\(", path.read_text(encoding="utf-8"))


@pytest.mark.parametrize("path", KV_FILES + PY_FILES, ids=[path.name for path in KV_FILES + PY_FILES])
def test_colours_are_named_by_role(path: Path) -> None:
    """A colour written as a number would not follow the theme."""
    text = path.read_text(encoding="utf-8")
    assert not re.findall(r"#[0-9A-Fa-f]{6}\b", text)


@pytest.mark.parametrize("text_scale", [1.0, 1.3, 2.0])
def test_the_frame_fits_at_any_size(open_app: OpenApp, text_scale: float) -> None:
    """Rail and bar: nothing clipped, nothing under 48 dp, 8 dp between things to touch."""
    app = open_app(text_scale=text_scale)
    app.app.say("A sentence that is long enough to need two lines on a phone held upright.")
    for _size in app.at_each_size():
        assert app.misfits() == []


def test_the_chosen_text_size_holds_after_a_restart(open_app: OpenApp, tmp_path: Path) -> None:
    """The size is kept with the logbook and multiplies what the system asks for."""
    from logbook_app.logbook import Logbook

    path = tmp_path / "logbook.leadline"
    logbook = Logbook.open(path)
    logbook.change_settings(replace(logbook.settings(), text_scale=1.3, theme="night"))
    logbook.close()
    app = open_app(path, text_scale=1.15)
    assert app.app.look.text_scale == pytest.approx(1.3 * 1.15)
    assert app.app.look.theme.name == "night"
