"""The frame around the rooms: rail or bar, what the app says, how far long work has come."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from kivy.app import App
from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.worker import LongTask


class Shell(KvBeside, BoxLayout):
    """Rail at the left of a wide window, bar at the bottom of any other; the shown room beside it."""

    rooms = ObjectProperty(None)
    """The Rooms."""

    def on_kv_post(self, _base_widget: Any) -> None:
        """Place the rail, now and whenever the window becomes wide or narrow."""
        App.get_running_app().look.bind(wide=self._place_rail)
        self._place_rail()

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
        self.rooms.forget()

    def _place_rail(self, *_args: Any) -> None:
        """Rail first from left to right, bar last from top to bottom."""
        rail, wide = self.ids.rail, App.get_running_app().look.wide
        self.orientation = "horizontal" if wide else "vertical"
        self.remove_widget(rail)
        self.add_widget(rail, index=len(self.children) if wide else 0)
