"""Another recording of the same dive, to be laid over the one that leads.

Each stands where its own clock puts it; how far the clocks are apart is said, and how far the shapes
are. Nothing is shifted to make two recordings agree.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from logbook_app.analysis.clock_alignment import Likeness, aligned
from logbook_app.analysis.sampled import Sampled, sampled
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.language import _
from logbook_app.physics.units import FloatArray

if TYPE_CHECKING:
    from logbook_app.dive.profile import Profile
    from logbook_app.dive.record import Dive, Recording

SHORT = 18  # letters
ALIKE_M = 0.05  # less is a difference of rounding


@dataclass(frozen=True, eq=False, repr=False)
class OtherRecording:
    """One recording that does not lead.

    time_s, depth_m   its line, on the clock of the leading recording, (n,) each
    words             what it is called
    clock_words       a sentence: how far its clock is apart, and how far its shape
    """

    fingerprint: str
    words: str
    time_s: FloatArray
    depth_m: FloatArray
    clock_words: str
    temperature: Sampled | None = None

    @property
    def short(self) -> str:
        """What it is called where there is little room."""
        return self.words if len(self.words) <= SHORT else self.words[: SHORT - 1].rstrip() + "…"

    @property
    def max_depth_m(self) -> float:
        """The deepest sample [m]."""
        return float(self.depth_m.max())

    @property
    def begins_s(self) -> float:
        """The first instant of its line [s]."""
        return float(self.time_s[0])

    @property
    def end_s(self) -> float:
        """The last instant of its line [s]."""
        return float(self.time_s[-1])

    def depth_at(self, time_s: float) -> float | None:
        """Return its depth at an instant, None before and after it recorded [m]."""
        if not self.time_s[0] <= time_s <= self.time_s[-1]:
            return None
        return float(np.interp(time_s, self.time_s, self.depth_m))


def other_recordings(
    dive: Dive, leading: Profile | None, others: Sequence[tuple[Recording, str, Profile]]
) -> tuple[OtherRecording, ...]:
    """Return the recordings of a dive that can be laid over the leading one.

    others   each with what it is called and its samples; one without an account has no clock, and is laid
             by its shape
    """
    if leading is None:
        return ()
    return tuple(_other(dive, leading, *each) for each in others)


def beside_words(other: OtherRecording, time_s: float, depth_m: float, units: SpokenUnits) -> list[str]:
    """Return what another recording says of an instant, and how that differs from the leading one's depth.

    depth_m   of the leading recording [m]
    """
    theirs_m = other.depth_at(time_s)
    if theirs_m is None:
        return [_("{name}: nothing recorded").format(name=other.short)]
    said = _("{name}: {depth}").format(name=other.short, depth=units.depth(theirs_m))
    if other.temperature is not None:
        said += f" · {units.temperature(other.temperature.nearest(time_s))}"
    return [said, _apart_words(theirs_m - depth_m, units)]


def _apart_words(apart_m: float, units: SpokenUnits) -> str:
    if abs(apart_m) < ALIKE_M:
        return _("as deep as this one")
    words = _("{apart} deeper than this one") if apart_m > 0 else _("{apart} shallower than this one")
    return words.format(apart=units.depth(abs(apart_m)))


def _other(
    dive: Dive, leading: Profile, recording: Recording, words: str, profile: Profile
) -> OtherRecording:
    alignment = aligned(leading, profile)
    by_shape_s = alignment.lag_s if alignment and alignment.likeness is not Likeness.OTHER else None
    account = recording.account
    by_clock_s = (account.began_at - dive.began_at).total_seconds() if account else None
    shift_s = by_clock_s if by_clock_s is not None else by_shape_s or 0.0
    temperature = sampled(profile.time_s + shift_s, profile.channel("temperature_c"))
    return OtherRecording(
        fingerprint=recording.fingerprint,
        words=words,
        time_s=profile.time_s + shift_s,
        depth_m=profile.depth_m,
        clock_words=_clock_words(words, by_clock_s, by_shape_s),
        temperature=temperature,
    )


def _clock_words(name: str, by_clock_s: float | None, by_shape_s: float | None) -> str:
    if by_clock_s is None:
        said = _("{name} has no clock of its own here, and is laid by its shape.").format(name=name)
        return said if by_shape_s is not None else _("{name} has no clock of its own here.").format(name=name)
    said = _("{name} stands where its own clock puts it: it began {apart}.").format(
        name=name, apart=_apart(by_clock_s)
    )
    if by_shape_s is None:
        return said
    drift = _("By its shape it began {apart}.").format(apart=_apart(by_shape_s))
    return f"{said} {drift}"


def _apart(seconds: float) -> str:
    """Return a distance between two clocks: `40 s later`, `1 h 02 min earlier`, `at the same second`."""
    whole = round(abs(seconds))
    if whole == 0:
        return _("at the same second")
    if whole < 120:
        length = _("{seconds} s").format(seconds=whole)
    elif whole < 3600:
        length = _("{minutes} min {seconds} s").format(minutes=whole // 60, seconds=f"{whole % 60:02d}")
    else:
        length = _("{hours} h {minutes} min").format(hours=whole // 3600, minutes=f"{whole % 3600 // 60:02d}")
    return (
        _("{length} later").format(length=length)
        if seconds > 0
        else _("{length} earlier").format(length=length)
    )
