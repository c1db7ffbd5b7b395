"""Photos on a chart: a small picture frame at the foot of the section, at the time each was taken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from kivy.graphics import Color, InstructionGroup, Rectangle
from kivy.metrics import dp, sp

from logbook_app.analysis.chart_lines import Frame
from logbook_app.analysis.chart_places import Box
from logbook_app.screens.icons import ICONS
from logbook_app.screens.theme import TARGET_DP, TYPE_SP, Theme
from logbook_app.screens.widgets.text_textures import TextTextures

SIDE_DP = 22
LIFT_DP = 3
NEAR_S = 12.0

Photo = tuple[float, str, str]
"""When it was taken on the dive's clock [s], its id, and what it is called."""


@dataclass(frozen=True, slots=True)
class PhotoSign:
    """One frame on the chart, for photos too close together to have a frame each."""

    box: Box
    count: int


def photo_signs(photos: Sequence[Photo], frame: Frame) -> list[PhotoSign]:
    """Return the frames of the photos that were taken in a frame's time."""
    side, signs = dp(SIDE_DP), list[PhotoSign]()
    for time_s, _id, _label in sorted(photos):
        left = float(frame.x(time_s)) - side / 2
        if left < frame.left or left + side > frame.right:
            continue
        if signs and left < signs[-1].box.right + dp(2):
            signs[-1] = PhotoSign(signs[-1].box, signs[-1].count + 1)
        else:
            signs.append(PhotoSign(Box.at(left, frame.bottom + dp(LIFT_DP), (side, side)), 1))
    return signs


def photo_under(photos: Sequence[Photo], frame: Frame, x: float, y: float) -> Photo | None:
    """Return the photo whose frame a finger means, None where it means none."""
    reach, middle = dp(TARGET_DP) / 2, frame.bottom + dp(LIFT_DP) + dp(SIDE_DP) / 2
    nearest = min(photos, key=lambda photo: abs(float(frame.x(photo[0])) - x), default=None)
    if nearest is None or abs(y - middle) > reach or abs(float(frame.x(nearest[0])) - x) > reach:
        return None
    return nearest


def photos_near(photos: Sequence[Photo], time_s: float) -> tuple[str, ...]:
    """Return what the photos are called that were taken about an instant."""
    return tuple(label for at_s, _id, label in photos if abs(at_s - time_s) <= NEAR_S and label)


class PhotoFrames(InstructionGroup):
    """The frames, painted on the chart's sheet."""

    def __init__(self, texts: TextTextures) -> None:
        super().__init__()
        self._texts = texts

    def show(self, photos: Sequence[Photo], frame: Frame, theme: Theme) -> list[Box]:
        """Draw the frames and return the boxes that they take."""
        self.clear()
        return [self._draw(sign, theme) for sign in photo_signs(photos, frame)]

    def _draw(self, sign: PhotoSign, theme: Theme) -> Box:
        icon = self._texts.texture(ICONS["image-outline"], dp(SIDE_DP), font="icons")
        left, bottom = round(sign.box.left), round(sign.box.bottom)
        self.add(Color(*theme.ink))
        self.add(Rectangle(texture=icon, pos=(left, bottom), size=icon.size))
        if sign.count == 1:
            return sign.box
        count = self._texts.texture(f"{sign.count}", sp(TYPE_SP["small"]), bold=True)
        self.add(Rectangle(texture=count, pos=(left + icon.width + 1, bottom + dp(2)), size=count.size))
        return Box(sign.box.left, sign.box.bottom, sign.box.right + count.width + 1, sign.box.top)
