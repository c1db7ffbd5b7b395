"""The field that text is typed into: Tab leaves it for whatever is read next."""

from __future__ import annotations

from typing import Any

from kivy.uix.textinput import TextInput


class WrittenField(TextInput):
    """A TextInput. Kivy's own walks from field to field with Tab and passes over everything else."""

    def keyboard_on_key_down(self, window: Any, keycode: Any, text: str, modifiers: list[str]) -> bool:
        """Take every key but Tab, which is for `KeyWalk`."""
        if keycode[1] == "tab":
            return False
        return bool(super().keyboard_on_key_down(window, keycode, text, modifiers))
