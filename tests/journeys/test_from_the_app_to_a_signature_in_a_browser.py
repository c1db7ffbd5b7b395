"""An officer invites, a member joins and shows a dive, a signer signs in a real browser, the device knows.

Everything is real: the logbook's own core, the server over 127.0.0.1, Chromium without a window.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from logbook_app.commands.command_line import Tools, leadline
from logbook_app.logbook import Logbook
from server.club_home import ClubHome
from server.roles import Role, SignsAs
from tests.dive.strategies import plain_dive
from tests.server.browser import CHROMIUM, Browser
from tests.server.served import served

pytestmark = [
    pytest.mark.law,
    pytest.mark.skipif(not CHROMIUM, reason="no Chromium here; on Debian: apt-get install chromium"),
]

PASSWORD = "four calm divers"  # noqa: S105
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
def browser(tmp_path: Path) -> Iterator[Browser]:
    with Browser(tmp_path / "profile") as browser:
        yield browser


def come_in(browser: Browser, address: str, code: str) -> None:
    """Accept an invitation in the browser."""
    browser.go(f"{address}/invitation?code={code}")
    for field in ("#password", "#again"):
        browser.fill(field, PASSWORD)
    browser.press("main .first")


def _no_app(_path: Path | None) -> None:
    raise AssertionError("no app here")


def said(path: Path, *words: str) -> Any:
    """Return what a command of the device tells."""
    arguments = ["--logbook", str(path), *words, "--json"]
    told = CliRunner().invoke(leadline, arguments, obj=Tools(open_logbook=Logbook.open, open_app=_no_app))
    assert told.exit_code == 0, told.output
    return json.loads(told.output)


def test_a_dive_is_shown_asked_for_signed_in_the_browser_and_the_device_knows(
    home, address, browser, tmp_path
):
    _, officers_code = home.invite("Ola", role=Role.OFFICER)
    _, signers_code = home.invite("Tess", signs_as=SignsAs.INSTRUCTOR)

    come_in(browser, address, officers_code)
    browser.go(f"{address}/office")
    browser.fill("#name", "Ada")
    browser.press("main .first")
    code = browser.value("document.querySelector('.code').textContent")
    browser.go(f"{address}/members")
    browser.press(".foot button")

    path = tmp_path / "ada.leadline"
    day = datetime.now(UTC) - timedelta(days=2)
    with closing(Logbook.open(path, now=lambda: datetime.now(UTC))) as logbook:
        logbook._store.save([(plain_dive(id=DIVE, began_at=day, max_depth_m=18.0, notes="my own words"), ())])
        assert logbook.club.join(address, code).club == "Quarry"
        logbook.for_others.show([DIVE])
    said(path, "ask-signature", DIVE, "--what", "mask cleared")
    said(path, "sync")

    come_in(browser, address, signers_code)
    browser.go(f"{address}/progress?set=cmas-2")
    assert "1 of 10" in browser.text
    browser.go(f"{address}/sign-offs")
    assert "mask cleared" in browser.text
    browser.press("main article a")
    assert "18.0 m" in browser.text
    assert "my own words" not in browser.value("document.documentElement.outerHTML")
    browser.fill("#what", "mask cleared")
    browser.fill("#remark", "calm")
    browser.press("form[action='/sign-offs/sign'] .first")
    assert "signed by Tess, instructor" in browser.text
    member = browser.value("document.querySelector('main a[href^=\"/members/\"]').getAttribute('href')")
    browser.go(f"{address}/progress/{member.rpartition('/')[2]}/cmas-1")
    browser.press("form[action='/sign-offs/sign'] .first")

    said(path, "sync")
    dive, certificate = sorted(said(path, "signatures"), key=lambda each: each["rules"])
    assert (dive["dive_id"], dive["signer"], dive["remark"], dive["changed"]) == (
        DIVE,
        "Tess",
        "calm",
        False,
    )
    assert (certificate["rules"], certificate["signer"]) == ("cmas-1", "Tess")
    browser.go(f"{address}/progress?set=cmas-2")
    assert browser.value("document.querySelector('tbody tr td').textContent").strip() == "met"

    with closing(Logbook.open(path, now=lambda: datetime.now(UTC))) as logbook:
        logbook._store.save([(plain_dive(id=DIVE, began_at=day, max_depth_m=19.0, notes="my own words"), ())])
    assert [each["changed"] for each in said(path, "signatures") if each["dive_id"]] == [True]
    said(path, "sync")
    browser.go(f"{address}/sign-offs")
    assert "Changed since signed" in browser.text


def test_pages_fit_a_phone_and_are_read_without_scripts(home, address, browser):
    come_in(browser, address, home.invite("Ada", role=Role.ADMIN)[1])
    browser._ask("Emulation.setScriptExecutionDisabled", value=True)
    for page in (
        "/members",
        "/progress",
        "/sign-offs",
        "/days",
        "/safety",
        "/me",
        "/office",
        "/office/trail",
    ):
        browser.go(f"{address}{page}")
        for width in (1280, 800, 390):
            browser.size(width, 800)
            assert browser.value("document.documentElement.scrollWidth") <= width, page
        small = browser.value(
            "[...document.querySelectorAll('button, .button, .rail a, select, input:not([type=hidden])')]"
            ".filter(e => (e.closest('label.choice') || e).getBoundingClientRect().height < 48).length"
        )
        assert small == 0, page
