"""Letters of one size side by side in one texture, so that words cost no typesetting at all.

A card whose figures change with every frame would set a new texture for every new figure. Here each
letter is set once; words are four corners a letter in one mesh. Kerning is left out: the figures
of this typeface are equally wide, and they are most of what is said this way.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from kivy.core.text import Label as CoreLabel
from kivy.graphics import InstructionGroup, Mesh
from numpy.typing import NDArray

USUAL_LETTERS = "0123456789:.,·°%/-+abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ₂≤ "
WIDEST_PX = 2000  # some graphics processors stop at 2,048
_TWO_TRIANGLES = np.array([0, 1, 2, 2, 3, 0], dtype=np.uint16)
_CODES = 0x10000  # letters beyond the first plane are set as a sign that stands for them
_UNKNOWN_LETTER = "\ufffd"

Line = tuple[str, float, float]
"""Words, and the place of their lower left corner [px]."""


class TypeCase:
    """The letters of one size and weight. It grows by the letters that it is asked for."""

    def __init__(self, size_px: float, *, bold: bool = False) -> None:
        self._kind = {"font_size": size_px, "bold": bold, "font_name": "ui"}
        self._set(USUAL_LETTERS + _UNKNOWN_LETTER)

    def places(self, words: str) -> NDArray[np.intp]:
        """Return where in the case each letter lies."""
        codes = np.frombuffer(words.encode("utf-32-le", "replace"), dtype="<u4")
        places = self._place_of.take(codes, mode="clip")
        if places.size and places.min() < 0:
            new = "".join(dict.fromkeys(letter for letter in words if ord(letter) < _CODES))
            self._set("".join(dict.fromkeys(self._letters + new)))
            places = self._place_of.take(codes, mode="clip")
        return places

    def _set(self, letters: str) -> None:
        """Set all letters once more, apart from one another, and note where each stands."""
        apart = "  "
        label = CoreLabel(text=apart.join(letters), **self._kind)
        if len(letters) > 2 * len(USUAL_LETTERS) and label.get_extents(label.text)[0] > WIDEST_PX:
            letters = letters[: len(USUAL_LETTERS) + 1] + letters[-len(USUAL_LETTERS) :]
            label.text = apart.join(letters)
        label.refresh()
        self._letters, self._label, self.texture = letters, label, label.texture
        self.height = float(label.texture.height)
        self.advance = np.array([label.get_extents(letter)[0] for letter in letters], dtype=np.float64)
        starts = [label.get_extents(label.text[: 3 * place])[0] for place in range(len(letters))]
        self.quads = self._quads(np.array(starts, dtype=np.float64))
        self._place_of = np.full(_CODES, -1, dtype=np.intp)
        self._place_of[[ord(letter) for letter in letters]] = np.arange(len(letters))
        self._place_of[-1] = letters.index(_UNKNOWN_LETTER)

    def _quads(self, starts: NDArray[np.float64]) -> NDArray[np.float32]:
        """Return x, y, u, v of the corners of each letter, the first one at 0, 0."""
        u0, v0, u1, _, _, v1, *_ = self.texture.tex_coords
        quads = np.zeros((len(starts), 4, 4), dtype=np.float32)
        quads[:, (1, 2), 0] = self.advance[:, None]
        quads[:, 2:, 1] = self.height
        quads[:, (0, 3), 2] = (u0 + (u1 - u0) * starts / self.texture.width)[:, None]
        quads[:, (1, 2), 2] = (u0 + (u1 - u0) * (starts + self.advance) / self.texture.width)[:, None]
        quads[:, :, 3] = (v0, v0, v1, v1)
        return quads


class SetLines(InstructionGroup):
    """Lines of words from one case, drawn at once: `compose` them, then `place` them.

    A `Color` before it says in which colour.
    """

    def __init__(self, case: TypeCase) -> None:
        super().__init__()
        self._case = case
        self._most = 0
        self._lengths: list[int] = []
        self._quads = np.empty((0, 4, 4), dtype=np.float32)
        self._before = self._starts = np.empty(0)
        self._mesh: Any = Mesh(mode="triangles")
        self.add(self._mesh)

    def compose(self, lines: Sequence[str]) -> list[float]:
        """Take these lines instead of any others, and return how wide each is [px]."""
        places = self._case.places("".join(lines))
        after = self._case.advance[places].cumsum()
        self._before = np.concatenate(([0.0], after))
        self._quads, self._lengths = self._case.quads[places], [len(line) for line in lines]
        ends = np.cumsum(self._lengths) if lines else np.empty(0, dtype=np.intp)
        self._starts = self._before[ends - self._lengths] if lines else np.empty(0)
        return list((self._before[ends] - self._starts).tolist()) if lines else []

    def place(self, corners: Sequence[tuple[float, float]]) -> None:
        """Draw the composed lines with their lower left corners here [px]."""
        quads = self._quads
        if len(quads):
            corner = np.array(corners)
            quads[:, :, 0] += (self._before[:-1] + np.repeat(corner[:, 0] - self._starts, self._lengths))[
                :, None
            ]
            quads[:, :, 1] += np.repeat(corner[:, 1], self._lengths)[:, None]
        self._mesh.texture = self._case.texture
        if len(quads) > self._most:
            self._most = len(quads)
            first = np.arange(self._most, dtype=np.uint16)[:, None] * 4
            self._mesh.indices = (first + _TWO_TRIANGLES).astype(np.uint16).ravel()
        padded = np.zeros((self._most, 4, 4), dtype=np.float32)
        padded[: len(quads)] = quads
        self._mesh.vertices = padded.ravel() if self._most else []
