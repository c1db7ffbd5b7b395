"""Asking for a signature on a device, and knowing there what was signed on the club's pages."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from logbook_app.dive.problems import NoClub, RefusedRecord
from logbook_app.logbook import Logbook
from server.club_home import ClubHome
from server.roles import SignsAs
from tests.dive.strategies import plain_dive
from tests.server.served import served
from tests.server.visitor import come_in

pytestmark = pytest.mark.law

DIVE = "0a" * 16


@pytest.fixture
def home(tmp_path: Path) -> Iterator[ClubHome]:
    with closing(ClubHome(tmp_path / "club")) as home:
        yield home


@pytest.fixture
def address(home: ClubHome) -> Iterator[str]:
    with served(home) as address:
        yield address


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    with closing(Logbook.open(tmp_path / "ada.leadline", now=lambda: datetime.now(UTC))) as logbook:
        logbook._store.save([(plain_dive(id=DIVE, began_at=datetime.now(UTC) - timedelta(days=1)), ())])
        yield logbook


def test_nobody_is_asked_without_a_club_or_for_a_dive_that_nobody_sees(home, address, logbook):
    with pytest.raises(NoClub, match="join a club first"):
        logbook.signatures.ask(DIVE)
    assert logbook.signatures.signed() == []
    logbook.club.join(address, home.invite("Ada")[1])
    with pytest.raises(RefusedRecord, match="Show the dive to the club first"):
        logbook.signatures.ask(DIVE)


def test_what_was_signed_is_known_on_the_device_until_it_is_taken_back(home, address, logbook):
    tess = come_in(home, "Tess", signs_as=SignsAs.INSTRUCTOR)
    logbook.club.join(address, home.invite("Ada")[1])
    logbook.for_others.show([DIVE])
    logbook.signatures.ask(DIVE, " mask \n cleared ")
    logbook.club.sync()
    path = tess.get("/sign-offs").page.xpath("//section[@aria-labelledby='asked']//a/@href")[0]
    form = {field.get("name"): field.get("value") for field in tess.get(path).page.xpath("//input[@value]")}
    tess.post("/sign-offs/sign", record=form["record"], digest=form["digest"], what="mask cleared")
    assert logbook.club.sync().outcome.counts_agree
    (signature,) = logbook.signatures.signed()
    assert (signature.dive_id, signature.what, signature.signer) == (DIVE, "mask cleared", "Tess")
    assert (signature.role, signature.changed) == ("instructor", False)
    key = tess.get(path).page.xpath("//form[@action='/sign-offs/take-back']//button/@value")[0]
    tess.post("/sign-offs/take-back", key=key)
    logbook.club.sync()
    assert logbook.signatures.signed() == []
