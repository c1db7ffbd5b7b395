"""At the surface: how long, how much is left, when to fly, what the next depth allows.

The worker works the page out once a minute; each second only the texts that the clock decides are
looked at, and only those that changed are set. The diver may look ahead to a later instant: the line on the
curve follows the finger at once, and the page as quickly as the worker answers, one question at a time.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.core.window import Window
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty

from logbook_app.language import _, later
from logbook_app.screens.rooms import Room

WORKED_OUT_EVERY_S = 60.0
PASS_ASKED_AFTER_S = 0.2  # several touches of plus in a row are one question
WIDE_FROM_DP = 760
BESIDE_FROM_DP = 1200
LOW_UNDER_DP = 900
ARROWS = {276: -1, 275: 1}
CAUTION = later(
    "Model figures are not a promise. Your training, local rules and a hyperbaric physician come before them."
)
SHORT_CAUTION = later("Model figures are not a promise.")


class SurfaceRoom(Room):
    """The live state between dives."""

    sheet = ObjectProperty(None, allownone=True)
    """The SurfaceSheet that is shown, None until the worker has answered."""

    last_line = StringProperty("")
    """Site, depth, time, gas and surfacing of the last dive."""

    caution = StringProperty("")
    """Always on this page."""

    short_caution = StringProperty("")
    """Its first words, for the foot of a small window with large text."""

    ahead = StringProperty("")
    """Says which later instant the page shows, empty while it shows now."""

    beside = BooleanProperty(False)
    """True where the three lower cards stand side by side."""

    low = BooleanProperty(False)
    """True where such a window is low."""

    wide = BooleanProperty(False)
    """True where the header has room for more than the title."""

    def __init__(self, **kwargs: Any) -> None:
        self._pass_m: float | None = None
        self._at: datetime | None = None
        self._waiting = self._ask_again = False
        self._ask_soon = Clock.create_trigger(lambda _dt: self._ask(), PASS_ASKED_AFTER_S)
        super().__init__(caution=_(CAUTION), short_caution=_(SHORT_CAUTION), **kwargs)
        self._look = App.get_running_app().look
        self._look.tell(self, lambda room: room._measure(), "width_dp", "height_dp", "text_scale")
        self._measure()
        self._next_tick: Any = None
        self._asked_at: datetime | None = None
        self._part: Any = None

    def entered(self) -> None:
        """Ask for the state, start to tick, and take the arrow keys."""
        Window.bind(on_key_down=self._on_key)
        self._ask()
        self._tick_at_next_second()

    def left(self) -> None:
        """Stop ticking; the page shows now when it is next looked at."""
        Window.unbind(on_key_down=self._on_key)
        self._at = None
        self._show_ahead()
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

    def back(self) -> bool:
        """Go back to now where the page shows a later instant."""
        was_ahead = self._at is not None
        if was_ahead:
            self.look_at(None)
        return was_ahead

    def look_at(self, wanted: datetime | None) -> None:
        """Show the page as it will be at an instant; None, or one that is not to come, is now."""
        from logbook_app.screens.looking_ahead import kept_ahead

        at = kept_ahead(wanted, App.get_running_app().now()) if wanted else None
        if at != self._at:
            self._at = at
            self._show_ahead()
            self._ask()

    def look_at_minutes(self, minutes: float) -> None:
        """Show the page as it will be so many minutes after surfacing."""
        began = self.sheet.state.last_ended_at
        self.look_at((began + timedelta(minutes=minutes)).astimezone(App.get_running_app().now().tzinfo))

    def step_ahead(self, step: timedelta) -> None:
        """Look further ahead, or less far."""
        self.look_at((self._at or App.get_running_app().now()) + step)

    def print_sheet(self) -> None:
        """Write the sheet for an accident, and say where it lies."""
        from logbook_app.screens.printed_files import print_accident_sheet

        app = App.get_running_app()
        now = app.now()
        app.ask(
            lambda logbook: print_accident_sheet(logbook, now),
            then=lambda path: app.say(
                _("The sheet lies in {path}. Print it, or show it as it is.").format(path=path)
            ),
        )

    def _measure(self, *_args: Any) -> None:
        look = self._look
        self.wide = look.width_dp >= WIDE_FROM_DP * look.text_scale
        self.beside = look.width_dp >= BESIDE_FROM_DP * look.text_scale
        self.low = self.beside and look.height_dp < LOW_UNDER_DP * look.text_scale

    def _ask(self) -> None:
        """Ask the worker for the page; while it works on one, only the last wish waits."""
        if self._waiting:
            self._ask_again = True
            return
        app = App.get_running_app()
        self._waiting, self._asked_at = True, app.now()
        now, pass_m, at = app.now(), self._pass_m, self._at
        app.ask(lambda logbook: _sheet(logbook, now, pass_m, at), then=self._show, failed=self._refused)

    def _answered(self) -> None:
        self._waiting = False
        if self._ask_again:
            self._ask_again = False
            self._ask()

    def _refused(self, error: Exception) -> None:
        self._answered()
        App.get_running_app().say_trouble(error)

    def _show(self, sheet: Any) -> None:
        self._answered()
        self.sheet = sheet
        self.last_line = sheet.last_line
        self._put(sheet.dived)
        if sheet.dived:
            self._part.sheet = sheet
            self._part.pass_words = sheet.pass_words
            self._set_figures(App.get_running_app().now())
            self._show_ahead()

    def _show_ahead(self) -> None:
        """Say which later instant the page shows, and set the line on the curve where the diver looks.

        The words follow the figures, which come a moment after the finger.
        """
        if self.sheet is None or not self.sheet.dived:
            return
        from logbook_app.screens.looking_ahead import ahead_words

        now, shown = App.get_running_app().now(), self.sheet.at
        self.ahead = ahead_words(shown, now) if shown else ""
        if self._at is None:
            self._part.at_min, self._part.at_words = None, ""
            return
        minutes = (self._at - self.sheet.state.last_ended_at).total_seconds() / 60
        self._part.at_min, self._part.at_words = minutes, self.sheet.handle_at(minutes, now)

    def _put(self, dived: bool) -> None:
        """Put what belongs to a diver who has dived, or has not yet; built after the first frame."""
        from logbook_app.screens.between_dives import BetweenDives, NoDiveYet

        kind = BetweenDives if dived else NoDiveYet
        if isinstance(self._part, kind):
            return
        self._part = kind()
        if dived:
            self._part.bind(
                on_step_pass=lambda _part, steps: self.step_pass(steps),
                on_step_hour=lambda _part, steps: self.step_ahead(timedelta(hours=steps)),
                on_look=lambda _part, minutes: self.look_at_minutes(minutes),
            )
            self.ids.page.chart = self._part.ids.tide
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
        if self._at is not None and self._at <= now:
            self.look_at(None)
        self._set_figures(now)
        self._show_ahead()
        if self._asked_at is None or abs((now - self._asked_at).total_seconds()) >= WORKED_OUT_EVERY_S:
            self._ask()
        self._tick_at_next_second()

    def _on_key(self, _window: Any, key: int, _scan: int, _text: str, modifiers: list[str]) -> bool:
        """Look ahead with the arrow keys, ten minutes at a time or an hour with shift."""
        if key not in ARROWS or self.sheet is None or self.sheet.tide is None:
            return False
        from logbook_app.screens.looking_ahead import HOUR, KEY_STEP

        self.step_ahead(ARROWS[key] * (HOUR if "shift" in modifiers else KEY_STEP))
        return True

    def _set_figures(self, now: datetime) -> None:
        if self.sheet is not None and self.sheet.dived:
            self._part.show_figures(self.sheet.figures_at(now))


def _sheet(logbook: Any, now: datetime, pass_m: float | None, at: datetime | None) -> Any:
    """Work the page out. Runs in the worker: what it imports must not delay the first frame."""
    from logbook_app.screens.surface_lines import surface_sheet

    return surface_sheet(logbook, now, pass_m, at)
