"""The load of the sixteen compartments as rows of colour, painted on the chart's sheet.

One hue, from the water's palest tint to chart blue at the limit; what lies beyond the limit is hatched,
so that it does not rest on colour.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from kivy.graphics import Color, InstructionGroup, Rectangle
from kivy.graphics.texture import Texture
from kivy.metrics import dp
from numpy.typing import NDArray

from logbook_app.analysis.chart_lines import Frame
from logbook_app.analysis.load_map import greatest_by_column, runs_of
from logbook_app.analysis.section_of_dive import Section
from logbook_app.physics.units import FloatArray
from logbook_app.screens.theme import Theme
from logbook_app.screens.widgets.chart_bands import COMPARTMENTS, Band
from logbook_app.screens.widgets.ribbon import hatching

STEPS = 256
HATCH_DP = 5


class LoadMap(InstructionGroup):
    """Rows of colour along the frame's time, the fastest compartment on top."""

    def __init__(self) -> None:
        super().__init__()
        self._texture: Any = None
        self._hatch = hatching(round(dp(HATCH_DP)))

    def show(self, section: Section, band: Band, frame: Frame, theme: Theme) -> None:
        """Draw the rows in this band."""
        self.clear()
        columns = round(frame.width)
        loads = greatest_by_column(
            section.series.time_s, section.series.loads, frame.from_s, frame.to_s, columns
        )
        self._fill(np.ascontiguousarray(shades(theme)[places(loads)][::-1]))
        self.add(Color(1, 1, 1, 1))
        self.add(
            Rectangle(texture=self._texture, pos=(frame.left, band.bottom), size=(frame.width, band.height))
        )
        self._hatch_beyond(loads, band, frame, theme)

    def _fill(self, pixels: NDArray[np.uint8]) -> None:
        size = pixels.shape[1], pixels.shape[0]
        if self._texture is None or tuple(self._texture.size) != size:
            self._texture = Texture.create(size=size, colorfmt="rgba")
            self._texture.mag_filter = self._texture.min_filter = "nearest"
        self._texture.blit_buffer(pixels.ravel(), colorfmt="rgba", bufferfmt="ubyte")

    def _hatch_beyond(self, loads: FloatArray, band: Band, frame: Frame, theme: Theme) -> None:
        """Hatch every run of columns in which a compartment is over its limit."""
        row = band.height / COMPARTMENTS
        self.add(Color(*theme.card))
        for compartment, beyond in enumerate(np.nan_to_num(loads) > 1.0):
            bottom = band.top - (compartment + 1) * row
            for first, after in runs_of(beyond):
                left, right = (frame.left + first), (frame.left + after)
                u0, u1 = left / self._hatch.width, right / self._hatch.width
                v0, v1 = bottom / self._hatch.height, (bottom + row) / self._hatch.height
                self.add(
                    Rectangle(
                        texture=self._hatch,
                        pos=(left, bottom),
                        size=(right - left, row),
                        tex_coords=(u0, v0, u1, v0, u1, v1, u0, v1),
                    )
                )


def shades(theme: Theme) -> NDArray[np.uint8]:
    """Return the colours from no load to the limit, (256, 4), and after them nothing, for beyond the dive.

    They run from the tint that is nearest to the card, over the others, to chart blue.
    """
    tints = theme.water if theme.name == "day" else theme.water[::-1]
    stops = np.array([*tints, theme.blue]) * 255
    at = np.concatenate((np.linspace(0, 0.55, len(tints)), [1.0]))
    steps = np.linspace(0, 1, STEPS)
    table = np.column_stack([np.interp(steps, at, stops[:, channel]) for channel in range(4)])
    return np.concatenate((np.rint(table), np.zeros((1, 4)))).astype(np.uint8)


def places(loads: FloatArray) -> NDArray[np.intp]:
    """Return which of the shades each load has."""
    steps = np.clip(loads, 0.0, 1.0) * (STEPS - 1)
    return np.where(np.isnan(loads), STEPS, np.rint(np.nan_to_num(steps))).astype(np.intp)
