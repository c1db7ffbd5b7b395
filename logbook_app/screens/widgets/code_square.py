"""A picture code on the screen: black on white in any theme, each module a whole number of pixels."""

from __future__ import annotations

from typing import Any

import numpy as np
from kivy.graphics import Color, Rectangle
from kivy.graphics.texture import Texture
from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.widget import Widget


class CodeSquare(Widget):
    """Shows the rows of a picture code, with its quiet zone, as large as it has room for."""

    rows = ObjectProperty(())
    """Rows of modules from the top, True for dark; none draws nothing."""

    test_id = StringProperty("code")
    """How tests find it."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.bind(pos=self.draw, size=self.draw, rows=self.draw)

    @property
    def module_px(self) -> int:
        """How large a module is drawn [px]."""
        return max(1, int(min(self.size) / len(self.rows))) if self.rows else 0

    def draw(self, *_args: Any) -> None:
        """Draw it anew."""
        self.canvas.clear()
        if not self.rows:
            return
        side = self.module_px * len(self.rows)
        corner = round(self.center_x - side / 2), round(self.center_y - side / 2)
        with self.canvas:
            Color(1, 1, 1, 1)
            Rectangle(texture=_texture(self.rows), pos=corner, size=(side, side))


def _texture(rows: tuple[tuple[bool, ...], ...]) -> Any:
    """Return the modules as a texture of one pixel each, which stays sharp when it is drawn larger."""
    pixels = np.where(np.array(rows)[::-1, :, None], (0, 0, 0, 255), (255, 255, 255, 255)).astype(np.uint8)
    texture = Texture.create(size=(len(rows), len(rows)), colorfmt="rgba")
    texture.mag_filter = texture.min_filter = "nearest"
    texture.blit_buffer(pixels.ravel(), colorfmt="rgba", bufferfmt="ubyte")
    return texture
