"""A page with a chart in it: a finger on the chart belongs to the chart until it moves up or down."""

from __future__ import annotations

from typing import Any

from kivy.properties import ObjectProperty

from logbook_app.screens.widgets.page import Page


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

    def on_touch_down(self, touch: Any) -> bool:
        """Offer the touch to the chart first."""
        if self.collide_point(*touch.pos) and not touch.is_mouse_scrolling and self._chart_takes(touch):
            return True
        return bool(super().on_touch_down(touch))

    def _chart_takes(self, touch: Any) -> bool:
        if self.chart is None or self.chart.get_root_window() is None:
            return False
        touch.push()
        touch.apply_transform_2d(self.to_local)
        taken = self.chart.collide_point(*touch.pos) and self.chart.on_touch_down(touch)
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
