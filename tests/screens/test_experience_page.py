"""The Experience page: reached from the statistics, a set chosen, and the dives behind a requirement."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from driver import ON_THE_DOCK, Driver, OpenApp

from logbook_app.dive.credentials import Certificate
from logbook_app.dive.record import Dive, Site
from logbook_app.logbook import Logbook
from logbook_app.physics.units import metres_from_feet

HERE = Site.named("Heron Ledge")


@pytest.fixture
def dived(tmp_path: Path) -> Path:
    """Eleven supervised dives at 45 ft, one at 30 ft, one nobody supervised."""
    path = tmp_path / "dived.leadline"
    logbook = Logbook.open(path, now=lambda: ON_THE_DOCK)
    told = [(45, "Mara")] * 11 + [(30, "Mara"), (50, "")]
    logbook.keep_dives(
        [
            Dive(
                began_at=ON_THE_DOCK - timedelta(days=60 - number),
                utc_offset_min=60,
                duration_min=30.0,
                max_depth_m=float(metres_from_feet(float(feet))),
                supervised_by=by,
                number=number,
                site=HERE,
                estimate=True,
            )
            for number, (feet, by) in enumerate(told, start=1)
        ]
    )
    logbook.close()
    return path


@pytest.fixture
def page(open_app: OpenApp, dived: Path) -> Driver:
    """The app with the page open on the depth to 60 ft, as a diver opens it."""
    app = open_app(dived)
    app.tap(test_id="rail-logbook")
    app.idle()
    app.tap(test_id="statistics")
    app.idle()
    app.tap(test_id="experience")
    app.idle()
    choose(app, "set-aaus-60")
    return app


def choose(app: Driver, chip: str) -> None:
    app.tap(app.bring_into_view(app.find(test_id=chip)))
    app.idle()
    app.frames(3)


def row(app: Driver, name: str) -> Driver:
    return app.find(test_id=f"requirement-{name}")


def listed(app: Driver) -> list[tuple[str, str]]:
    return [(each.line.heading, each.line.line) for each in app.find_all(test_id="listed-dive")]


def test_a_requirement_says_what_there_is_and_what_is_missing(page: Driver) -> None:
    assert page.app.shell.rooms.current == "experience"
    assert page.find(test_id="rail-logbook").chosen
    assert page.find(test_id="summary").text == "0 of 2 met. An instructor or board decides."
    line = row(page, "supervised").line
    assert line.state == "not met, 11 dives, 12 asked; 5.5 h, 4 h asked"
    assert line.missing == "1 more dive, 31 to 60 ft, supervised."
    assert "From memory; check with your club." in page.find(test_id="about").text


def test_a_touch_lists_what_counts_and_what_nearly_does_with_the_reason(page: Driver) -> None:
    page.tap(page.bring_into_view(row(page, "supervised")))
    page.idle()
    page.frames(3)
    found = listed(page)
    assert page.says("Counting: 11 dives")
    assert page.says("Nearly counting: 2 dives")
    assert len(found) == 6 + 2
    assert [why for _heading, why in found[6:]] == [
        "30 ft; asked: 31 to 60 ft",
        "nobody is written down who supervised it",
    ]
    page.tap(page.bring_into_view(page.find_all(test_id="listed-dive")[6]))
    page.idle()
    page.idle()
    assert page.find(test_id="dive-title").text.startswith("Dive 12")
    page.press_back()
    assert page.app.shell.rooms.current == "experience"
    page.press_back()
    assert not listed(page)
    assert page.app.shell.rooms.current == "experience"


def test_all_that_count_are_shown_at_a_touch(page: Driver) -> None:
    page.tap(page.bring_into_view(row(page, "supervised")))
    page.idle()
    page.frames(3)
    page.tap(page.bring_into_view(page.find(test_id="more-dives")))
    page.frames(3)
    assert len(listed(page)) == 11 + 2
    assert not page.find_all(test_id="more-dives")


def test_what_comes_after_a_certificate_that_is_held_shows_first(open_app: OpenApp, dived: Path) -> None:
    logbook = Logbook.open(dived)
    logbook.experience.keep_certificate(Certificate(grade="cmas-2"))
    logbook.close()
    app = open_app(dived)
    app.app.go("experience")
    app.idle()
    assert app.find(test_id="set-heading").text == "CMAS diver: Three stars, entry"


def test_what_no_logbook_can_judge_has_nothing_to_list(page: Driver) -> None:
    choose(page, "set-aaus-100")
    assert row(page, "tables").line.state == "a person must confirm"
    page.tap(page.bring_into_view(row(page, "tables")))
    page.idle()
    assert page.app.shell.rooms.room("experience").listed == ""


def test_another_program_shows_its_sets_and_is_remembered(
    page: Driver, open_app: OpenApp, dived: Path
) -> None:
    choose(page, "program-ISO 24801 recreational diver")
    choose(page, "set-iso-3")
    assert [each.line.heading for each in page.find_all(role="RequirementRow")][:4] == [
        "Certificate: Level 2, autonomous diver",
        "Logged open-water dives",
        "or: By their number",
        "or: By number and time",
    ]
    room = page.app.shell.rooms.room("experience")
    room.chosen = ""
    page.app.go("logbook")
    room._stale = True
    page.app.go("experience")
    page.idle()
    assert room.chosen == "iso-3"


def test_a_dive_that_is_corrected_counts_at_once(page: Driver) -> None:
    found: list[Dive] = []
    page.app.ask(lambda logbook: [each for each in logbook.dives() if each.number == 13], then=found.extend)
    page.idle()
    page.app.ask(
        lambda logbook: logbook.change_dive(found[0].id, supervised_by="Mara"), then=page.app.changed
    )
    page.idle()
    page.idle()
    assert row(page, "supervised").line.state == "met, 12 dives, 12 asked; 6 h, 4 h asked"


def test_everything_fits_at_each_size_with_the_list_open(page: Driver) -> None:
    for _ in page.at_each_size():
        page.idle()
        page.frames(10)  # lines are broken anew, and rows with them grow
        assert page.misfits() == []
        row(page, "supervised").dispatch("on_release")  # the touch itself is tried above
        page.idle()
        page.frames(3)
        assert page.misfits() == []
        page.press_back()
        page.frames(3)


def test_in_a_narrow_window_the_choice_gives_way(page: Driver) -> None:
    page.resize(360, 640)
    page.frames(3)
    choose(page, "set-aaus-100")
    assert not page.find_all(test_id="set-aaus-60")
    choose(page, "choose")
    choose(page, "set-aaus-60")
    assert page.find(test_id="set-heading").text == "AAUS scientific diving: Certified to 60 ft"
