"""The Statistics page: opened from the Logbook, its figures in words, and the dives behind each."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from driver import ON_THE_DOCK, Driver, OpenApp

from logbook_app.analysis.book_statistics import Period
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.problems import Cancelled
from logbook_app.dive.record import Dive, Site
from logbook_app.logbook import Logbook
from logbook_app.physics.breathing_gas import AIR
from logbook_app.whole_book import WholeBook

HERE = Site.named("Heron Ledge", latitude_deg=46.2, longitude_deg=-33.5)
THERE = Site.named("Long Tessera", latitude_deg=41.1, longitude_deg=-30.1)


@pytest.fixture
def dived(tmp_path: Path) -> Path:
    """A logbook with four own dives of two years at two places, and one of somebody else."""
    path = tmp_path / "dived.leadline"
    logbook = Logbook.open(path, now=lambda: ON_THE_DOCK)
    days = ((3, HERE, 18.0), (10, HERE, 32.0), (400, THERE, 12.0), (401, None, 9.0))
    logbook.keep_dives(
        [
            Dive(
                began_at=ON_THE_DOCK - timedelta(days=day),
                utc_offset_min=60,
                duration_min=50.0,
                max_depth_m=depth_m,
                mean_depth_m=depth_m / 2,
                lowest_temperature_c=8.0,
                number=number,
                site=site,
                cylinders=(Cylinder(AIR, 12.0, 200.0, 60.0),),
                estimate=True,
            )
            for number, (day, site, depth_m) in enumerate(days, start=1)
        ]
    )
    logbook.keep_dives(
        [Dive(began_at=ON_THE_DOCK, duration_min=99.0, max_depth_m=60.0, diver="Imke", estimate=True)]
    )
    logbook.close()
    return path


@pytest.fixture
def page(open_app: OpenApp, dived: Path) -> Driver:
    """The app with the page open, as a diver opens it."""
    app = open_app(dived)
    app.tap(test_id="rail-logbook")
    app.idle()
    app.tap(test_id="statistics")
    app.idle()
    app.idle()
    return app


def listed(app: Driver) -> list[str]:
    return [row.line.heading for row in app.find_all(test_id="listed-dive")]


def test_the_logbook_opens_it_and_back_returns(page: Driver) -> None:
    assert page.app.shell.rooms.current == "statistics"
    assert page.find(test_id="rail-logbook").chosen
    assert page.find(test_id="sum").text == "4 dives, 3.3 h"
    page.press_back()
    assert page.app.shell.rooms.current == "logbook"


def test_everything_fits_at_each_size(page: Driver) -> None:
    for _ in page.at_each_size():
        assert page.misfits() == []
        for test_id in ("mark-last", "month-Nov", "depth-to 40 m", "water-Nov"):
            page.bring_into_view(page.find(test_id=test_id))
            assert page.misfits() == []


def test_a_bar_lists_its_dives_and_each_opens(page: Driver) -> None:
    page.tap(page.bring_into_view(page.find(test_id="year-2026")))
    page.idle()
    assert page.find(test_id="listed").text == "2026"
    assert listed(page) == ["Dive 1 · Heron Ledge", "Dive 2 · Heron Ledge"]
    page.tap(page.find_all(test_id="listed-dive")[1])
    page.idle()
    page.idle()
    assert page.app.shell.rooms.current == "dive"
    assert page.find(test_id="dive-title").text.startswith("Dive 2")
    page.press_back()
    assert page.app.shell.rooms.current == "statistics"


def test_the_list_closes_with_its_button_and_with_back(page: Driver) -> None:
    page.tap(page.bring_into_view(page.find(test_id="year-2026")))
    page.idle()
    page.tap(test_id="close-list")
    assert not listed(page)
    page.tap(page.bring_into_view(page.find(test_id="year-2026")))
    page.idle()
    page.press_back()
    assert not listed(page)
    assert page.app.shell.rooms.current == "statistics"


def test_a_mark_opens_its_dive(page: Driver) -> None:
    assert page.says("32.0 m · Wed 4 Nov 2026")
    page.tap(page.bring_into_view(page.find(test_id="mark-deepest")))
    page.idle()
    page.idle()
    assert page.find(test_id="dive-title").text.startswith("Dive 2")


def test_a_site_on_the_map_lists_its_dives(page: Driver) -> None:
    site_map = page.bring_into_view(page.find(test_id="site-map"))
    x, y = site_map.to_window(*site_map.at("Heron Ledge"))
    finger = page.finger(x, y)
    finger.down()
    page.frames(12)
    finger.up()
    page.frames(12)
    page.idle()
    assert page.find(test_id="listed").text == "Heron Ledge"
    assert len(listed(page)) == 2
    assert page.find_all(test_id="unmapped") == []


def test_a_period_without_a_dive_says_so(page: Driver, dived: Path) -> None:
    logbook = Logbook.open(dived, now=lambda: ON_THE_DOCK)
    recent = [dive.id for dive in logbook.own_dives()[-2:]]
    logbook.delete_dives(recent)
    logbook.close()
    page.tap(test_id="period-last 12 months")
    page.idle()
    page.idle()
    assert page.says("No dive in this time")
    page.tap(test_id="period-all")
    page.idle()
    page.idle()
    assert page.find(test_id="sum").text == "2 dives, 1.7 h"


def test_another_period_has_other_figures(page: Driver) -> None:
    page.tap(test_id="period-this year")
    page.idle()
    page.idle()
    assert page.find(test_id="sum").text == "2 dives, 1.7 h"
    assert not page.find_all(test_id="year-2025")


def test_a_deleted_dive_leaves_the_figures(page: Driver) -> None:
    page.app.ask(lambda logbook: logbook.delete_dive(logbook.own_dives()[-1].id), then=page.app.changed)
    page.idle()
    page.idle()
    assert page.find(test_id="sum").text == "3 dives, 2.5 h"


def test_an_empty_logbook_says_what_to_do(open_app: OpenApp) -> None:
    app = open_app()
    app.app.go("statistics")
    app.idle()
    app.idle()
    assert app.says("No dive in the logbook yet")
    for _ in app.at_each_size():
        assert app.misfits() == []


def test_feet_are_read_in_bands_of_thirty(open_app: OpenApp, dived: Path) -> None:
    logbook = Logbook.open(dived, now=lambda: ON_THE_DOCK)
    logbook.change_settings(replace(logbook.settings(), units="imperial"))
    logbook.close()
    app = open_app(dived)
    app.app.go("statistics")
    app.idle()
    app.idle()
    assert app.find_all(test_id="depth-to 30 ft")


def test_a_first_long_reading_says_how_far_it_is(
    open_app: OpenApp, dived: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The samples of a large logbook are read once; the line under the title says how far that is."""
    going_on = threading.Event()

    def slow(
        _book: WholeBook, _period: Period, progress: Callable[..., None], *_rest: Any, **_kw: Any
    ) -> Any:
        progress(400, 10_000, "")
        going_on.wait(10)
        raise Cancelled("stopped by the test")

    monkeypatch.setattr(WholeBook, "statistics", slow)
    app = open_app(dived)
    app.app.go("statistics")
    try:
        app.until(lambda: app.says("Reading the samples once: 400 of 10000 dives."))
    finally:
        going_on.set()
    app.idle()
