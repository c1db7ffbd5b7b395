"""Buttons: one filled for what a page is for, outlined for the rest. Words always, icon at will."""

from __future__ import annotations

from kivy.properties import NumericProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior

from logbook_app.screens.widgets.edged_box import EdgedBox


class ChartButton(ButtonBehavior, EdgedBox):
    """What all buttons share: words, an icon before them, the size of a wet finger.

    It is as wide as its words ask unless `size_hint_x` says otherwise; words too long for it shrink.
    """

    text = StringProperty("")
    """What it does, in a word or two."""

    icon = StringProperty("")
    """Name of an icon before the words, empty for none."""

    role = StringProperty("ink")
    """Colour role of words and icon."""

    least_width = NumericProperty("88dp")
    """However short its words are."""

    around = NumericProperty(0)
    """How much of its width is not for the words [px]."""

    least_height = NumericProperty("56dp")
    """However small its words are."""

    test_id = StringProperty("")
    """How tests find it."""


class FilledButton(ChartButton):
    """What the page is for."""


class OutlinedButton(ChartButton):
    """Anything else one can do here."""


class PlainButton(ChartButton):
    """Words and icon on the ground, for a way back or out."""
