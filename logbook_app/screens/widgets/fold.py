"""Part of a form that shows only while it is wanted.

What is folded away leaves the tree of widgets: left in a box of no height, it would still be
touched, and a disabled widget swallows the touches of whatever it lies over.
"""

from __future__ import annotations

from typing import Any

from kivy.properties import BooleanProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside


class Fold(KvBeside, BoxLayout):
    """A box whose children are there while `unfolded`."""

    unfolded = BooleanProperty(False)
    """True while its children show."""

    def __init__(self, **kwargs: Any) -> None:
        self._folded: list[Any] = []
        super().__init__(**kwargs)

    def add_widget(self, widget: Any, *args: Any, **kwargs: Any) -> None:
        """Add a child, or keep it until the box is unfolded."""
        if self.unfolded:
            super().add_widget(widget, *args, **kwargs)
        else:
            self._folded.append(widget)

    def on_unfolded(self, *_args: Any) -> None:
        """Bring the children back, or put them away."""
        if self.unfolded:
            waiting, self._folded = self._folded, []
            for child in waiting:
                super().add_widget(child)
        else:
            self._folded = [*reversed(self.children), *self._folded]
            self.clear_widgets()
