"""The frame around the rooms: rail or bar, what the app says, how far long work has come."""

from __future__ import annotations

from collections.abc import Callable
from math import hypot, inf
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.metrics import dp
from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.worker import LongTask

DOUBLE_TAP_S = 0.25
SAME_SPOT_DP = 24


class Shell(KvBeside, BoxLayout):
    """Rail at the left of a wide window, bar at the bottom of any other; the shown room beside it."""

    rooms = ObjectProperty(None)
    """The Rooms."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._last_down, self._last_down_at_s = (0.0, 0.0), -inf
        self._changed_at_s = -inf

    def on_kv_post(self, _base_widget: Any) -> None:
        """Place the rail, now and whenever the window becomes wide or narrow."""
        App.get_running_app().look.bind(wide=self._place_rail)
        self.rooms.fbind("current", self._note_change)
        self._place_rail()

    def on_touch_down(self, touch: Any) -> bool:
        """Keep a second tap from what has come under the finger since the first.

        Undo after a save stands where the form then has its Save: a double tap would save again.
        """
        (x, y), at_s, now_s = self._last_down, self._last_down_at_s, Clock.get_time()
        self._last_down, self._last_down_at_s = touch.pos, now_s
        double = now_s - at_s < DOUBLE_TAP_S and hypot(touch.x - x, touch.y - y) < dp(SAME_SPOT_DP)
        if double and self._changed_at_s >= at_s and not touch.is_mouse_scrolling:
            self._changed_at_s = now_s  # a third one right after it is not felt either
            return True
        return bool(super().on_touch_down(touch))

    def say(self, sentence: str, undo: Callable[[], None] | None) -> None:
        """Say one sentence, with an Undo button where there is something to undo."""
        self.ids.undo_bar.say(sentence, undo)

    def show_progress(self, task: LongTask, words: str) -> None:
        """Show how far long work has come, until it is over."""
        self.ids.progress_bar.watch(task, words)

    def back(self) -> bool:
        """Close what lies open, else go one step back; False where there is nowhere to go."""
        return self.ids.rail.back() or self.rooms.back()

    def say_anew(self) -> None:
        """Build what is shown again, because another language is spoken now."""
        self.ids.rail.set_out()
        self.ids.undo_bar.say_anew()
        self.rooms.forget()

    def _note_change(self, *_args: Any) -> None:
        self._changed_at_s = Clock.get_time()

    def _place_rail(self, *_args: Any) -> None:
        """Rail first from left to right, bar last from top to bottom."""
        rail, wide = self.ids.rail, App.get_running_app().look.wide
        self.orientation = "horizontal" if wide else "vertical"
        self.remove_widget(rail)
        self.add_widget(rail, index=len(self.children) if wide else 0)
