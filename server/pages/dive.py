"""One dive that the viewer may see: its section, its figures, who signed it."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from logbook_app.analysis.physics_sentences import gas_words
from logbook_app.analysis.spoken_times import clock_time, full_date
from logbook_app.analysis.spoken_units import spoken_duration
from logbook_app.language import _, ngettext
from logbook_app.sync.changes import EVERYBODY
from logbook_app.sync.sign_offs import BUDDY, SIGN_OFF
from server.pages.roster import UNITS
from server.pages.section_svg import DiverLine, group_section
from server.pages.sign_words import signature_lines
from server.pages.signing import dive_digest
from server.pages.visit import NotHere, Shown, Told, Visit
from server.reading import SeenDive, SeenSignOff


def show_dive(visit: Visit) -> Told:
    """Show a dive."""
    place = visit.asked.place
    seen = visit.reading.dive(f"{place['owner']}/{place['name']}")
    if seen is None or visit.member_named(seen.owner) is None:
        raise NotHere
    own = seen.owner == visit.member.id
    signed, buddies = (_on_it(visit, seen, kind) for kind in (SIGN_OFF, BUDDY))
    values = {
        "key": seen.key,
        "owner": {"id": seen.owner, "name": visit.name_of(seen.owner)},
        "day": full_date(seen.dive.began_local),
        "facts": facts_of(seen),
        "section": section_of(visit, [seen]),
        "signed": signature_lines(visit, signed),
        "confirmed": signature_lines(visit, buddies),
        "may_confirm": not own and all(each.signer != visit.member.id for each in buddies),
        "digest": dive_digest(seen.record),
        "may_sign": visit.member.may_sign("") and not own,
        "own": own,
        "signers": [each for each in visit.members() if each.signs and each.id != seen.owner],
        "seen_by": seen_by(visit, seen.key) if own else "",
    }
    return Shown("dive.html", values)


def _on_it(visit: Visit, seen: SeenDive, kind: str) -> list[SeenSignOff]:
    keys = [each.key for each in visit.register.for_whom(kind, seen.owner)]
    return [each for each in visit.reading.sign_offs(keys) if each.sign_off.record == seen.key]


def facts_of(seen: SeenDive) -> list[tuple[str, str]]:
    """Return what a shown dive says, as label and words; what it does not say is left out."""
    dive, shown = seen.dive, seen.shown
    told: list[tuple[str, str]] = [
        (_("Began"), clock_time(dive.began_local)),
        (_("Max depth"), UNITS.depth(dive.max_depth_m)),
        (_("Dive time"), spoken_duration(dive.duration_min)),
        (_("Site"), ", ".join(filter(None, (shown.site, shown.region)))),
        (_("Gas"), ", ".join(dict.fromkeys(gas_words(each.gas) for each in shown.cylinders if each.gas))),
        (_("Coldest"), _temperature(shown.lowest_temperature_c)),
        (_("Buddies"), ", ".join(shown.buddies)),
        (_("Supervised"), _("yes") if shown.supervised else ""),
    ]
    return [(label, words) for label, words in told if words]


def section_of(visit: Visit, dives: list[SeenDive]) -> Markup:
    """Return the profiles of dives on one chart section; empty where none of them shows its samples."""
    profiles = [(each, visit.reading.profile(each)) for each in dives]
    lines = [
        DiverLine(visit.name_of(each.owner), each.dive.began_local, profile.time_s, profile.depth_m)
        for each, profile in profiles
        if profile is not None and len(profile)
    ]
    if not lines:
        return Markup()
    names = ", ".join(dict.fromkeys(line.name for line in lines))
    return group_section(lines, _("Depth over time: {names}").format(names=names))


def seen_by(visit: Visit, key: str) -> str:
    """Say who else sees a record of the viewer's own."""
    who = visit.reading.audience(key)
    if EVERYBODY in who:
        return _("every member of the club")
    if not who:
        return _("nobody else")
    names = ", ".join(sorted(visit.name_of(each) for each in who))
    return ngettext("{names} alone", "{names}", len(who)).format(names=names)


def _temperature(celsius: Any) -> str:
    return "" if celsius is None else UNITS.temperature(celsius)
