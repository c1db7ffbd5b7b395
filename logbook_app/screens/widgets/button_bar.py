"""Buttons side by side, in as many lines as they need: those that are wanted now, and no gap for the rest."""

from __future__ import annotations

from typing import Any

from kivy.clock import Clock
from kivy.metrics import dp
from kivy.properties import BooleanProperty, NumericProperty
from kivy.uix.stacklayout import StackLayout

from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.theme import GAP_DP
from logbook_app.screens.widgets.buttons import OutlinedButton


class BarButton(OutlinedButton):
    """A button that is there while it is `wanted`."""

    wanted = BooleanProperty(True)
    """True while it shall show."""


class ButtonBar(KvBeside, StackLayout):
    """Put buttons into it as into any box; one that has `wanted` shows while that is true."""

    natural_width = NumericProperty(0)
    """Width that they need to stand in one line [px]."""

    def __init__(self, **kwargs: Any) -> None:
        self._buttons: list[Any] = []
        self._set_out_soon = Clock.create_trigger(lambda _dt: self._set_out(), -1)
        super().__init__(**kwargs)

    def add_widget(self, widget: Any, *args: Any, **kwargs: Any) -> None:
        """Take a button, and show it while it is wanted."""
        if widget not in self._buttons:
            self._buttons.append(widget)
            widget.bind(width=self._set_out_soon)
            if hasattr(widget, "wanted"):
                widget.bind(wanted=self._set_out_soon)
        super().add_widget(widget, *args, **kwargs)
        self._set_out_soon()

    def _set_out(self) -> None:
        wanted = [button for button in self._buttons if getattr(button, "wanted", True)]
        if wanted != self.children[::-1]:
            self.clear_widgets()
            for button in wanted:
                super().add_widget(button)
        self.natural_width = sum(button.width for button in wanted) + dp(GAP_DP) * max(0, len(wanted) - 1)
