"""A number that minus and plus change, in one line: what it is, and the value between its keys."""

from __future__ import annotations

from kivy.properties import StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside


class StepRow(KvBeside, BoxLayout):
    """A number with minus and plus. Events: `on_step(steps)` with -1 or 1."""

    __events__ = ("on_step",)

    name = StringProperty("")
    """Which number."""

    words = StringProperty("")
    """What it is."""

    value = StringProperty("")
    """What it is now, with its unit."""

    def on_step(self, _steps: int) -> None:
        """Minus or plus was touched."""
