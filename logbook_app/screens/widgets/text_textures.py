"""Words as textures, kept: drawing a row or a chart again must not set its type again."""

from __future__ import annotations

from bisect import bisect_left
from collections import OrderedDict
from collections.abc import Callable
from typing import Any

from kivy.core.text import Label as CoreLabel

KEPT = 2000
SHORT = 120  # letters; a texture of any number of them is wider than a graphics processor takes
ELLIPSIS = "…"


class TextTextures:
    """The words drawn last, white, to be tinted by a `Color` before them.

    A label is kept with its texture, because it fills the texture again after the graphics
    context was lost, as it is when a phone wakes up.
    """

    def __init__(self, kept: int = KEPT) -> None:
        self._kept = kept
        self._labels: OrderedDict[tuple[Any, ...], CoreLabel] = OrderedDict()

    def __len__(self) -> int:
        return len(self._labels)

    def texture(
        self,
        text: str,
        size_px: float,
        *,
        bold: bool = False,
        italic: bool = False,
        widest_px: float | None = None,
        font: str = "ui",
    ) -> Any:
        """Return the texture of one line of text.

        size_px    height of the type [px]
        widest_px  what is longer ends in an ellipsis; None for no bound [px]
        """
        if widest_px is None or len(text) <= SHORT:  # most texts fit, whatever the room beside them
            texture = self._kept_texture(text, size_px, bold, italic, None, font)
            if widest_px is None or texture.width <= widest_px:
                return texture
        return self._kept_texture(text, size_px, bold, italic, widest_px, font)

    def clear(self) -> None:
        """Forget everything, as when the size of text changes."""
        self._labels.clear()

    def _kept_texture(self, *key: Any) -> Any:
        label = self._labels.get(key)
        if label is None:
            label = self._labels[key] = self._set(*key)
            if len(self._labels) > self._kept:
                self._labels.popitem(last=False)
        else:
            self._labels.move_to_end(key)
        return label.texture

    @staticmethod
    def _set(
        text: str, size_px: float, bold: bool, italic: bool, widest_px: float | None, font: str
    ) -> CoreLabel:
        label = CoreLabel(text=text, font_size=size_px, bold=bold, italic=italic, font_name=font)
        if widest_px is not None and label.get_extents(text)[0] > widest_px:
            label.text = _shortened(text, lambda part: label.get_extents(part)[0] <= widest_px)
        label.refresh()
        return label


def _shortened(text: str, fits: Callable[[str], bool]) -> str:
    """Return as much of the beginning of a text as fits with an ellipsis after it.

    Kivy's own shortening goes by words and may drop the middle, which in a list is the date.
    """
    lengths = range(len(text))
    count = bisect_left(lengths, True, key=lambda length: not fits(text[:length] + ELLIPSIS)) - 1
    return text[: max(0, count)].rstrip(" ·,") + ELLIPSIS
