"""A number pad for wet fingers, in place of the soft keyboard. A real keyboard works it as well.

It shows what is asked, the value with its unit, and the range, or a sentence where the value is
outside it. Nothing typed is refused: the sentence stays until the value makes sense.
"""

from __future__ import annotations

from typing import Any

from kivy.core.window import Window
from kivy.properties import (
    AliasProperty,
    BooleanProperty,
    NumericProperty,
    ObjectProperty,
    StringProperty,
)
from kivy.uix.behaviors import ButtonBehavior

from logbook_app.language import _, later
from logbook_app.screens.asked_number import BACKSPACE, CLEAR, DECIMAL_MARK, SIGN
from logbook_app.screens.widgets.edged_box import EdgedBox

NEXT = "next"
CLOSE = "close"
ROWS = (
    ("1", "2", "3", BACKSPACE),
    ("4", "5", "6", CLEAR),
    ("7", "8", "9", CLOSE),
    (DECIMAL_MARK, "0", SIGN, NEXT),
)
WORDS = {
    BACKSPACE: "",
    CLEAR: later("Clear"),
    CLOSE: later("Close"),
    SIGN: "+/\N{MINUS SIGN}",
    NEXT: later("Next"),
}
ICON_NAMES = {BACKSPACE: "backspace-outline"}  # a key that every keyboard marks so

_ENTER_KEYS = (13, 271)
_KEY_CODES = {
    8: BACKSPACE,
    127: CLEAR,
    45: SIGN,
    269: SIGN,
    44: DECIMAL_MARK,
    46: DECIMAL_MARK,
    266: DECIMAL_MARK,
}
_KEY_CODES |= {48 + digit: str(digit) for digit in range(10)} | {
    256 + digit: str(digit) for digit in range(10)
}


class PadKey(ButtonBehavior, EdgedBox):
    """One key."""

    key = StringProperty("")
    """What it stands for."""

    text = StringProperty("")
    """What it says."""

    icon = StringProperty("")
    """Name of the icon it shows in place of words."""

    usual_size = NumericProperty("26sp")
    """Size of its text where the key is large enough for it."""

    filled = BooleanProperty(False)
    """True for the one key that goes on."""

    test_id = StringProperty("")
    """How tests find it."""


class NumberPad(EdgedBox):
    """Asks for one number at a time; `text` is what is typed so far.

    Events: `on_next` when the diver goes on to the next number, `on_close` when the pad is put away.
    """

    __events__ = ("on_next", "on_close")

    asked = ObjectProperty(None, allownone=True)
    """What is asked (`NumberAsked` or `ClockAsked`), None while nothing is."""

    text = StringProperty("")
    """What is typed so far."""

    next_words = StringProperty("")
    """What the key that goes on says."""

    room_height = NumericProperty(0)
    """Height that the pad may take; keys shrink to 48 dp to fit. 0 for as much as it likes."""

    shown = AliasProperty(
        lambda self: self.asked.shown(self.text) if self.asked else "", None, bind=["asked", "text"]
    )
    """The typed text as it is read."""

    trouble = AliasProperty(
        lambda self: self.asked.trouble(self.text) if self.asked else "", None, bind=["asked", "text"]
    )
    """One sentence where the value cannot be."""

    test_id = StringProperty("number-pad")
    """How tests find it."""

    def __init__(self, **kwargs: Any) -> None:
        self._untouched = False
        self._keys: dict[str, PadKey] = {}
        super().__init__(**kwargs)

    def on_kv_post(self, _base_widget: Any) -> None:
        """Lay out the keys and listen to a real keyboard."""
        self._keys = {key: self._add_key(key) for row in ROWS for key in row}
        self.bind(parent=self._listen, asked=self._offer_keys, next_words=self._name_next)
        self._offer_keys()

    def ask(self, asked: Any, text: str = "", next_words: str = "") -> None:
        """Ask for a number. The first digit replaces a value that is there; Back mends it."""
        self.asked, self.text, self.next_words = asked, text, next_words or _(WORDS[NEXT])
        self._untouched = bool(text)

    def press(self, key: str) -> None:
        """Take one key, from the pad or from a real keyboard."""
        if self.asked is None:
            return
        if key in (NEXT, CLOSE):
            self.dispatch(f"on_{key}")
        elif self.asked.takes(key):
            starts_anew = self._untouched and (key.isdigit() or key == DECIMAL_MARK)
            self._untouched = False
            self.text = self.asked.typed("" if starts_anew else self.text, key)

    def on_next(self) -> None:
        """The diver is done with this number."""

    def on_close(self) -> None:
        """The diver puts the pad away."""

    def _add_key(self, key: str) -> PadKey:
        pad_key = PadKey(
            key=key,
            text=_(WORDS.get(key, key)),
            icon=ICON_NAMES.get(key, ""),
            filled=key == NEXT,
            test_id=f"key-{key}",
        )
        pad_key.bind(on_release=lambda pressed: self.press(pressed.key))
        self.ids.grid.add_widget(pad_key)
        return pad_key

    def _offer_keys(self, *_args: Any) -> None:
        for key, pad_key in self._keys.items():
            pad_key.disabled = self.asked is not None and not self.asked.takes(key)

    def _name_next(self, *_args: Any) -> None:
        self._keys[NEXT].text = self.next_words or _(WORDS[NEXT])

    def _listen(self, *_args: Any) -> None:
        Window.unbind(on_key_down=self._on_key_down)
        if self.parent is not None:
            Window.bind(on_key_down=self._on_key_down)

    def _on_key_down(self, _window: Any, code: int, *_rest: Any) -> bool:
        """Take digits, mark, sign, backspace, delete and enter. Escape goes the way of the back key."""
        if self.asked is None or self.get_root_window() is None:
            return False
        key = NEXT if code in _ENTER_KEYS else _KEY_CODES.get(code)
        if key is None:
            return False
        self.press(key)
        return True


def range_words(asked: Any) -> str:
    """Return the range of what is asked in a few words, empty for a time of day."""
    if not hasattr(asked, "least"):
        return _("Four digits, as the clock shows it") if asked else ""
    least, most = (asked.shown(asked.text(value)) for value in (asked.least, asked.most))
    return _("{least} to {most} {unit}").format(least=least, most=most, unit=asked.unit)


def key_height(room_height: float, others_height: float, gap: float, least: float, most: float) -> float:
    """Return how high a key may be so that four rows of them fit; never under `least`."""
    if room_height <= 0:
        return most
    return min(most, max(least, (room_height - others_height - 3 * gap) / 4))


if __name__ == "__main__":  # a demonstration: python -m logbook_app.screens.widgets.number_pad
    from logbook_app.screens.asked_number import NumberAsked
    from logbook_app.screens.widgets.alone import show_alone

    def _asking_for_a_depth() -> NumberPad:
        pad = NumberPad()
        pad.ask(NumberAsked("Greatest depth", "m", least=1, most=350, decimals=1), "28")
        return pad

    show_alone(_asking_for_a_depth)
