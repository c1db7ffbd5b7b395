"""At the surface: how long, how much is left, when to fly, what the next depth allows."""

from __future__ import annotations

from logbook_app.screens.rooms import Room


class SurfaceRoom(Room):
    """The live state between dives."""
