"""The quiet way to a room's help page, in the header of the room."""

from __future__ import annotations

from kivy.app import App
from kivy.properties import StringProperty

from logbook_app.screens.widgets.buttons import PlainButton


class HelpButton(PlainButton):
    """Opens the help page of one room."""

    about = StringProperty("")
    """Name of the room."""

    def on_release(self) -> None:
        """Show the page; Back returns to the room."""
        App.get_running_app().open_help(self.about)
