"""An invented club with dives, for tests of pages and for looking at them.

python -m tests.server.seeded_club FOLDER     makes one; serve it: leadline serve --home FOLDER
"""

from __future__ import annotations

import sys
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.profile import Profile, profile_digest, profile_to_bytes
from logbook_app.dive.record import Dive, Recording, Site
from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.sync.changes import EVERYBODY
from logbook_app.sync.records import values_from
from logbook_app.sync.shown_dives import PARTS, ShownSamples, shown_dive, shown_name, shown_samples
from server.club_home import ClubHome
from server.pages.writing import write_for
from server.roles import Member, Role, SignsAs

SITES = ("Lantern Wall", "Cinder Quay", "Otter Basin")
PEOPLE = (
    ("Odile Marsh", Role.ADMIN, SignsAs.NOTHING),
    ("Tessa Quill", Role.MEMBER, SignsAs.INSTRUCTOR),
    ("Rune Holt", Role.OFFICER, SignsAs.DIVE_LEADER),
    ("Pavel Birch", Role.MEMBER, SignsAs.NOTHING),
    ("Mina Vance", Role.MEMBER, SignsAs.NOTHING),
    ("Ewa Strand", Role.MEMBER, SignsAs.NOTHING),
)


def invented_profile(max_depth_m: float, minutes: float, *, rate_m_min: float = 9.0) -> Profile:
    """Down at 18 m/min, along a slope, up at a rate, three minutes at 5 m."""
    bottom = 0.5 * max_depth_m
    corners_min = [
        0.0,
        max_depth_m / 18,
        minutes - 3.5 - (bottom - 5) / rate_m_min,
        minutes - 3.5,
        minutes - 0.5,
        minutes,
    ]
    depths_m = [0.0, max_depth_m, bottom, 5.0, 5.0, 0.0]
    time_s = np.arange(0.0, minutes * 60 + 1, 10.0)
    return Profile(time_s, np.round(np.interp(time_s / 60, corners_min, depths_m), 1))


def _cylinder(oxygen: float, end_bar: float) -> Cylinder:
    return Cylinder(BreathingGas(oxygen, 0.0), 12.0, 200.0, end_bar)


def dived(
    home: ClubHome,
    member: Member,
    began_at: datetime,
    *,
    max_depth_m: float = 18.0,
    minutes: float = 45.0,
    readers: tuple[str, ...] = (EVERYBODY,),
    samples: bool = True,
    rate_m_min: float = 9.0,
    **told: Any,
) -> str:
    """Let a member have dived and shown it; return the key of what others see."""
    profile = invented_profile(max_depth_m, minutes, rate_m_min=rate_m_min)
    recording = Recording("fingerprint", profile_digest(profile_to_bytes(profile)))
    shown_profile = shown_samples(profile, PARTS)
    dive = Dive(
        began_at=began_at, duration_min=minutes, max_depth_m=max_depth_m, notes="private words",
        recordings=(recording,) if samples else (), **told,
    )  # fmt: skip
    digest = profile_digest(profile_to_bytes(shown_profile))
    shown = shown_dive(dive, member.name, PARTS, ShownSamples(digest) if samples else None)
    key = write_for(home, member, shown_name(dive.id), {**values_from(shown), "readers": list(readers)})
    if samples and home.store.blob_size(digest) is None:
        with home.store.change():
            home.store.put_part(digest, 0, profile_to_bytes(shown_profile))
            assert home.store.finish_blob(digest)
    return key


def seed(home: ClubHome, today: datetime) -> dict[str, Member]:
    """Fill a club: its people, two years of dives, one day together."""
    people = {name: home.invite(name, role=role, signs_as=signs)[0] for name, role, signs in PEOPLE}
    for place, member in enumerate(people.values()):
        for number in range(14 + 9 * place):
            began = today - timedelta(days=700 - number * (17 - 2 * place), hours=(place + number) % 5)
            if began > today:
                break
            dived(
                home, member, began, max_depth_m=11.0 + (number * 7 + place * 3) % 26,
                minutes=32.0 + (number * 5) % 24, site=Site.named(SITES[number % 3]),
                supervised_by="Tessa Quill" if number < 6 else "",
                cylinders=(_cylinder(0.21 if number % 2 else 0.32, 40.0 + (number * 13) % 60),),
            )  # fmt: skip
    morning = (today - timedelta(days=2)).replace(hour=8, minute=5, second=0, microsecond=0)
    for place, member in enumerate(list(people.values())[1:5]):
        names = tuple(name for name in people if name != member.name)[:2]
        dived(
            home, member, morning + timedelta(minutes=2 * place), max_depth_m=24.0 + 3 * place,
            minutes=46.0 - 3 * place, site=Site.named("Lantern Wall"), utc_offset_min=60, buddies=names,
            rate_m_min=9.0 + 5 * place, cylinders=(_cylinder(0.32, 70.0 - 12 * place),),
        )  # fmt: skip
        if place % 2:
            dived(home, member, morning + timedelta(hours=3), max_depth_m=15.0, minutes=38.0,
                  site=Site.named("Lantern Wall"), utc_offset_min=60)  # fmt: skip
    return people


if __name__ == "__main__":
    with closing(ClubHome(Path(sys.argv[1]))) as made:
        seed(made, datetime.now(UTC))
        for each in made.accounts.members():
            with made.store.change():
                made.sessions.set_password(each.id, "four calm divers")
