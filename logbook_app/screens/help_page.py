"""The help page of a room, drawn from its text; Back returns to the room."""

from __future__ import annotations

from kivy.properties import StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.help_text import Block, read_help
from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.rooms import Room


class HelpBlock(KvBeside, BoxLayout):
    """One block of the page: a heading, a paragraph or a point with its dot."""

    kind = StringProperty("paragraph")
    """Which form it has."""

    words = StringProperty("")
    """Its words, with Kivy's markup."""


class HelpPage(Room):
    """What the figures and choices of one room mean, and what to mind before acting on them."""

    about = StringProperty("")
    """Name of the room that the page is about."""

    def show(self, about: str) -> None:
        """Show the page of another room, from its top."""
        title, *blocks = read_help(about)
        self.about, self.title = about, title.words
        self.ids.blocks.clear_widgets()
        for block in blocks:
            self.ids.blocks.add_widget(_drawn(block))
        self.ids.page.scroll_y = 1


def _drawn(block: Block) -> HelpBlock:
    return HelpBlock(kind=block.kind, words=block.words)
