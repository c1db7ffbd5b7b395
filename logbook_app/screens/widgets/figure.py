"""One large figure with a quiet label above it and what it rests on beneath."""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.metrics import sp
from kivy.properties import NumericProperty, StringProperty
from kivy.uix.label import Label

from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.widgets.card import Card


class FittedText(KvBeside, Label):
    """A single line that becomes smaller rather than reach over its width."""

    usual_sp = NumericProperty(40)
    """Its size where there is room."""

    room = NumericProperty(0)
    """The width that it may take; it takes no more than it needs."""

    test_id = StringProperty("")
    """How tests find it."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._fit = Clock.create_trigger(self._fit_now, -1)
        for name in ("text", "room", "usual_sp", "bold"):
            self.fbind(name, self._fit)
        App.get_running_app().look.bind(text_scale=self._fit)
        self._fit()

    def _fit_now(self, *_args: Any) -> None:
        self.font_size = sp(self.usual_sp)
        self.texture_update()
        if self.texture_size[0] > self.room > 0:
            self.font_size = max(sp(8), self.font_size * self.room / self.texture_size[0] * 0.99)
            self.texture_update()
        self.width = self.texture_size[0]


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
