"""A page with a chart in it: a finger on the chart belongs to the chart until it moves up or down.

A wheel over the chart belongs to the chart too, unless it was scrolling the page when the chart came
under the pointer: nobody who reads on is to be caught by it.
"""

from __future__ import annotations

from typing import Any

from kivy.clock import Clock
from kivy.properties import ObjectProperty

from logbook_app.screens.widgets.page import Page

SAME_ROLL_S = 0.5  # notches that follow one another this closely are one roll of the wheel


class ChartPage(Page):
    """A Page that hands a touch on its chart straight on, and takes it when the chart lets go.

    Without this the page would hold every touch back until it knows that it is no scroll, and the
    scrub line would come late.
    """

    chart = ObjectProperty(None, allownone=True)
    """The ChartSection on this page."""

    def on_chart(self, _page: Any, chart: Any) -> None:
        """Listen to the chart."""
        if chart is not None:
            chart.fbind("on_let_go", self._take)

    def __init__(self, **kwargs: Any) -> None:
        self._rolled_at_s = -SAME_ROLL_S
        super().__init__(**kwargs)

    def on_touch_down(self, touch: Any) -> bool:
        """Offer the touch to the chart first."""
        if self.collide_point(*touch.pos):
            if touch.is_mouse_scrolling:
                return self._roll(touch)
            if self._chart_takes(touch, "on_touch_down"):
                return True
        return bool(super().on_touch_down(touch))

    def _roll(self, touch: Any) -> bool:
        """Give a notch of the wheel to the chart or, where that has no use for it, to the page."""
        now_s = Clock.get_time()
        if now_s - self._rolled_at_s > SAME_ROLL_S and self._chart_takes(touch, "wheel"):
            return True
        self._rolled_at_s = now_s
        return bool(super().on_touch_down(touch))

    def _chart_takes(self, touch: Any, takes: str) -> bool:
        if self.chart is None or self.chart.get_root_window() is None:
            return False
        touch.push()
        touch.apply_transform_2d(self.to_local)
        taken = self.chart.collide_point(*touch.pos) and getattr(self.chart, takes)(touch)
        touch.pop()
        return bool(taken)

    def _take(self, chart: Any, touch: Any) -> None:
        """Go on scrolling with a finger that the chart let go: it is known by now that it scrolls."""
        touch.push()
        touch.apply_transform_2d(chart.parent.to_window)
        touch.apply_transform_2d(self.parent.to_widget)
        super().on_touch_down(touch)
        touch.pop()
        scrolling = touch.ud.get(self._get_uid())
        if scrolling is not None:
            scrolling["mode"] = "scroll"
