"""One large figure with a quiet label above it and what it rests on beneath."""

from __future__ import annotations

from kivy.properties import NumericProperty, StringProperty

from logbook_app.screens.widgets.card import Card


class Figure(Card):
    """Label, figure, perhaps a smaller one beside it, and a line on what it rests on."""

    label = StringProperty("")
    """What the figure is."""

    value = StringProperty("")
    """The figure with its unit."""

    beside = StringProperty("")
    """A second, smaller figure."""

    detail = StringProperty("")
    """What it rests on."""

    usual_sp = NumericProperty(40)
    """Size of the figure where there is room."""
