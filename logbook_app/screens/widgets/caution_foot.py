"""The caution under a page: at the foot of the window, where it does not take the page's room.

On a small window with large text the whole of it would take a third of the page. There the foot says it in a
few words, and the page has the whole at its end: put a `WholeCaution` there.
"""

from __future__ import annotations

from kivy.properties import StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.widgets.fold import Fold


class CautionFoot(KvBeside, BoxLayout):
    """The caution outside of what scrolls: always in sight."""

    text = StringProperty("")
    """The whole caution."""

    short = StringProperty("")
    """The same in a few words, for a small window with large text."""


class WholeCaution(Fold):
    """The whole caution at the end of a page, where the foot has no room for it."""

    text = StringProperty("")
    """The whole caution."""
