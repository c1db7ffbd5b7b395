"""The frame of the app: rail and bar, going and coming back, what is said, what stays light."""

from __future__ import annotations

from driver import Driver


def test_app_opens_at_the_surface(app: Driver) -> None:
    """The first thing a diver sees is the state between dives."""
    assert app.find(test_id="rail-surface").chosen
    assert app.app.shell.rooms.current == "surface"
    assert app.says("At the surface")


def test_rail_becomes_a_bar_on_a_phone(app: Driver) -> None:
    """Rail at the left from 840 dp, bar along the bottom under it."""
    rail = app.find(role="Rail")
    assert (rail.x, rail.height) == (0, 800)
    app.resize(360, 640)
    assert (rail.y, rail.width) == (0, 360)
    assert rail.height < 100
