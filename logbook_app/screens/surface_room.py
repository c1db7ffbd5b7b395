"""At the surface: how long, how much is left, when to fly, what the next depth allows.

The worker works the page out once a minute; each second only the texts that the clock decides are
looked at, and only those that changed are set.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty

from logbook_app.screens.rooms import Room

WORKED_OUT_EVERY_S = 60.0
PASS_ASKED_AFTER_S = 0.2  # several touches of plus in a row are one question
WIDE_FROM_DP = 760
BESIDE_FROM_DP = 1200
LOW_UNDER_DP = 900
CAUTION = (
    "Model figures are not a promise. Your training, local rules and a hyperbaric physician come before them."
)


class SurfaceRoom(Room):
    """The live state between dives."""

    sheet = ObjectProperty(None, allownone=True)
    """The SurfaceSheet that is shown, None until the worker has answered."""

    last_line = StringProperty("")
    """Site, depth, time, gas and surfacing of the last dive."""

    caution = StringProperty(CAUTION)
    """Always on this page."""

    beside = BooleanProperty(False)
    """True where the three lower cards stand side by side."""

    low = BooleanProperty(False)
    """True where such a window is low."""

    wide = BooleanProperty(False)
    """True where the header has room for more than the title."""

    def __init__(self, **kwargs: Any) -> None:
        self._pass_m: float | None = None
        self._ask_soon = Clock.create_trigger(lambda _dt: self._ask(), PASS_ASKED_AFTER_S)
        super().__init__(**kwargs)
        self._look = App.get_running_app().look
        self._look.bind(width_dp=self._measure, height_dp=self._measure, text_scale=self._measure)
        self._measure()
        self._next_tick: Any = None
        self._asked_at: datetime | None = None
        self._part: Any = None

    def entered(self) -> None:
        """Ask for the state and start to tick."""
        self._ask()
        self._tick_at_next_second()

    def left(self) -> None:
        """Stop ticking."""
        if self._next_tick is not None:
            self._next_tick.cancel()
            self._next_tick = None

    def refresh(self, _changes: Any) -> None:
        """Any dive and any choice of the diver may change this page."""
        if self.present:
            self._ask()

    def step_pass(self, steps: int) -> None:
        """Raise or lower the pass, and ask again once the finger rests."""
        from logbook_app.screens.going_up_lines import stepped_pass_m  # with numpy behind it

        self._pass_m = stepped_pass_m(self.sheet.pass_m, steps, self.sheet.units)
        self.sheet = replace(self.sheet, pass_m=self._pass_m)
        self._part.pass_words = self.sheet.pass_words
        self._ask_soon()

    def print_sheet(self) -> None:
        """Write the sheet for an accident, and say where it lies."""
        from logbook_app.screens.printed_files import print_accident_sheet

        app = App.get_running_app()
        now = app.now()
        app.ask(
            lambda logbook: print_accident_sheet(logbook, now),
            then=lambda path: app.say(f"The sheet lies in {path}. Print it, or show it as it is."),
        )

    def _measure(self, *_args: Any) -> None:
        look = self._look
        self.wide = look.width_dp >= WIDE_FROM_DP * look.text_scale
        self.beside = look.width_dp >= BESIDE_FROM_DP * look.text_scale
        self.low = self.beside and look.height_dp < LOW_UNDER_DP * look.text_scale

    def _ask(self) -> None:
        app = App.get_running_app()
        self._asked_at = now = app.now()
        pass_m = self._pass_m
        app.ask(lambda logbook: _sheet(logbook, now, pass_m), then=self._show)

    def _show(self, sheet: Any) -> None:
        self.sheet = sheet
        self.last_line = sheet.last_line
        self._put(sheet.dived)
        if sheet.dived:
            self._part.sheet = sheet
            self._part.pass_words = sheet.pass_words
            self._set_figures(App.get_running_app().now())

    def _put(self, dived: bool) -> None:
        """Put what belongs to a diver who has dived, or has not yet; built after the first frame."""
        from logbook_app.screens.between_dives import BetweenDives, NoDiveYet

        kind = BetweenDives if dived else NoDiveYet
        if isinstance(self._part, kind):
            return
        self._part = kind()
        if dived:
            self._part.bind(on_step_pass=lambda _part, steps: self.step_pass(steps))
            for name in ("beside", "low"):
                self.bind(**{name: self._part.setter(name)})
                setattr(self._part, name, getattr(self, name))
        self.ids.body.clear_widgets()
        self.ids.body.add_widget(self._part)

    def _tick_at_next_second(self) -> None:
        into_second = App.get_running_app().now().microsecond / 1e6
        self._next_tick = Clock.schedule_once(self._tick, 1.02 - into_second)

    def _tick(self, _dt: float) -> None:
        now = App.get_running_app().now()
        self._set_figures(now)
        if self._asked_at is None or abs((now - self._asked_at).total_seconds()) >= WORKED_OUT_EVERY_S:
            self._ask()
        self._tick_at_next_second()

    def _set_figures(self, now: datetime) -> None:
        if self.sheet is not None and self.sheet.dived:
            self._part.show_figures(self.sheet.figures_at(now))


def _sheet(logbook: Any, now: datetime, pass_m: float | None) -> Any:
    """Work the page out. Runs in the worker: what it imports must not delay the first frame."""
    from logbook_app.screens.surface_lines import surface_sheet

    return surface_sheet(logbook, now, pass_m)
