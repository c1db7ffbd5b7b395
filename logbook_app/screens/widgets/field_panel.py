"""Where one field of the record is changed: its editor, and the number pad where a number is asked for."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.language import _
from logbook_app.screens.kv_files import KvBeside


class FieldPanel(KvBeside, BoxLayout):
    """A sheet with one editor. Events: `on_save(values)`, and `on_close` when the diver puts it away."""

    __events__ = ("on_save", "on_close")

    label = StringProperty("")
    """What is changed."""

    trouble = StringProperty("")
    """Why it could not be kept, in one sentence."""

    editor = ObjectProperty(None, allownone=True)
    """The editor, None while the sheet is away."""

    asking = BooleanProperty(False)
    """True while the pad asks for a number."""

    pad_alone = BooleanProperty(False)
    """True where there is room for the pad or the editor, not for both."""

    most_height = NumericProperty(0)
    """What the sheet may take of the page's height; 0 where it stands beside the page."""

    def __init__(self, **kwargs: Any) -> None:
        self._take: Callable[[str], None] = _nothing
        self._done: Callable[[], None] | None = None
        super().__init__(**kwargs)

    def open(self, label: str, editor: Any) -> None:
        """Show an editor in place of the one before."""
        self.put_pad_away()
        self.ids.content.clear_widgets()
        self.label, self.trouble, self.editor = label, "", editor
        editor.bind(
            on_save=lambda _editor, values: self._save(values),
            on_ask=lambda _editor, asked, text, take, done: self.ask(asked, text, take, done),
        )
        self.ids.content.add_widget(editor)
        self.ids.scroll.scroll_y = 1
        editor.opened()

    def close(self) -> None:
        """Put the sheet away; what was not saved is left as it was."""
        self.put_pad_away()
        self.ids.content.clear_widgets()
        self.editor, self.trouble = None, ""

    def ask(
        self, asked: Any, text: str, take: Callable[[str], None], done: Callable[[], None] | None = None
    ) -> None:
        """Let the pad ask for a number.

        take   called with the text after each key
        done   called when the diver is through; None puts the pad away
        """
        self._take, self._done = _nothing, done
        self.ids.pad.ask(asked, text, _("Save") if done else _("Done"))
        self._take, self.asking = take, True

    def typed(self, text: str) -> None:
        """Take a key of the pad."""
        self.trouble = ""
        self._take(text)

    def through(self) -> None:
        """The diver is done with the number."""
        if self._done is not None:
            self._done()
        else:
            self.put_pad_away()

    def put_pad_away(self) -> None:
        """Close the pad; a sheet that asks for one number alone is closed with it."""
        self.asking, self._take = False, _nothing
        self.ids.pad.asked = None

    def pad_closed(self) -> None:
        """Close what the diver closed."""
        if self._done is not None:
            self.dispatch("on_close")
        else:
            self.put_pad_away()

    def on_save(self, values: dict[str, Any]) -> None:
        """The diver gave the field anew."""

    def on_close(self) -> None:
        """The diver put the sheet away."""

    def _save(self, values: dict[str, Any]) -> None:
        self.trouble = ""
        self.dispatch("on_save", values)


class Editor(KvBeside, BoxLayout):
    """What every editor shares. Events: `on_save(values)`, and `on_ask(asked, text, take, done)`."""

    __events__ = ("on_save", "on_ask")

    editing = ObjectProperty(None)
    """What is being changed (`Editing`)."""

    name = StringProperty("")
    """Name of the field."""

    def opened(self) -> None:
        """The editor is on the sheet."""

    def on_save(self, values: dict[str, Any]) -> None:
        """The diver gave these values."""

    def on_ask(self, asked: Any, text: str, take: Any, done: Any) -> None:
        """The editor wants a number."""


def _nothing(_text: str) -> None:
    pass
