"""What can be done with the dives that are chosen: how many they are, and a button for each deed."""

from __future__ import annotations

from kivy.properties import BooleanProperty, NumericProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside


class ChooseBar(KvBeside, BoxLayout):
    """Stands under the list while dives are chosen.

    Events: `on_all` for all that are listed, or none; `on_export(ending)`, `on_show(shown)`, `on_tag`,
    `on_delete`.
    """

    __events__ = ("on_all", "on_export", "on_show", "on_tag", "on_delete")

    count = NumericProperty(0)
    """How many are chosen."""

    listed = NumericProperty(0)
    """How many there are to choose from."""

    all_chosen = BooleanProperty(False)
    """True where they are all chosen."""

    words = StringProperty("")
    """How many are chosen, in words."""

    exporting = BooleanProperty(False)
    """True while the diver says in what form they go."""

    showing = BooleanProperty(False)
    """True while the diver says whether the club sees them."""

    def export(self, ending: str) -> None:
        """Take the form."""
        self.exporting = False
        self.dispatch("on_export", ending)

    def back(self) -> bool:
        """Go back to the deeds; False where they show already."""
        asked = self.exporting or self.showing
        self.exporting = self.showing = False
        return asked

    def show(self, *, shown: bool) -> None:
        """Let the club see them, or see them no more."""
        self.showing = False
        self.dispatch("on_show", shown)

    def on_all(self) -> None:
        """All that are listed, or none."""

    def on_export(self, ending: str) -> None:
        """The chosen dives go into a file with this ending."""

    def on_show(self, shown: bool) -> None:
        """The club sees the chosen dives from now on, or no more."""

    def on_tag(self) -> None:
        """The chosen dives get tags, or lose some."""

    def on_delete(self) -> None:
        """The chosen dives go into the bin."""
