"""A box with rounded corners, a ground and an edge: what cards, buttons and choices stand on."""

from __future__ import annotations

from kivy.properties import ColorProperty, NumericProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside

NOTHING = (0, 0, 0, 0)


class EdgedBox(KvBeside, BoxLayout):
    """Draws its edge as the rim of one smooth shape under another: a line would cut its corners."""

    ground = ColorProperty(NOTHING)
    """Colour of what is inside the edge; opaque wherever there is an edge."""

    edge = ColorProperty(NOTHING)
    """Colour of the edge."""

    edge_width = NumericProperty("1dp")
    """How wide the edge is."""

    corner = NumericProperty("6dp")
    """Radius of the corners."""
