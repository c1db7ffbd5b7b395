"""Tags for several dives at once: touch one to give it to all of them or to take it from all of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from kivy.properties import NumericProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.dive.search_words import same_name
from logbook_app.language import _
from logbook_app.screens.filter_lines import tag_lines
from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.logbook_lines import ON


class TagSheet(KvBeside, BoxLayout):
    """Nothing is changed before `on_tags(add, remove)`; `on_close` where nothing shall be."""

    __events__ = ("on_tags", "on_close")

    chosen = NumericProperty(0)
    """How many dives are chosen."""

    title = StringProperty("")
    """What the sheet is about."""

    changes = NumericProperty(0)
    """How many tags will come or go."""

    def __init__(self, **kwargs: Any) -> None:
        self._tags: list[str] = []
        self._of_chosen: dict[str, int] = {}
        self._wanted: dict[str, bool] = {}
        super().__init__(**kwargs)

    def show(self, tags: Sequence[str], of_chosen: Mapping[str, int], chosen: int, title: str) -> None:
        """Begin with what the chosen dives have.

        tags       every tag of the logbook
        of_chosen  how many of the chosen dives have each
        """
        self._tags, self._of_chosen, self._wanted = list(tags), dict(of_chosen), {}
        self.chosen, self.title = chosen, title
        self.ids.new.text = ""
        self._list()
        self.ids.tags.scroll_y = 1

    def touch(self, tag: str) -> None:
        """Give a tag to all, or take it from all; what would change nothing is let go of."""
        now = {line.chosen: line.mark for line in self._lines()}[tag]
        self._want(tag, now != ON)

    def add_new(self) -> None:
        """Give all a tag that is written down; one that is there already is that one."""
        written = " ".join(self.ids.new.text.split())
        if not written:
            return
        tag = next((tag for tag in self._tags if same_name(tag) == same_name(written)), written)
        if tag not in self._tags:
            self._tags.insert(0, tag)
        self.ids.new.text = ""
        self._want(tag, True)

    def accept(self) -> None:
        """Change the tags as they are shown, with one that is still being written."""
        self.add_new()
        add = [tag for tag, on in self._wanted.items() if on]
        self.dispatch("on_tags", add, [tag for tag, on in self._wanted.items() if not on])

    def button_words(self) -> str:
        """Return what the button says that changes them."""
        return _("Change tags")

    def on_tags(self, add: list[str], remove: list[str]) -> None:
        """The chosen dives shall have these tags, and not have those."""

    def on_close(self) -> None:
        """Nothing shall be changed."""

    def _want(self, tag: str, on: bool) -> None:
        self._wanted[tag] = on
        if self._of_chosen.get(tag, 0) == (self.chosen if on else 0):
            del self._wanted[tag]
        self._list()

    def _list(self) -> None:
        self.changes = len(self._wanted)
        self.ids.tags.data = self._lines()

    def _lines(self) -> list[Any]:
        held = self._of_chosen | {tag: self.chosen if on else 0 for tag, on in self._wanted.items()}
        return tag_lines(self._tags, held, self.chosen)
