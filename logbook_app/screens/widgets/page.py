"""A page that scrolls where it is higher than the window: every room stands on one."""

from __future__ import annotations

from kivy.properties import StringProperty
from kivy.uix.scrollview import ScrollView

from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.widgets.scroll_bars import LetsGoOfBars


class Page(KvBeside, LetsGoOfBars, ScrollView):
    """A ScrollView set for wet fingers. Put one vertical box into it; never another Page."""

    test_id = StringProperty("page")
    """How tests find it."""

    def to_top(self) -> None:
        """Show what stands first: the page holds something else now, and whatever still moves it stops."""
        self.effect_y.velocity = 0
        self.scroll_y = 1
