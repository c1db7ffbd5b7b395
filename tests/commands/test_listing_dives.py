"""`leadline dives`: what is asked for is listed, in the order asked for, and nothing else."""

from __future__ import annotations

from contextlib import closing
from datetime import UTC, datetime

import pytest
from at_the_command_line import CommandLine

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.record import Site
from logbook_app.logbook import Logbook
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from tests.dive.strategies import plain_dive


@pytest.fixture
def listed(cli: CommandLine) -> CommandLine:
    """A command line on three dives, the second another diver's."""
    with closing(Logbook.open(cli.path)) as logbook:
        logbook.keep_dives(
            [
                plain_dive(
                    id="ledge", number=1, site=Site.named("Gännet Ledge"), buddies=("Imke R.",),
                    tags=("wreck",),
                    cylinders=(Cylinder(AIR),), began_at=datetime(2031, 5, 4, 23, 30, tzinfo=UTC),
                    utc_offset_min=60, max_depth_m=18.0, notes="kelp",
                ),
                plain_dive(
                    id="steps", diver="Odile", site=Site.named("Otter Steps"), max_depth_m=30.0,
                    cylinders=(Cylinder(BreathingGas(0.32)),), began_at=datetime(2031, 5, 6, 9, tzinfo=UTC),
                    trip="Sorvane, spring", suit="drysuit", duration_min=20.0,
                ),
                plain_dive(
                    id="pool", number=2, began_at=datetime(2031, 6, 1, 9, tzinfo=UTC), max_depth_m=3.0,
                    site=Site.named("Gannet Pool"), notes="kelp and crab",
                ),
            ]
        )  # fmt: skip
    return cli


@pytest.mark.parametrize(
    ("options", "ids"),
    [
        ("", "ledge steps pool"),
        ("--search KELP", "ledge pool"),
        ("--search gannet --from 2031-05-05", "ledge pool"),
        ("--from 2031-05-06 --to 2031-05-06", "steps"),
        ("--to 2031-05-04", ""),
        ("--deeper-than 18", "ledge steps"),
        ("--deeper-than 18.1 --shallower-than 30", "steps"),
        ("--site gann", "ledge pool"),
        ("--site ledge --site otter", "ledge steps"),
        ("--buddy imke", "ledge"),
        ("--gas 32", "steps"),
        ("--gas air --gas 32", "ledge steps"),
        ("--tag WRECK --search crab", ""),
        ("--trip spring", "steps"),
        ("--kit dry", "steps"),
        ("--whose own", "ledge pool"),
        ("--whose others", "steps"),
        ("--order newest", "pool steps ledge"),
        ("--order deepest", "steps ledge pool"),
        ("--order longest", "pool ledge steps"),
        ("--order number", "ledge pool steps"),
        ("--order site", "ledge pool steps"),
    ],
)
def test_what_is_asked_for_is_listed(listed: CommandLine, options: str, ids: str) -> None:
    assert [dive["id"] for dive in listed.json("dives", *options.split())] == ids.split()
    assert [line.split()[-1] for line in listed("dives", *options.split()).output.splitlines()] == ids.split()


def test_trip_and_tags_are_told(listed: CommandLine) -> None:
    first, second, _ = listed.json("dives")
    assert (first["tags"], first["trip"], second["trip"]) == (["wreck"], None, "Sorvane, spring")


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        ("--site nowhere", "No site in the logbook is called 'nowhere'. Try fewer letters."),
        ("--trip ?", "No trip in the logbook is called '?'"),
        ("--from yesterday", "'yesterday' is not a day. Write it as 2026-11-14."),
        ("--deeper-than deep", "'deep' is not a depth. Write metres, as in 18."),
        ("--deeper-than 900", "'900' is outside 0 to 350 m."),
    ],
)
def test_what_cannot_be_meant_is_said(
    listed: CommandLine, capfd: pytest.CaptureFixture[str], options: str, sentence: str
) -> None:
    assert listed.status("dives", *options.split()) == 2
    assert sentence in capfd.readouterr().err


def test_listing_draws_no_pictures(listed: CommandLine) -> None:
    """A list without pictures reads no samples and keeps nothing."""
    with closing(Logbook.open(listed.path)) as logbook:
        before = logbook._store._connection.total_changes
        logbook.catalogue(pictures=False)
        assert logbook._store._connection.total_changes == before
