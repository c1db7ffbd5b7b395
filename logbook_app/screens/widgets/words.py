"""Text that wraps to its width and is as high as it needs: titles, labels, sentences."""

from __future__ import annotations

import re
from typing import Any

from kivy.properties import OptionProperty, StringProperty
from kivy.uix.label import Label

from logbook_app.analysis.unparted import unparted
from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.theme import TYPE_SP

LEAST_OF_TYPE = 0.5  # of its size; what is wider even then, such as a path, is broken
LONGEST_MEASURED = 3  # of the words: one with a letter more may be narrower
_NO_WORDS = re.compile(r"\[[^]]*\]")  # markup


class Words(KvBeside, Label):
    """A run of text of one kind and role. Give it a width; it takes the height it needs."""

    kind = OptionProperty("body", options=list(TYPE_SP))
    """Which step of the type scale."""

    role = StringProperty("ink")
    """Which colour of the theme."""

    test_id = StringProperty("")
    """How tests find it."""

    def texture_update(self, *args: Any) -> None:
        """Set the lines so that none ends within a word: one that is wider than its room is set smaller.

        All around it becomes smaller with it. The size of type that was asked for stays as it was given.
        """
        share, room = 1.0, self.text_size[0]
        self._label.resolve_font_name()  # of a face that was made bold just now
        self._label.options["font_size"] = self.font_size
        while room and share > LEAST_OF_TYPE and (widest := self._widest_word()) > room:
            # More than once: letters are set to whole pixels, and do not become narrower evenly.
            share = max(LEAST_OF_TYPE, share * min(room / widest, 0.98))
            self._label.options["font_size"] = self.font_size * share
        super().texture_update(*args)

    def _create_label(self) -> None:
        super()._create_label()
        self._label.text = unparted(self.text)

    def _trigger_texture_update(self, name: str | None = None, source: Any = None, value: Any = None) -> None:
        """Set the words so that no figure is parted from its unit; `text` stays as it was given."""
        super()._trigger_texture_update(name, source, unparted(value) if name == "text" and value else value)

    def _widest_word(self) -> float:
        """Return the width of the widest of what stands between the places where a line may end. [px]"""
        words = _NO_WORDS.sub("", self._label.text) if self.markup else self._label.text
        longest = sorted(re.split("[ \n]+", words), key=len)[-LONGEST_MEASURED:]
        return max(self._label.get_extents(word)[0] for word in longest)


class Title(Words):
    """What a room is called, at its top."""


class Heading(Words):
    """What a card is about."""


class Quiet(Words):
    """A second line: what a figure rests on, a label."""


class Icon(KvBeside, Label):
    """One icon by its name in `icons.py`. It never stands alone: words say what it means."""

    icon = StringProperty("")
    """Name of the icon."""

    role = StringProperty("ink")
    """Which colour of the theme."""
