"""Where the logbook stands with its club, in one line that leads to the club's page."""

from __future__ import annotations

from kivy.properties import BooleanProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.widgets.fold import Fold


class ClubWordsButton(ButtonBehavior, BoxLayout):
    """The line itself."""

    test_id = StringProperty("club-line")
    """How tests find it."""


class ClubLine(Fold):
    """There while a club is joined: all sent, what waits, or why the last sync did not come to its end."""

    hidden = BooleanProperty(False)
    """True while something else needs the room."""
