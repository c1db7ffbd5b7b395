"""The pages over a real socket: cookies, headers, forms, files, and an address that is not there."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
import requests

from server.club_home import ClubHome
from server.pages.routes import LARGEST_FORM
from server.roles import Role
from tests.server.served import served
from tests.server.visitor import PASSWORD

pytestmark = pytest.mark.law


@pytest.fixture
def home(tmp_path: Path) -> Iterator[ClubHome]:
    with closing(ClubHome(tmp_path / "club")) as home:
        yield home


@pytest.fixture
def address(home: ClubHome) -> Iterator[str]:
    with served(home) as address:
        yield address


@pytest.fixture
def ada(home: ClubHome, address: str) -> requests.Session:
    """Somebody who came in by an invitation."""
    session, code = requests.Session(), home.invite("Ada", role=Role.ADMIN)[1]
    page = session.get(f"{address}/invitation", timeout=10)
    form = {"form": token_in(page.text), "code": code, "password": PASSWORD, "again": PASSWORD}
    assert session.post(f"{address}/invitation", form, timeout=10).url == f"{address}/members?said=in"
    return session


def token_in(page: str) -> str:
    found = re.search(r'name="form" value="([0-9a-f]{64})"', page)
    assert found
    return found[1]


def test_cookies_are_for_this_site_alone_and_no_script_sees_them(ada, address):
    answer = requests.get(f"{address}/enter", timeout=10)
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert "secure" not in cookie  # it came unencrypted; behind TLS it is, with a prefix that says so
    assert {each.name for each in ada.cookies} == {"leadline", "leadline_visitor"}


def test_behind_tls_cookies_are_secure_and_bound_to_the_host(address):
    told = requests.get(f"{address}/enter", headers={"x-forwarded-proto": "https"}, timeout=10)
    cookie = told.headers["set-cookie"]
    assert cookie.startswith("__Host-leadline_visitor=")
    assert "secure" in cookie.lower()
    assert "strict-transport-security" in told.headers


def test_a_page_runs_no_script_and_stands_in_no_frame(ada, address):
    policy = ada.get(f"{address}/members", timeout=10).headers["content-security-policy"]
    for part in ("default-src 'none'", "style-src 'self'", "form-action 'self'", "frame-ancestors 'none'"):
        assert part in policy
    assert "unsafe" not in policy


def test_a_form_from_another_site_is_not_read(ada, address):
    form = {"form": token_in(ada.get(f"{address}/office", timeout=10).text), "name": "Eve"}
    for site in ("cross-site", "same-site"):
        answer = ada.post(f"{address}/office/invite", form, headers={"sec-fetch-site": site}, timeout=10)
        assert answer.status_code == 403
    assert ada.post(f"{address}/office/invite", form, timeout=10).status_code == 200


def test_a_table_is_taken_as_a_file_and_one_too_large_is_not(ada, address, home):
    path = f"{address}/members/{home.accounts.members()[0].id}/paper"
    form = {"form": token_in(ada.get(path, timeout=10).text)}
    table = b"date,depth (m),duration (min)\n2009-06-14,21.4,47\n"
    assert "1 dive was added" in ada.post(path, form, files={"table": table}, timeout=10).text
    assert ada.post(path, form, files={"table": b" " * LARGEST_FORM}, timeout=20).status_code == 413
    broken = {"content-type": "multipart/form-data; boundary=x"}
    assert ada.post(path, b"--y\r\n", headers=broken, timeout=10).status_code == 400


def test_an_address_that_is_not_there_is_a_page_to_who_reads_pages(ada, address):
    page = ada.get(f"{address}/nowhere", headers={"accept": "text/html"}, timeout=10)
    assert (page.status_code, "There is no such page" in page.text) == (404, True)
    told = ada.get(f"{address}/nowhere", timeout=10)
    assert (told.status_code, told.json()["code"]) == (404, "unreadable")


def test_the_look_is_there_and_nothing_beside_it(address):
    for name in ("look.css", "IBMPlexSans-Regular.ttf"):
        assert requests.get(f"{address}/look/{name}", timeout=10).status_code == 200
    for name in ("routes.py", "..%2Froutes.py", "LICENSE-IBMPlexSans.txt"):
        assert requests.get(f"{address}/look/{name}", timeout=10).status_code == 404
