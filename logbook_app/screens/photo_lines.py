"""The photos of a dive as its page shows them: small pictures, when they were taken, marks on the chart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from logbook_app.analysis.field_words import camera_words
from logbook_app.analysis.spoken_units import spoken_time
from logbook_app.dive.photo import Photo
from logbook_app.dive.problems import Problem
from logbook_app.dive.record import Dive
from logbook_app.language import _, ngettext

Mark = tuple[float, str, str]


@dataclass(frozen=True, slots=True)
class PhotoLine:
    """One photo: its name, what is said of it, and a small picture (JPEG), empty where there is none."""

    sha256: str
    caption: str
    thumbnail: bytes


@dataclass(frozen=True, slots=True)
class PhotoLines:
    """All photos of a dive, those the chart marks, and how far the camera's clock was ahead.

    has_times   True where a camera wrote a time, so that its clock can be corrected
    """

    lines: tuple[PhotoLine, ...] = ()
    marks: tuple[Mark, ...] = ()
    camera_ahead_s: int = 0
    camera: str = ""
    has_times: bool = False


def photo_lines(dive: Dive, thumbnails: Mapping[str, bytes]) -> PhotoLines:
    """Return the photos of a dive.

    thumbnails   small pictures of those that are in the logbook, by name
    """
    times = {photo.sha256: photo.time_s(dive.began_local, dive.camera_ahead_s) for photo in dive.photos}
    length_s = dive.duration_min * 60
    marks = [
        (time_s, photo.sha256, photo.file_name)
        for photo in dive.photos
        if (time_s := times[photo.sha256]) is not None and 0 <= time_s <= length_s
    ]
    return PhotoLines(
        tuple(
            PhotoLine(
                photo.sha256,
                _caption(photo, times[photo.sha256], length_s),
                thumbnails.get(photo.sha256, b""),
            )
            for photo in dive.photos
        ),
        tuple(sorted(marks)),
        dive.camera_ahead_s,
        camera_words(dive.camera_ahead_s),
        any(time_s is not None for time_s in times.values()),
    )


def _caption(photo: Photo, time_s: float | None, length_s: float) -> str:
    if time_s is None:
        return photo.file_name or _("no time")
    if time_s < 0:
        return _("{time} before the dive").format(time=spoken_time(-time_s))
    if time_s > length_s:
        return _("{time} after the dive").format(time=spoken_time(time_s - length_s))
    return _("at {time}").format(time=spoken_time(time_s))


def added_words(count: int, problems: Sequence[Problem]) -> str:
    """Return how many photos were added, and why others were not.

    problems   one for each file that could not be added
    """
    told = []
    if count:
        told.append(
            ngettext("{count} photo is added.", "{count} photos are added.", count).format(count=count)
        )
    elif not problems:
        told.append(_("These photos are there already."))
    told += [problem.what for problem in problems[:1]]
    if (others := len(problems) - 1) > 0:
        told.append(
            ngettext(
                "{count} more file could not be added.", "{count} more files could not be added.", others
            ).format(count=others)
        )
    return " ".join(told)
