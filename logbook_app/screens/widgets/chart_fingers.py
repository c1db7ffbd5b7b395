"""Fingers, wheel and keys on a chart: what each of them does to the scrub line and to the view.

One finger moves the scrub line; one that moves up or down lets go, so that the page can scroll. Two
fingers stretch and move the time that is shown; a double tap shows the whole dive. A wheel zooms about the
pointer, sideways or with Shift it moves along. Every one of these has a key or a button besides.
"""

from __future__ import annotations

from typing import Any

from kivy.core.window import Window
from kivy.metrics import dp
from kivy.properties import BooleanProperty, NumericProperty
from kivy.uix.widget import Widget

from logbook_app.analysis.chart_lines import Frame
from logbook_app.analysis.chart_view import CLOSER, ChartView

LETS_GO_DP = 18
STILL_DP = 10  # a wet finger that taps slips no further
APART_DP = 24  # two fingers nearer than this stretch nothing
KEY_STEPS = 120  # of the shown time, one for each press of an arrow
WHEEL_CLOSER = 1.25
WHEEL_ALONG = 0.08  # of the shown time, for one notch
LEFT, RIGHT, HOME = 276, 275, 278
PLUS, MINUS = {"+", "=", "[+]"}, {"-", "[-]"}


class ChartFingers(Widget):
    """The part of a chart that is touched. Whoever draws it gives `frame` and `last_s`."""

    from_s = NumericProperty(0.0)
    """First instant shown [s]."""

    to_s = NumericProperty(0.0)
    """Last instant shown [s]."""

    scrub_s = NumericProperty(None, allownone=True)
    """The instant under the scrub line [s]; None for no line."""

    carries = BooleanProperty(False)
    """True while a finger carries a line along rather than the scrub line."""

    is_whole = BooleanProperty(True)
    """True while the whole dive is shown."""

    is_closest = BooleanProperty(False)
    """True while nothing shorter can be shown."""

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_let_go")
        self.register_event_type("on_carry")
        self.register_event_type("on_put_down")
        self.register_event_type("on_tap")
        self._fingers: list[Any] = []
        super().__init__(**kwargs)

    @property
    def frame(self) -> Frame | None:
        """Where the water lies on the screen; None before it was drawn."""
        raise NotImplementedError

    @property
    def last_s(self) -> float:
        """Where the line ends [s]."""
        raise NotImplementedError

    @property
    def is_carrying(self) -> bool:
        """True while a finger has hold of a line."""
        return bool(self.carries and self._fingers)

    @property
    def view(self) -> ChartView:
        """The part of the dive that is shown."""
        return ChartView(self.from_s, self.to_s, ChartView.whole(self.last_s).whole_s)

    def on_let_go(self, touch: Any) -> None:
        """A finger moved up or down: the page may scroll with it."""

    def on_carry(self, by_s: float) -> None:
        """A finger has carried the line so far since it came down [s]."""

    def on_put_down(self) -> None:
        """The finger that carried the line is gone."""

    def on_tap(self, touch: Any) -> None:
        """A finger came and went without moving."""

    def show_view(self, view: ChartView) -> None:
        """Show this part of the dive."""
        self.from_s, self.to_s = view.from_s, view.to_s
        self.is_whole, self.is_closest = view.is_whole, view.is_closest

    def show_span(self, from_s: float, to_s: float) -> None:
        """Show this part of the dive, kept within it and not shorter than a minute."""
        self.show_view(self.view.showing(from_s, to_s))

    def show_whole(self) -> None:
        """Show the whole dive."""
        self.show_view(ChartView.whole(self.last_s))

    def zoom(self, factor: float) -> None:
        """Show things so many times as long, about the scrub line where it is in view, else the middle."""
        view, about_s = self.view, self.scrub_s
        if about_s is None or not view.from_s <= about_s <= view.to_s:
            about_s = (view.from_s + view.to_s) / 2
        self.show_view(view.zoomed(factor, about_s))

    def step(self, steps: int) -> None:
        """Move the scrub line by so many steps, as the arrow keys do; the view follows it."""
        view = self.view
        start_s = (view.from_s + view.to_s) / 2 if self.scrub_s is None else self.scrub_s
        self.scrub_s = min(max(0.0, start_s + steps * view.length_s / KEY_STEPS), self.last_s)
        self.show_view(view.with_instant(self.scrub_s))

    def key(self, code: int, text: str | None, modifiers: list[str]) -> bool:
        """Do what a key says, and return whether it says anything to a chart."""
        if code in (LEFT, RIGHT):
            direction = 1 if code == RIGHT else -1
            if "shift" in modifiers:
                self.show_view(self.view.moved(direction * 2 * WHEEL_ALONG * self.view.length_s))
            else:
                self.step(direction)
        elif text in PLUS or text in MINUS:
            self.zoom(CLOSER if text in PLUS else 1 / CLOSER)
        elif code == HOME or text == "0":
            self.show_whole()
        else:
            return False
        return True

    def wheel(self, touch: Any) -> bool:
        """Do what a notch of the wheel says, and return whether it changed anything."""
        frame, view = self.frame, self.view
        if frame is None:
            return False
        along = {"scrollleft": 1, "scrollright": -1}.get(touch.button, 0)
        if "shift" in Window.modifiers:
            along = {"scrollup": 1, "scrolldown": -1}.get(touch.button, along)
        if along:
            after = view.moved(along * WHEEL_ALONG * view.length_s)
        else:
            factor = WHEEL_CLOSER if touch.button == "scrolldown" else 1 / WHEEL_CLOSER
            after = view.zoomed(factor, frame.time_s(touch.x))
        self.show_view(after)
        return after != view

    def on_touch_down(self, touch: Any) -> bool:
        """Take a finger on the chart: the first scrubs, the second stretches."""
        if touch.is_mouse_scrolling or self.frame is None or not self.collide_point(*touch.pos):
            return bool(super().on_touch_down(touch))
        if touch.is_double_tap:
            self.show_whole()
        touch.grab(self)
        self._fingers.append(touch)
        touch.ud[self] = touch.pos
        if len(self._fingers) == 1 and not self.carries:
            self.scrub_to(touch.x)
        return True

    def on_touch_move(self, touch: Any) -> bool:
        """Follow one finger with the scrub line, two with the view."""
        if touch.grab_current is not self:
            return bool(super().on_touch_move(touch))
        if len(self._fingers) >= 2:
            self._stretch(touch)
        elif self._moves_along_page(touch):
            self._release(touch)
            if self.carries:
                self.dispatch("on_put_down")
            self.dispatch("on_let_go", touch)
        elif self.carries:
            self._carry(touch)
        else:
            self.scrub_to(touch.x)
        return True

    def on_touch_up(self, touch: Any) -> bool:
        """Leave the scrub line where the finger left it."""
        if touch.grab_current is not self:
            return bool(super().on_touch_up(touch))
        self._release(touch)
        start_x, start_y = touch.ud[self]
        if self.carries:
            self.dispatch("on_put_down")
        elif max(abs(touch.x - start_x), abs(touch.y - start_y)) < dp(STILL_DP):
            self.dispatch("on_tap", touch)
        return True

    def scrub_to(self, x: float) -> None:
        """Put the scrub line under a finger."""
        frame = self.frame
        if frame is not None:
            self.scrub_s = min(frame.time_s(x), self.last_s)

    def _carry(self, touch: Any) -> None:
        frame = self.frame
        if frame is not None:
            s_per_px = (frame.to_s - frame.from_s) / frame.width
            self.dispatch("on_carry", (touch.x - touch.ud[self][0]) * s_per_px)

    def _release(self, touch: Any) -> None:
        touch.ungrab(self)
        if touch in self._fingers:
            self._fingers.remove(touch)

    def _moves_along_page(self, touch: Any) -> bool:
        """Return whether the finger, which has not scrubbed yet, goes up or down rather than along."""
        if touch.ud.get("scrubs"):
            return False
        start_x, start_y = touch.ud[self]
        along, across = abs(touch.x - start_x), abs(touch.y - start_y)
        touch.ud["scrubs"] = along > dp(LETS_GO_DP)
        return bool(across > dp(LETS_GO_DP) and across > along)

    def _stretch(self, touch: Any) -> None:
        """Keep both fingers on the instants they stand on."""
        first, second = self._fingers[:2]
        frame = self.frame
        if frame is None or touch not in (first, second):
            return
        before = [finger.px if finger is touch else finger.x for finger in (first, second)]
        after = [first.x, second.x]
        apart_before, apart = abs(before[0] - before[1]), abs(after[0] - after[1])
        if min(apart_before, apart) < dp(APART_DP):
            return
        length_s = (frame.to_s - frame.from_s) * apart_before / apart
        centre_s = frame.time_s(sum(before) / 2)
        share = (sum(after) / 2 - frame.left) / frame.width
        self.show_span(centre_s - share * length_s, centre_s + (1 - share) * length_s)
