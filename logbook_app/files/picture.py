"""A picture's file, looked into: what is in it, when the camera took it, and a small picture of it.

Pillow reads it; it has a recipe for phones, and is loaded when the first picture is added.
"""

from __future__ import annotations

import io
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from logbook_app.dive.problems import RefusedFile
from logbook_app.language import _

PICTURE_ENDINGS: Final = (".jpg", ".jpeg", ".png", ".webp", ".tif", ".tiff", ".bmp", ".gif")
LARGEST_MB: Final = 30
_MOST_PIXELS: Final = 200_000_000
_SMALL_PX: Final = 360
_EXIF_IFD, _TAKEN, _TAKEN_OFFSET, _CHANGED = 0x8769, 0x9003, 0x9011, 0x0132  # tags of EXIF 2.31


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """A picture that was read.

    taken_local   by the camera's own clock, ISO 8601 without an offset; empty where the file is silent
    """

    sha256: str
    file_name: str
    data: bytes
    thumbnail: bytes
    taken_local: str


def read_picture(path: Path, utc_offset_min: int) -> Picture:
    """Return the picture in a file.

    utc_offset_min   of the dive: a camera that states its offset is brought to the clock on the dock [min]

    Raises RefusedFile, in one sentence, for what is too large or no picture.
    """
    try:
        size = path.stat().st_size
        if size > LARGEST_MB * 1_000_000:
            raise RefusedFile(
                _("{name} has {size} MB, and up to {most} MB are kept; make it smaller.").format(
                    name=path.name, size=round(size / 1e6), most=LARGEST_MB
                )
            )
        data = path.read_bytes()
    except OSError as error:
        raise RefusedFile(
            _("{name} cannot be read: {reason}.").format(name=path.name, reason=error.strerror or error)
        ) from error
    thumbnail, taken_local = _looked_into(data, path.name, utc_offset_min)
    return Picture(sha256(data).hexdigest(), path.name, data, thumbnail, taken_local)


def thumbnail_of(data: bytes) -> bytes:
    """Return the small picture of a picture's bytes, nothing where they are none."""
    try:
        return _looked_into(data, "", 0)[0]
    except RefusedFile:
        return b""


def _looked_into(data: bytes, name: str, utc_offset_min: int) -> tuple[bytes, str]:
    from PIL import Image, ImageOps

    try:
        with Image.open(io.BytesIO(data)) as image:
            if image.width * image.height > _MOST_PIXELS:
                raise RefusedFile(
                    _("{name} has too many pixels to be shown; make it smaller.").format(name=name)
                )
            taken_local = _taken(image, utc_offset_min)
            image.draft("RGB", (2 * _SMALL_PX, 2 * _SMALL_PX))
            small = ImageOps.exif_transpose(image).convert("RGB")
            small.thumbnail((_SMALL_PX, _SMALL_PX))
            kept = io.BytesIO()
            small.save(kept, "JPEG", quality=82)
    except RefusedFile:
        raise
    except Exception as error:  # a damaged file breaks Pillow's readers in ways of their own
        raise RefusedFile(
            _("{name} is no picture that can be read; use JPEG, PNG, WebP, TIFF, BMP or GIF.").format(
                name=name
            )
        ) from error
    return kept.getvalue(), taken_local


def _taken(image: Any, utc_offset_min: int) -> str:
    exif = image.getexif()
    told = exif.get_ifd(_EXIF_IFD)
    text = str(told.get(_TAKEN) or exif.get(_CHANGED) or "").strip("\0 ")
    taken = None
    with suppress(ValueError):
        taken = datetime.strptime(text, "%Y:%m:%d %H:%M:%S")
    if taken is None:
        return ""
    with suppress(ValueError):
        offset = str(told.get(_TAKEN_OFFSET) or "").strip("\0 ")
        aware = datetime.fromisoformat(f"{taken.isoformat()}{offset}")
        if aware.tzinfo is not None:
            taken = aware.astimezone(timezone(timedelta(minutes=utc_offset_min))).replace(tzinfo=None)
    return taken.isoformat()
