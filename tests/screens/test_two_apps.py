"""A phone and a tablet of one diver and the real server: edited on both, synced, put right by touch.

Both apps take their turns on the one window, each on a logbook file of its own; between two turns the
app is closed as its window's button closes it.
"""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

from correcting import asked, edit, save, touch, write
from driver import SIZES, Driver, OpenApp
from test_club_page import address, home, joined, now, synced  # noqa: F401

from logbook_app.logbook import Logbook
from server.club_home import ClubHome
from tests.server.test_dives_for_others import with_samples


class Device:
    """One device in the diver's hand: `in_hand` opens its app where it was left."""

    def __init__(self, open_app: OpenApp, path: Path, size: tuple[int, int]) -> None:
        self._open, self._path, self._size = open_app, path, size

    def in_hand(self) -> Driver:
        app = self._open(self._path, size=self._size)
        app.idle()
        return app


def to_the_club(app: Driver) -> Driver:
    app.app.go("club")
    app.idle()
    return app


def writes_notes(app: Driver, text: str) -> None:
    app.app.open_dive("d1")
    app.idle()
    edit(app, "notes")
    write(app, "panel-text", text)
    save(app)


def notes_shown(app: Driver) -> str:
    app.app.open_dive("d1")
    app.idle()
    return app.find(role="RecordCard").field("notes").value


def test_one_dive_edited_on_both_devices_shows_both_values_and_one_is_kept(
    open_app: OpenApp,
    tmp_path: Path,
    home: ClubHome,  # noqa: F811
    address: str,  # noqa: F811
) -> None:
    with closing(Logbook.open(tmp_path / "phone.leadline", now=now)) as logbook:
        logbook._store.save([with_samples("d1")])
    phone = Device(open_app, tmp_path / "phone.leadline", SIZES["phone"])
    tablet = Device(open_app, tmp_path / "tablet.leadline", SIZES["tablet"])
    for device in (phone, tablet):
        app = to_the_club(device.in_hand())
        joined(app, home, address)
        synced(app)
        app.stop()

    app = tablet.in_hand()
    assert notes_shown(app) == "unwell, and so was Bo"
    writes_notes(app, "Surge at the stop")
    app.stop()

    app = phone.in_hand()
    writes_notes(app, "Calm all the way")
    to_the_club(app)
    assert "1 dive to send" in app.find(test_id="club-state").text
    synced(app)
    app.stop()

    app = to_the_club(tablet.in_hand())
    synced(app)
    sides = [app.find(test_id=f"says-{place}").text for place in (0, 1)]
    assert set(sides) == {"Surge at the stop", "Calm all the way"}
    assert app.says("Neither knew of the other")
    touch(app, f"side-{sides.index('Surge at the stop')}")
    assert not app.find_all(test_id="side-0")
    synced(app)
    assert notes_shown(app) == "Surge at the stop"
    app.stop()

    app = to_the_club(phone.in_hand())
    synced(app)
    assert not app.find_all(test_id="side-0")
    assert notes_shown(app) == "Surge at the stop"
    told = asked(
        app, lambda logbook: [change.after for change in logbook.history("d1") if change.field == "notes"]
    )
    assert any("Calm all the way" in str(after) for after in told)  # what lost stays in the history
