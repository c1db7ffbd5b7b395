"""The number pad: what each key does, ranges in a sentence, a real keyboard, keys for wet fingers."""

from __future__ import annotations

from datetime import time

import pytest
from driver import Driver, OpenApp

from logbook_app.screens.asked_number import BACKSPACE, CLEAR, SIGN, ClockAsked, NumberAsked

DEPTH = NumberAsked("Greatest depth", "m", least=1, most=350, decimals=1)
MINUTES = NumberAsked("Dive time", "min", least=1, most=600)
WATER = NumberAsked("Coldest water", "°C", least=-3, most=45, decimals=1)
CLOCK = ClockAsked("Time it began")

ENTER, BACKSPACE_KEY = 13, 8
LEAST_KEY_DP = 64


def type_keys(asked: NumberAsked | ClockAsked, keys: list[str]) -> str:
    text = ""
    for key in keys:
        text = asked.typed(text, key)
    return text


@pytest.mark.parametrize(
    ("asked", "keys", "text"),
    [
        (DEPTH, ["2", "8", ".", "5"], "28.5"),
        (DEPTH, ["2", "8", ".", "5", "9"], "28.5"),  # a second decimal is more than a recorder tells
        (DEPTH, [".", "5"], "0.5"),
        (DEPTH, ["2", ".", "."], "2."),
        (DEPTH, ["0", "7"], "7"),
        (DEPTH, ["2", "8", BACKSPACE], "2"),
        (DEPTH, ["2", "8", CLEAR], ""),
        (DEPTH, [BACKSPACE], ""),
        (MINUTES, ["4", ".", "1"], "41"),  # no mark where there are no decimals
        (MINUTES, ["1", "2", "3", "4", "5", "6"], "12345"),
        (WATER, ["2", SIGN], "-2"),
        (WATER, ["2", SIGN, SIGN], "2"),
        (MINUTES, ["2", SIGN], "2"),
        (DEPTH, ["x"], ""),
    ],
)
def test_keys_make_a_number(asked: NumberAsked, keys: list[str], text: str) -> None:
    """Every key does one thing, and one that makes no number does nothing."""
    assert type_keys(asked, keys) == text


@pytest.mark.parametrize(
    ("asked", "text", "value"),
    [(DEPTH, "28.", 28.0), (DEPTH, "", None), (WATER, "-", None), (WATER, "-1.8", -1.8)],
)
def test_typed_text_has_a_value_at_any_moment(asked: NumberAsked, text: str, value: float | None) -> None:
    """Half a number is a number or none, never an error."""
    assert asked.value(text) == value


@pytest.mark.parametrize("text", ["1", "350", "28.5", ""])
def test_a_value_in_range_is_no_trouble(text: str) -> None:
    """Both ends are in the range, and nothing typed is no trouble yet."""
    assert DEPTH.trouble(text) == ""


@pytest.mark.parametrize("text", ["0", "0.9", "351", "999"])
def test_a_value_out_of_range_gets_one_sentence(text: str) -> None:
    """What is asked and the range with its unit: all that is needed to mend it."""
    assert DEPTH.trouble(text) == "Greatest depth: 1 to 350 m."


@pytest.mark.parametrize("value", [0.1, 28.5, 100.0, 350.0])
def test_a_value_comes_back_from_its_text(value: float) -> None:
    """What is shown is what is kept."""
    assert DEPTH.value(DEPTH.text(value)) == value


def test_a_step_stays_in_the_range() -> None:
    """A stepper starts where it makes sense and stops at the ends."""
    pressure = NumberAsked("Pressure", "bar", least=0, most=450, step=10, first=200)
    assert pressure.stepped(None, 1) == 200
    assert pressure.stepped(200, -1) == 190
    assert pressure.stepped(445, 1) == 450
    assert pressure.stepped(5, -1) == 0


@pytest.mark.parametrize(
    ("keys", "shown", "value"),
    [
        (["1", "1", "0", "5"], "11:05", time(11, 5)),
        (["9", "0", "5"], "90:5", time(9, 5)),
        (["2", "4", "0", "0"], "24:00", None),
        (["1", "2", "6", "0"], "12:60", None),
        (["1", "1", "0", "5", "2"], "2", None),
        (["1", "1"], "11", None),
    ],
)
def test_four_digits_are_a_time(keys: list[str], shown: str, value: time | None) -> None:
    """Digits as the clock shows them; a fifth begins again."""
    text = type_keys(CLOCK, keys)
    assert CLOCK.shown(text) == shown
    assert CLOCK.value(text) == value
    assert bool(CLOCK.trouble(text)) == (value is None)


@pytest.fixture
def pad(app: Driver) -> Driver:
    """The app with the pad open on the greatest depth."""
    app.tap(test_id="rail-record")
    app.idle()
    app.tap(test_id="field-max_depth_m")
    return app


def pad_says(app: Driver) -> str:
    return str(app.find(test_id="pad-value").text)


def test_pad_shows_value_unit_and_range(pad: Driver) -> None:
    """All three are on the pad itself: the field may be scrolled away."""
    assert pad_says(pad) == "– m"
    assert pad.find(test_id="pad-trouble").text == "1 to 350 m"
    for key in ("2", "8", ".", "5"):
        pad.tap(test_id=f"key-{key}")
    assert pad_says(pad) == "28.5 m"
    assert pad.find(test_id="field-max_depth_m").words == "28.5 m"


def test_pad_says_the_range_where_the_value_is_outside(pad: Driver) -> None:
    """The sentence stands on the pad and beside the field, until the value is mended."""
    for key in ("4", "0", "0"):
        pad.tap(test_id=f"key-{key}")
    assert pad.find(test_id="pad-trouble").text == "Greatest depth: 1 to 350 m."
    assert pad.find(test_id="trouble-max_depth_m").text == "Greatest depth: 1 to 350 m."
    pad.tap(test_id="key-backspace")
    assert pad.find(test_id="pad-trouble").text == "1 to 350 m"
    assert not pad.find_all(test_id="trouble-max_depth_m")


def test_a_real_keyboard_works_the_pad(pad: Driver) -> None:
    """Digits, mark, backspace and enter; escape puts the pad away and stays in the room."""
    for code in (ord("3"), ord("1"), BACKSPACE_KEY, ord("0"), ord(","), 256 + 5):
        pad.press_key(code)
    assert pad_says(pad) == "30.5 m"
    pad.press_key(ENTER)
    assert pad_says(pad) == "– min"
    pad.press_back()
    assert not pad.find_all(test_id="number-pad")
    assert pad.app.shell.rooms.current == "record"


def test_the_first_digit_replaces_a_value_and_back_mends_it(pad: Driver) -> None:
    """A value that is there is most often wholly wrong, or wrong in its last digit."""
    pad.tap(test_id="key-3")
    pad.tap(test_id="key-1")
    pad.tap(test_id="field-duration_min")
    pad.tap(test_id="field-max_depth_m")
    pad.tap(test_id="key-backspace")
    assert pad_says(pad) == "3 m"
    pad.tap(test_id="field-duration_min")
    pad.tap(test_id="field-max_depth_m")
    pad.tap(test_id="key-2")
    assert pad_says(pad) == "2 m"


@pytest.mark.parametrize("text_scale", [1.0, 1.3])
def test_keys_fit_a_wet_finger(open_app: OpenApp, text_scale: float) -> None:
    """At least 64 dp high, 8 dp apart, nothing clipped, at every size of window and text."""
    app = open_app(text_scale=text_scale)
    app.tap(test_id="rail-record")
    app.idle()
    app.tap(app.bring_into_view(app.find(test_id="field-max_depth_m")))
    for _size in app.at_each_size():
        app.wait(0.5)
        keys = app.find_all(role="PadKey")
        assert len(keys) == 15  # the sign means nothing for a depth
        assert min(key.height for key in keys) >= LEAST_KEY_DP
        assert app.misfits() == []


def test_pad_never_asks_for_the_soft_keyboard(pad: Driver) -> None:
    """No field of the pad is a TextInput, and none has the focus."""
    pad.tap(test_id="key-1")
    assert not [field for field in pad.find_all(role="TextInput") if field.focus]
