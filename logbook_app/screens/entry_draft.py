"""A half-made hand entry: what is filled in, what is the matter with it, what it would save.

The draft outlives the room and the program: `to_text` and `from_text` carry it through the
logbook's settings. It keeps the record's units, so that it means the same after a change of
units. No Kivy and no clock here; the time of writing is handed in.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass, fields, replace
from datetime import date, datetime, time, timedelta
from typing import Any

from logbook_app.analysis.physics_sentences import gas_words
from logbook_app.analysis.spoken_times import full_date
from logbook_app.dive.hand_entry import HandEntry
from logbook_app.dive.kit import UsedKit
from logbook_app.dive.record import Site
from logbook_app.language import _, later
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.screens.entry_units import Question

NUMBERS = (
    "max_depth_m",
    "duration_min",
    "volume_l",
    "start_bar",
    "end_bar",
    "weights_kg",
    "water_temperature_c",
)
NEEDED = ("max_depth_m", "duration_min")
NEEDED_WORDS = {
    "duration_min": later("dive time"),
    "max_depth_m": later("greatest depth"),
    "gas": later("gas"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryDraft:
    """What is written so far, in the record's units; None or empty where nothing is.

    oxygen, helium   shares of the gas; None while the diver has not chosen, and the gas of the
                     last dive is offered
    began_on         day of the dive; None is the day of writing
    began_time       by the clock on the dock; None counts back from the time of writing, so that
                     the dive ends now
    """

    max_depth_m: float | None = None
    duration_min: float | None = None
    oxygen: float | None = None
    helium: float = 0.0
    began_on: date | None = None
    began_time: time | None = None
    site: str = ""
    buddies: tuple[str, ...] = ()
    volume_l: float | None = None
    start_bar: float | None = None
    end_bar: float | None = None
    weights_kg: float | None = None
    water_temperature_c: float | None = None
    notes: str = ""
    kit: tuple[UsedKit, ...] = ()

    @property
    def empty(self) -> bool:
        """True where nothing is written yet."""
        return self == EntryDraft()

    @property
    def gas(self) -> BreathingGas:
        """The gas chosen, or air."""
        return AIR if self.oxygen is None else BreathingGas(self.oxygen, self.helium)

    def with_gas(self, gas: BreathingGas) -> EntryDraft:
        """Return the draft on another gas."""
        return replace(self, oxygen=gas.oxygen, helium=gas.helium)

    def to_text(self) -> str:
        """Return the draft as text that `from_text` reads; an empty draft is empty text."""
        if self.empty:
            return ""
        kept = {name: value for name, value in asdict(self).items() if value not in (None, "", ())}
        return json.dumps(kept, default=lambda value: value.isoformat(), ensure_ascii=False)

    @classmethod
    def from_text(cls, text: str) -> EntryDraft:
        """Return the draft in `text`. A draft that cannot be read is an empty one.

        A draft is not a record: losing one to a changed program costs a minute of typing, and a
        room that will not open costs more.
        """
        try:
            found = json.loads(text) if text else {}
            known = {field.name: found[field.name] for field in fields(cls) if field.name in found}
            draft = cls(**(known | _read_typed(known)))
            return draft if draft.gas else cls()
        except (ValueError, TypeError, AttributeError):
            return cls()


def began_local(draft: EntryDraft, now: datetime) -> datetime | None:
    """Return when the dive began by the clock on the dock, aware; None where that is not said.

    Without a time, today's dive ends now, to the minute. A dive of another day needs its time.
    """
    if draft.began_time is not None:
        return _at_local(datetime.combine(draft.began_on or now.date(), draft.began_time), now)
    if draft.began_on not in (None, now.date()):
        return None
    return now.replace(second=0, microsecond=0) - timedelta(minutes=draft.duration_min or 0)


def troubles(draft: EntryDraft, asked: dict[str, Question], now: datetime) -> dict[str, str]:
    """Return one calm sentence for each field that cannot be saved as it stands.

    A field that is needed and empty is not in trouble, only waiting: see `missing`.
    """
    found = {name: asked[name].asked.trouble(asked[name].text(getattr(draft, name))) for name in NUMBERS}
    found["start"] = _trouble_with_start(draft, now)
    if draft.start_bar is not None and draft.end_bar is not None and draft.end_bar > draft.start_bar:
        found["end_bar"] = _("The end pressure is above the start pressure. Check both.")
    return {name: sentence for name, sentence in found.items() if sentence}


def missing(draft: EntryDraft) -> tuple[str, ...]:
    """Return what is needed and still empty: names of fields, and `gas`."""
    numbers = tuple(name for name in NEEDED if getattr(draft, name) is None)
    return numbers if draft.oxygen is not None else (*numbers, "gas")


def what_will_be_saved(draft: EntryDraft, asked: dict[str, Question], now: datetime) -> str:
    """Return in words what saving would write, or what is still needed for it."""
    lacking = [_(NEEDED_WORDS[name]) for name in missing(draft)]
    if lacking:
        return _("Still needed: {lacking}.").format(lacking=", ".join(lacking))
    wrong = troubles(draft, asked, now)
    began = began_local(draft, now)
    if wrong or began is None:
        return _("Not ready to save. {sentence}").format(sentence=next(iter(wrong.values())))
    dive = _("{depth} for {duration} on {gas}").format(
        depth=asked["max_depth_m"].words(draft.max_depth_m or 0),
        duration=asked["duration_min"].words(draft.duration_min or 0),
        gas=gas_words(draft.gas),
    )
    return _(
        "{dive}, {ended}. No samples: the loading takes a square profile and the dive is marked an estimate."
    ).format(dive=dive, ended=_ended_words(began, draft.duration_min or 0, now))


def hand_entry(draft: EntryDraft, now: datetime, sites: Iterable[Site] = ()) -> HandEntry | None:
    """Return the entry to save, None where something needed is missing.

    sites   the places already known: a name that is one of them means that place
    """
    began = began_local(draft, now)
    if began is None or draft.max_depth_m is None or draft.duration_min is None:
        return None
    return HandEntry(
        began_local=began,
        duration_min=draft.duration_min,
        max_depth_m=draft.max_depth_m,
        gas=draft.gas,
        site=_site(draft.site, sites),
        buddies=draft.buddies,
        volume_l=draft.volume_l,
        start_bar=draft.start_bar,
        end_bar=draft.end_bar,
        weights_kg=draft.weights_kg,
        water_temperature_c=draft.water_temperature_c,
        notes=draft.notes.strip(),
        kit=draft.kit,
    )


def names_in(text: str) -> tuple[str, ...]:
    """Return the names written in one line, with commas between.

    >>> names_in("Imke R.,  Tom ")
    ('Imke R.', 'Tom')
    """
    return tuple(" ".join(name.split()) for name in text.split(",") if name.strip())


def _read_typed(known: dict[str, Any]) -> dict[str, Any]:
    read: dict[str, Any] = {name: float(known[name]) for name in NUMBERS if name in known}
    if "began_on" in known:
        read["began_on"] = date.fromisoformat(known["began_on"])
    if "began_time" in known:
        read["began_time"] = time.fromisoformat(known["began_time"])
    if "buddies" in known:
        read["buddies"] = tuple(known["buddies"])
    if "kit" in known:
        read["kit"] = tuple(UsedKit(str(each["id"]), str(each["name"])) for each in known["kit"])
    return read


def _at_local(by_the_clock: datetime, now: datetime) -> datetime:
    """Give a time by the clock its offset: the one in force on that day, where the system knows.

    A clock that was handed in with another offset than the system's keeps its own.
    """
    if now.astimezone().utcoffset() == now.utcoffset():
        return by_the_clock.astimezone()
    return by_the_clock.replace(tzinfo=now.tzinfo)


def _trouble_with_start(draft: EntryDraft, now: datetime) -> str:
    began = began_local(draft, now)
    if began is None:
        return _("Give the time it began: a dive of another day needs it.")
    ended = began + timedelta(minutes=draft.duration_min or 0)
    if ended <= now + timedelta(minutes=1):
        return ""
    return _("It would end at {ended}, and it is {now} now. Check the day and the time.").format(
        ended=f"{ended:%H:%M}", now=f"{now:%H:%M}"
    )


def _ended_words(began: datetime, duration_min: float, now: datetime) -> str:
    ended = began + timedelta(minutes=duration_min)
    days_ago = (now.date() - ended.date()).days
    if days_ago == 0:
        return _("ended {ended}").format(ended=f"{ended:%H:%M}")
    if days_ago == 1:
        return _("ended yesterday at {ended}").format(ended=f"{ended:%H:%M}")
    return _("ended {full_date} at {ended}").format(full_date=full_date(ended), ended=f"{ended:%H:%M}")


def _site(name: str, sites: Iterable[Site]) -> Site | None:
    if not name.strip():
        return None
    meant = Site.named(" ".join(name.split()))
    return next((site for site in sites if site.id == meant.id or site.name == meant.name), meant)
