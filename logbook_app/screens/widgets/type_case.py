"""Letters of one size side by side in one texture, so that words cost no typesetting at all.

A card whose figures change with every frame would set a new texture for every new figure. Here each
letter is set once, in both weights; words are four corners a letter in one mesh. Kerning is left out: the
figures of this typeface are equally wide, and they are most of what is said this way.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate, pairwise
from typing import Any

import numpy as np
from kivy.core.text import Label as CoreLabel
from kivy.graphics import ClearBuffers, ClearColor, Color, Fbo, InstructionGroup, Mesh, Rectangle
from numpy.typing import NDArray

USUAL_LETTERS = "0123456789:.,·°%/-+abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ₂≤ "
WIDEST_PX = 2000  # some graphics processors stop at 2,048
_APART = "  "
_CODES = 0x10000  # letters beyond the first plane are set as a sign that stands for them
_UNKNOWN_LETTER = "\ufffd"

Line = tuple[str, float, float]
"""Words, and the place of their lower left corner [px]."""


class TypeCase:
    """The letters of one size, regular and bold. It grows by the letters that it is asked for."""

    def __init__(self, size_px: float) -> None:
        self._size_px = size_px
        self._set(USUAL_LETTERS + _UNKNOWN_LETTER)

    def places(self, words: str, bold: int = 0) -> NDArray[np.intp]:
        """Return where in the case each letter lies; so many of the first are bold."""
        codes = np.frombuffer(words.encode("utf-32-le", "replace"), dtype="<u4")
        places = self._place_of.take(codes, mode="clip")
        if places.size and places.min() < 0:
            new = "".join(dict.fromkeys(letter for letter in words if ord(letter) < _CODES))
            self._set("".join(dict.fromkeys(self._letters + new)))
            places = self._place_of.take(codes, mode="clip")
        places[:bold] += len(self._letters)
        return places

    def width(self, words: str) -> float:
        """Return how wide words are [px]."""
        return float(self.advance[self.places(words)].sum())

    def _set(self, letters: str) -> None:
        """Set all letters once more, apart from one another, and note where each stands."""
        if len(letters) > 2 * len(USUAL_LETTERS) and self._label(letters, bold=True).width > WIDEST_PX:
            letters = letters[: len(USUAL_LETTERS) + 1] + letters[-len(USUAL_LETTERS) :]
        self._letters = letters
        self._labels = [self._label(letters, bold=bold) for bold in (False, True)]
        self.height = float(self._labels[0].height)
        self.advance = np.array(
            [label.get_extents(letter)[0] for label in self._labels for letter in letters], dtype=np.float64
        )
        self._fbo = _one_above_the_other(self._labels)
        self.texture = self._fbo.texture
        self.quads = self._quads()
        self._place_of = np.full(_CODES, -1, dtype=np.intp)
        self._place_of[[ord(letter) for letter in letters]] = np.arange(len(letters))
        self._place_of[-1] = letters.index(_UNKNOWN_LETTER)

    def _label(self, letters: str, *, bold: bool) -> CoreLabel:
        label = CoreLabel(text=_APART.join(letters), font_size=self._size_px, bold=bold, font_name="ui")
        label.refresh()
        return label

    def _quads(self) -> NDArray[np.float32]:
        """Return x, y, u, v of the corners of each letter, the first one at 0, 0; regular, then bold."""
        step, count = 1 + len(_APART), len(self._letters)
        starts = np.array(
            [label.get_extents(label.text[: step * at])[0] for label in self._labels for at in range(count)],
            dtype=np.float64,
        )
        across = self.texture.tex_coords[2] / self.texture.width
        up = self.texture.tex_coords[5] / self.texture.height
        low = np.repeat((0.0, self.height), count)
        quads = np.zeros((2 * count, 4, 4), dtype=np.float32)
        quads[:, (1, 2), 0] = self.advance[:, None]
        quads[:, 2:, 1] = self.height
        quads[:, (0, 3), 2] = starts[:, None] * across
        quads[:, (1, 2), 2] = (starts + self.advance)[:, None] * across
        quads[:, :2, 3] = low[:, None] * up
        quads[:, 2:, 3] = (low + self.height)[:, None] * up
        return quads


class SetLines(InstructionGroup):
    """Lines of words from one case, drawn at once: `compose` them, then `place` them.

    A `Color` before it says in which colour.
    """

    def __init__(self, case: TypeCase) -> None:
        super().__init__()
        self._case = case
        self._lengths: list[int] = []
        self._starts: list[float] = []
        self._places = np.empty(0, dtype=np.intp)
        self._before = np.empty(0)
        self._padded = np.zeros((0, 4, 4), dtype=np.float32)
        self._mesh: Any = Mesh(mode="triangles")
        self.add(self._mesh)

    def compose(self, lines: Sequence[str], *, lead: bool = False) -> list[float]:
        """Take these lines instead of any others, and return how wide each is [px].

        lead   True where the first line is bold
        """
        self._lengths = [len(line) for line in lines]
        bold = self._lengths[0] if lead and lines else 0
        self._places = self._case.places("".join(lines), bold)
        advance = self._case.advance[self._places]
        after = advance.cumsum()
        self._before = after - advance
        ends = [0.0, *(float(after[end - 1]) if end else 0.0 for end in accumulate(self._lengths))]
        self._starts = ends[:-1]
        return [end - start for start, end in pairwise(ends)]

    def place(self, corners: Sequence[tuple[float, float]]) -> None:
        """Draw the composed lines with their lower left corners here [px]."""
        count = len(self._places)
        if count > len(self._padded):
            self._padded = np.zeros((count, 4, 4), dtype=np.float32)
            first = np.arange(count, dtype=np.uint16)[:, None] * 4
            self._mesh.indices = (first + np.array([0, 1, 2, 2, 3, 0], dtype=np.uint16)).ravel()
        if count:
            moved = [(x - start, y) for (x, y), start in zip(corners, self._starts, strict=True)]
            corner = np.repeat(np.array(moved), self._lengths, axis=0)
            corner[:, 0] += self._before
            self._padded[:count] = self._case.quads[self._places]
            self._padded[:count, :, :2] += corner[:, None]
        self._padded[count:] = 0.0
        self._mesh.texture = self._case.texture
        self._mesh.vertices = self._padded.ravel() if len(self._padded) else []


def _one_above_the_other(labels: Sequence[CoreLabel]) -> Fbo:
    """Return a texture with the first label at the bottom and the next one above it."""
    width, heights = max(label.width for label in labels), [label.height for label in labels]
    fbo = Fbo(size=(width, sum(heights)))
    for instruction in (ClearColor(1, 1, 1, 0), ClearBuffers(), Color(1, 1, 1, 1)):
        fbo.add(instruction)
    low = 0
    for label, height in zip(labels, heights, strict=True):
        fbo.add(Rectangle(texture=label.texture, pos=(0, low), size=label.texture.size))
        low += height
    fbo.draw()
    return fbo
