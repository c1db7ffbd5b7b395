"""Answers to choose from, as chips that wrap: one of them, or as many as hold.

A chosen chip is filled, the others are hollow, so the state reads without colour.
"""

from __future__ import annotations

from typing import Any

from kivy.clock import Clock
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ListProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.stacklayout import StackLayout

from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.widgets.edged_box import EdgedBox

BESIDE_WORDS_DP = 32  # at both sides of the words in a chip, together


class Chip(ButtonBehavior, EdgedBox):
    """One answer."""

    text = StringProperty("")
    """What it says."""

    answer = StringProperty("")
    """What choosing it means."""

    chosen = BooleanProperty(False)
    """True while it holds."""

    test_id = StringProperty("")
    """How tests find it."""

    def wrap(self, most_width: float) -> None:
        """Go on in the next line where the words need more than this width [px]."""
        label, room = self.ids.label, most_width - dp(BESIDE_WORDS_DP)
        label.text_size = None, None
        label.texture_update()
        if label.texture_size[0] > room > 0:
            label.text_size = room, None


class ChoiceChips(KvBeside, StackLayout):
    """A wrapping row of chips. Tests find one by `chip_ids`, a dash and its answer.

    Event: `on_choice(chosen)` after a touch, with the answers that hold now.
    """

    __events__ = ("on_choice",)

    answers = ListProperty([])
    """What there is to choose from: answers, or pairs of answer and words."""

    chosen = ListProperty([])
    """The answers that hold."""

    several = BooleanProperty(False)
    """True where more than one may hold."""

    may_be_none = BooleanProperty(False)
    """True where touching the chosen chip again lets go of it."""

    chip_ids = StringProperty("chip")
    """How tests find the chips."""

    def __init__(self, **kwargs: Any) -> None:
        self._wrap = Clock.create_trigger(self._wrap_now, -1)
        super().__init__(**kwargs)
        self.fbind("width", self._wrap)

    def on_answers(self, *_args: Any) -> None:
        """Make the chips anew."""
        self.clear_widgets()
        for each in self.answers:
            answer, words = (each, each) if isinstance(each, str) else each
            chip = Chip(answer=answer, text=words, test_id=f"{self.chip_ids}-{answer}")
            chip.bind(on_release=self._touched)
            chip.ids.label.bind(font_size=self._wrap)
            self.add_widget(chip)
        self.on_chosen()
        self._wrap()

    def on_chip_ids(self, *_args: Any) -> None:
        """Call the chips by another name."""
        for chip in self.children:
            chip.test_id = f"{self.chip_ids}-{chip.answer}"

    def on_chosen(self, *_args: Any) -> None:
        """Fill the chips that hold."""
        for chip in self.children:
            chip.chosen = chip.answer in self.chosen

    def on_choice(self, chosen: list[str]) -> None:
        """The diver chose; `chosen` holds now."""

    def _wrap_now(self, _dt: float) -> None:
        for chip in self.children:
            chip.wrap(self.width)

    def _touched(self, chip: Chip) -> None:
        self.chosen = after_touch(
            list(self.chosen), chip.answer, several=self.several, may_be_none=self.may_be_none
        )
        self.on_chosen()
        self.dispatch("on_choice", list(self.chosen))


def after_touch(chosen: list[str], answer: str, *, several: bool, may_be_none: bool) -> list[str]:
    """Return the answers that hold after one was touched.

    >>> after_touch(["Imke"], "Tom", several=True, may_be_none=True)
    ['Imke', 'Tom']
    >>> after_touch(["air"], "air", several=False, may_be_none=False)
    ['air']
    """
    if answer in chosen:
        rest = [other for other in chosen if other != answer]
        return rest if several or may_be_none else chosen
    return [*chosen, answer] if several else [answer]
