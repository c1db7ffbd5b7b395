"""Words as textures, kept: drawing a row or a chart again must not set its type again."""

from __future__ import annotations

from collections import OrderedDict
from typing import Any

from kivy.core.text import Label as CoreLabel

KEPT = 2000


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
        key = (text, size_px, bold, italic, widest_px, font)
        label = self._labels.get(key)
        if label is None:
            label = self._labels[key] = self._set(*key)
            if len(self._labels) > self._kept:
                self._labels.popitem(last=False)
        else:
            self._labels.move_to_end(key)
        return label.texture

    def clear(self) -> None:
        """Forget everything, as when the size of text changes."""
        self._labels.clear()

    @staticmethod
    def _set(
        text: str, size_px: float, bold: bool, italic: bool, widest_px: float | None, font: str
    ) -> CoreLabel:
        label = CoreLabel(text=text, font_size=size_px, bold=bold, italic=italic, font_name=font)
        label.refresh()
        if widest_px is not None and label.texture.width > widest_px:
            label = CoreLabel(
                text=text,
                font_size=size_px,
                bold=bold,
                italic=italic,
                font_name=font,
                text_size=(max(1, int(widest_px)), None),
                shorten=True,
                shorten_from="right",
                max_lines=1,
            )
            label.refresh()
        return label
