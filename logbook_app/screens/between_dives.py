"""The body of the Surface room: of a diver who has dived, and before the first dive.

It stands apart from the room so that nothing of it is read before the first frame.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.gridlayout import GridLayout

from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.widgets.edged_box import EdgedBox


class BetweenDives(KvBeside, BoxLayout):
    """What the page shows of a diver who has dived: figures, curve, ladder, limits, going up.

    Events: `on_step_pass(steps)` and `on_step_hour(steps)` with -1 or 1, `on_look(minutes)` where a finger
    looks ahead on the curve, in minutes since surfacing.
    """

    __events__ = ("on_step_pass", "on_step_hour", "on_look")

    sheet = ObjectProperty(None, allownone=True, rebind=True)
    """The SurfaceSheet that is shown."""

    pass_words = StringProperty("")
    """Elevation of the pass, as chosen."""

    beside = BooleanProperty(False)
    """True where ladder, limits and going up stand side by side."""

    low = BooleanProperty(False)
    """True where such a window is low, so that everything takes less height."""

    at_min = NumericProperty(None, allownone=True)
    """Where the handle of the curve stands, in minutes since surfacing; None is now."""

    at_words = StringProperty("")
    """What it stands at."""

    rung = NumericProperty(-1)
    """Which compartment is told about, -1 for none."""

    def on_step_pass(self, _steps: int) -> None:
        """Minus or plus of the pass was touched."""

    def on_step_hour(self, _steps: int) -> None:
        """An hour earlier or later was touched."""

    def on_look(self, _minutes: float) -> None:
        """A finger stands on the curve."""

    def on_kv_post(self, _base_widget: Any) -> None:
        """Keep what is told of a compartment with the sheet."""
        self.bind(sheet=lambda *_args: self._tell_rung(), rung=lambda *_args: self._tell_rung())

    def step_rung(self, steps: int) -> None:
        """Tell of the next compartment; after the last comes the first."""
        self.rung = (int(self.rung) + steps) % len(self.sheet.rungs)

    def _tell_rung(self) -> None:
        rungs, rung = self.sheet.rungs if self.sheet else (), int(self.rung)
        self.ids.rung_words.text = rungs[rung].words if 0 <= rung < len(rungs) else ""

    def show_figures(self, figures: Sequence[Any]) -> None:
        """Set the four figures; a text that is the same costs nothing."""
        widgets = (self.ids.interval, self.ids.load, self.ids.fly, self.ids.oxygen)
        for widget, figure in zip(widgets, figures, strict=True):
            widget.label, widget.value = figure.label, figure.value
            widget.beside, widget.detail = figure.beside, figure.detail


class DiveEntry(ButtonBehavior, EdgedBox):
    """One of the last dives; a touch opens it."""

    entry = ObjectProperty(None, allownone=True, rebind=True)
    """The LastDive."""

    test_id = StringProperty("")
    """How tests find it."""


class LastDives(KvBeside, GridLayout):
    """The last dives, to be opened. Tests find them as `last-dive-1` and so on."""

    entries = ObjectProperty(())
    """The LastDives of `screens.surface_lines`."""

    def on_entries(self, *_args: Any) -> None:
        """Set out the dives."""
        self.clear_widgets()
        for number, entry in enumerate(self.entries, start=1):
            self.add_widget(DiveEntry(entry=entry, test_id=f"last-dive-{number}"))


class NoDiveYet(KvBeside, BoxLayout):
    """What the page shows before the first dive: what to do."""
