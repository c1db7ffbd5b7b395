"""Sites on a sheet of chart paper: grid with its degrees, shores, a mark and a name for each.

A touch chooses the sites under the finger.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.graphics import Color, Line, Mesh, Rectangle, SmoothEllipse, SmoothLine
from kivy.metrics import dp, sp
from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.stencilview import StencilView

from logbook_app.analysis.book_statistics import Place
from logbook_app.analysis.site_chart import SiteChart, site_chart
from logbook_app.screens.theme import TYPE_SP
from logbook_app.screens.widgets.text_textures import TextTextures

FINGER_DP = 28
_RADIUS_DP = 6
_MOST_STRETCHES = 16_000  # a mesh has 16-bit indices, two for each stretch
Box = tuple[float, float, float, float]
_textures = TextTextures()


class SiteMap(ButtonBehavior, StencilView):
    """The sheet. Event: `on_choose(places)` with the sites under a finger."""

    __events__ = ("on_choose",)

    places = ObjectProperty(())
    """Sites (`Place`); those without a position are left out."""

    shore = ObjectProperty(())
    """Shores, each an array of longitude and latitude."""

    test_id = StringProperty("site-map")
    """How tests find it."""

    def __init__(self, **kwargs: Any) -> None:
        self._draw_soon = Clock.create_trigger(lambda _dt: self._draw(), -1)
        self._points: list[tuple[float, float, Place]] = []
        super().__init__(**kwargs)
        for name in ("pos", "size", "places", "shore"):
            self.fbind(name, self._draw_soon)
        App.get_running_app().look.tell(self, lambda sheet: sheet._draw_soon(), "theme", "text_scale")

    def on_choose(self, places: Sequence[Place]) -> None:
        """The diver touched sites."""

    def on_release(self) -> None:
        """Choose what lies under the finger."""
        x, y = self.last_touch.pos
        near = [place for px, py, place in self._points if hypot(px - x, py - y) <= dp(FINGER_DP)]
        if near:
            self.dispatch("on_choose", near)

    def at(self, name: str) -> tuple[float, float]:
        """Return where the mark of a site stands, for tests and keys [px]."""
        return next((x, y) for x, y, place in self._points if place.name == name)

    def _draw(self) -> None:
        theme = App.get_running_app().look.theme
        chart = site_chart(self.places, self.width, self.height)
        self._points = []
        self.canvas.clear()
        if chart is None:
            return
        with self.canvas:
            Color(*theme.water[0])
            Rectangle(pos=self.pos, size=self.size)
            taken = self._grid(chart)
            self._shore(chart)
            self._sites(chart, taken)
            Color(*theme.hairline)
            Line(rectangle=(*self.pos, *self.size), width=1)

    def _grid(self, chart: SiteChart) -> list[Box]:
        theme, boxes = App.get_running_app().look.theme, []
        for x, words in chart.meridians():
            Color(*theme.hairline)
            Line(points=(self.x + x, self.y, self.x + x, self.top), width=1)
            boxes.append(self._text(words, self.x + x + dp(3), self.y + dp(2), "quiet", "small"))
        for y, words in chart.parallels():
            Color(*theme.hairline)
            Line(points=(self.x, self.y + y, self.right, self.y + y), width=1)
            boxes.append(self._text(words, self.x + dp(3), self.y + y + dp(2), "quiet", "small"))
        return boxes

    def _shore(self, chart: SiteChart) -> None:
        Color(*App.get_running_app().look.theme.quiet)
        stretches = chart.shore(self.shore)
        for start in range(0, len(stretches), _MOST_STRETCHES):
            part = stretches[start : start + _MOST_STRETCHES].reshape(-1, 2) + self.pos
            vertices = [value for x, y in part.tolist() for value in (x, y, 0.0, 0.0)]
            Mesh(vertices=vertices, indices=list(range(len(part))), mode="lines")

    def _sites(self, chart: SiteChart, taken: list[Box]) -> None:
        theme, radius = App.get_running_app().look.theme, dp(_RADIUS_DP)
        for place in self.places:
            if place.latitude_deg is None:
                continue
            x, y = self.x + chart.x(place.longitude_deg), self.y + chart.y(place.latitude_deg)
            self._points.append((x, y, place))
            taken.append((x - radius, y - radius, x + radius, y + radius))
            Color(*theme.card)
            SmoothEllipse(pos=(x - radius, y - radius), size=(2 * radius, 2 * radius))
            Color(*theme.ink)
            SmoothLine(circle=(x, y, radius), width=dp(1.5))
        for x, y, place in self._points:
            self._name(x, y, place.name, taken)

    def _name(self, x: float, y: float, name: str, taken: list[Box]) -> None:
        """Write a name beside its mark where there is room; else the mark stands alone."""
        texture = self._texture(name, "label")
        width, height = texture.size
        away = dp(_RADIUS_DP) + dp(4)
        for left, below in (
            (x + away, y - height / 2),
            (x - away - width, y - height / 2),
            (x - width / 2, y + away),
            (x - width / 2, y - away - height),
        ):
            box = (left, below, left + width, below + height)
            inside = box[0] >= self.x and box[2] <= self.right and box[1] >= self.y and box[3] <= self.top
            if inside and not any(_meet(box, other) for other in taken):
                taken.append(self._text(name, left, below, "ink", "label"))
                return

    def _text(self, words: str, x: float, y: float, role: str, kind: str) -> Box:
        texture = self._texture(words, kind)
        Color(*getattr(App.get_running_app().look.theme, role))
        Rectangle(texture=texture, pos=(x, y), size=texture.size)
        return (x, y, x + texture.width, y + texture.height)

    @staticmethod
    def _texture(words: str, kind: str) -> Any:
        return _textures.texture(words, sp(TYPE_SP[kind]))


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
