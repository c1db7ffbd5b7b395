"""The picture of a picture code: drawn with segno, read back with zxing-cpp where that is installed.

segno is pure Python and goes wherever Leadline goes; zxing-cpp is compiled, so reading a photo is for a desk
(`pip install 'leadline[codes]'`). A QR code (ISO/IEC 18004) of level L: it is read from a whole screen, not
from a torn label, and every bit is wanted for samples.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Final

from logbook_app.dive.problems import READ_CODES, RefusedFile, RefusedRecord
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.files.picture_code import MARK, left_out, picture_code
from logbook_app.files.whole_file import write_whole
from logbook_app.language import _

PICTURE_STARTS: Final = (b"\x89PNG\r\n", b"\xff\xd8\xff")
"""What a PNG and a JPEG begin with."""

CODE_PHOTO_ENDINGS: Final = (".png", ".jpg", ".jpeg")

QUIET_ZONE: Final = 4  # modules of white all round, ISO/IEC 18004
MOST_VERSION: Final = 30  # larger ones are hard on a camera; common practice, no source
_SCALE_PX: Final = 8
_MOST_PIXELS: Final = 100_000_000


@dataclass(frozen=True, slots=True, eq=False)
class HandedOver:
    """A dive as a picture code.

    diver      whose dive the code says it is
    version    of the QR code, 1 to 40: how large it is
    rows       its modules with the quiet zone, from the top, True for dark
    left_out   what the dive has that the code does not carry, in words
    """

    diver: str
    version: int
    rows: tuple[tuple[bool, ...], ...]
    left_out: tuple[str, ...]
    _code: Any

    @property
    def words(self) -> list[str]:
        """What the code carries, and what it does not."""
        carried = _(
            "Depths to 0.1 m and times to the second, gases and pressures, the place and the name {name}."
        )
        said = [carried.format(name=self.diver)]
        if self.left_out:
            said.append(_("Not in the code: {what}.").format(what=", ".join(self.left_out)))
        return said

    def write_png(self, path: Path) -> None:
        """Write the picture. Raises LogbookError where that cannot be done; no half file is left."""
        written = io.BytesIO()
        self._code.save(written, kind="png", scale=_SCALE_PX, border=QUIET_ZONE)
        write_whole(path, written.getvalue())


def handed_over(dive: Dive, profile: Profile | None, diver: str) -> HandedOver:
    """Return a dive as a picture code; see `picture_code` for what is refused.

    Raises RefusedRecord also where the samples are more than a code holds.
    """
    import segno

    text = picture_code(dive, profile, diver)
    too_large = _("The samples of this dive are more than a picture code holds; hand it over as a file.")
    try:
        code = segno.make_qr(text, error="l", boost_error=False)
    except segno.DataOverflowError as error:
        raise RefusedRecord(too_large) from error
    if int(code.version) > MOST_VERSION:
        raise RefusedRecord(too_large)
    rows = tuple(tuple(bool(module) for module in row) for row in code.matrix_iter(border=QUIET_ZONE))
    return HandedOver(diver, int(code.version), rows, tuple(left_out(dive, profile)) if profile else (), code)


def can_read_codes() -> bool:
    """Return whether a photo of a picture code can be read here."""
    return find_spec("zxingcpp") is not None


def read_code(path: Path, name: str) -> str:
    """Return the letters of the picture code on a photo; of several the one that holds a dive.

    Raises RefusedFile, in one sentence, where there is none or nothing that could read it.
    """
    try:
        import zxingcpp
    except ImportError as error:
        raise RefusedFile(
            _(
                "{name} is a photo, and nothing on this device reads picture codes; take the dive as a file."
            ).format(name=name),
            READ_CODES,
        ) from error
    found = [each.text for each in zxingcpp.read_barcodes(_opened(path, name))]
    if not found:
        raise RefusedFile(
            _(
                "{name} shows no picture code that can be read; take the photo straight on, and closer."
            ).format(name=name)
        )
    return next((text for text in found if text.startswith(MARK)), found[0])


def _opened(path: Path, name: str) -> Any:
    from PIL import Image

    try:
        with Image.open(path) as image:
            if image.width * image.height > _MOST_PIXELS:
                raise RefusedFile(_("{name} has too many pixels; make it smaller.").format(name=name))
            return image.convert("L")
    except RefusedFile:
        raise
    except Exception as error:  # a damaged file breaks Pillow's readers in ways of their own
        raise RefusedFile(_("{name} is no picture that can be read.").format(name=name)) from error
