"""A picture taken on a dive: the record names it by what is in it, and says when the camera took it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from logbook_app.dive.problems import RefusedRecord
from logbook_app.language import _

MOST_AHEAD_S = 48 * 3600


@dataclass(frozen=True, slots=True)
class Photo:
    """One picture of a dive.

    sha256       names the stored picture
    file_name    what its file was called
    taken_local  when it was taken by the camera's own clock, ISO 8601 without an offset; empty where
                 the file does not say
    """

    sha256: str
    file_name: str = ""
    taken_local: str = ""

    def __post_init__(self) -> None:
        if self.taken_local and _read(self.taken_local) is None:
            raise RefusedRecord(
                _("{text} is no time that a camera could have written; leave it out.").format(
                    text=self.taken_local[:40]
                )
            )

    def time_s(self, began_local: datetime, camera_ahead_s: int) -> float | None:
        """Return when it was taken, from the start of the dive [s]; None where that is not known.

        began_local      start by the clock on the dock
        camera_ahead_s   how far the camera's clock was ahead of that clock [s]
        """
        taken = _read(self.taken_local)
        if taken is None:
            return None
        return (taken - began_local.replace(tzinfo=None)).total_seconds() - camera_ahead_s


def photos_to_plain(photos: tuple[Photo, ...]) -> list[dict[str, str]]:
    """Return photos as JSON has them."""
    return [asdict(photo) for photo in photos]


def photos_from_plain(told: list[dict[str, Any]]) -> tuple[Photo, ...]:
    """Return the photos that `photos_to_plain` wrote."""
    return tuple(Photo(**each) for each in told)


def _read(text: str) -> datetime | None:
    try:
        taken = datetime.fromisoformat(text)
    except ValueError:
        return None
    return taken if taken.tzinfo is None else None
