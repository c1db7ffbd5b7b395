"""The body of the Surface room: of a diver who has dived, and before the first dive.

It stands apart from the room so that nothing of it is read before the first frame.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside


class BetweenDives(KvBeside, BoxLayout):
    """What the page shows of a diver who has dived: figures, curve, ladder, limits, going up.

    Events: `on_step_pass(steps)` with -1 or 1.
    """

    __events__ = ("on_step_pass",)

    sheet = ObjectProperty(None, allownone=True, rebind=True)
    """The SurfaceSheet that is shown."""

    pass_words = StringProperty("")
    """Elevation of the pass, as chosen."""

    beside = BooleanProperty(False)
    """True where ladder, limits and going up stand side by side."""

    low = BooleanProperty(False)
    """True where such a window is low, so that everything takes less height."""

    def on_step_pass(self, _steps: int) -> None:
        """Minus or plus of the pass was touched."""

    def show_figures(self, figures: Sequence[Any]) -> None:
        """Set the four figures; a text that is the same costs nothing."""
        widgets = (self.ids.interval, self.ids.load, self.ids.fly, self.ids.oxygen)
        for widget, figure in zip(widgets, figures, strict=True):
            widget.label, widget.value = figure.label, figure.value
            widget.beside, widget.detail = figure.beside, figure.detail


class NoDiveYet(KvBeside, BoxLayout):
    """What the page shows before the first dive: what to do."""
