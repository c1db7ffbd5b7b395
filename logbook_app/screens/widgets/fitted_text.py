"""A single line of text that shrinks rather than reach over its room: figures, buttons, the rail."""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.metrics import dp, sp
from kivy.properties import NumericProperty, StringProperty
from kivy.uix.label import Label

from logbook_app.screens.kv_files import KvBeside


class FittedText(KvBeside, Label):
    """A single line that becomes smaller rather than reach over its width."""

    usual_sp = NumericProperty(40)
    """Its size where there is room."""

    room = NumericProperty(0)
    """The width that it may take; it takes no more than it needs."""

    natural_width = NumericProperty(0)
    """How wide it is at its usual size [px]."""

    test_id = StringProperty("")
    """How tests find it."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._fit = Clock.create_trigger(self._fit_now, -1)
        for name in ("text", "room", "usual_sp", "bold"):
            self.fbind(name, self._fit)
        App.get_running_app().look.tell(self, lambda text: text._fit(), "text_scale")
        self._fit()

    def _fit_now(self, *_args: Any) -> None:
        self.font_size = sp(self.usual_sp)
        self.texture_update()
        self.natural_width = self.texture_size[0]
        if self.natural_width > self.room > 0:
            self.font_size = max(dp(8), self.font_size * self.room / self.natural_width * 0.99)
            self.texture_update()
        self.width = self.texture_size[0]
