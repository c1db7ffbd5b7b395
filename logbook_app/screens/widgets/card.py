"""A card on the chart: a hairline border, a heading, what belongs together."""

from __future__ import annotations

from kivy.properties import StringProperty

from logbook_app.screens.widgets.edged_box import EdgedBox


class Card(EdgedBox):
    """A vertical box with a ground and a border. It takes the height of what is in it."""

    test_id = StringProperty("")
    """How tests find it."""
