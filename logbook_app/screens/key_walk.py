"""Everything that can be tapped can be reached by keys: Tab walks, Enter or Space presses.

A frame around the thing that Enter would press shows where one is; a touch takes it away. While
text is being typed the keys belong to the text.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from kivy.core.window import Window
from kivy.graphics import Color, InstructionGroup, Line
from kivy.metrics import dp
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.scrollview import ScrollView

TAB, ENTER, KEYPAD_ENTER, SPACE = 9, 13, 271, 32


class KeyWalk:
    """Walks over what can be pressed on a window, in the order in which it is read.

    look   for the colour of the frame
    """

    def __init__(self, look: Any) -> None:
        self._look = look
        self._at: Any = None
        self._frame = InstructionGroup()

    def start(self) -> None:
        """Listen to the keys."""
        Window.bind(on_key_down=self._on_key, on_touch_down=self._on_touch)

    def stop(self) -> None:
        """Listen no more."""
        self._leave()
        Window.unbind(on_key_down=self._on_key, on_touch_down=self._on_touch)

    def _on_key(self, _window: Any, key: int, _scan: int, _text: str, modifiers: list[str]) -> bool:
        if _typing():
            return False
        if key == TAB:
            self._step(-1 if "shift" in modifiers else 1)
            return True
        if key in (ENTER, KEYPAD_ENTER, SPACE) and self._at in list(_pressable()):
            self._at.trigger_action(0.1)
            return True
        return False

    def _on_touch(self, _window: Any, _touch: Any) -> bool:
        self._leave()
        return False

    def _step(self, by: int) -> None:
        things = list(_pressable())
        if not things:
            return
        start = -1 if by > 0 else 0
        index = things.index(self._at) if self._at in things else start
        self._stand_at(things[(index + by) % len(things)])

    def _stand_at(self, thing: Any) -> None:
        self._leave()
        self._at = thing
        for parent in _parents(thing):
            if isinstance(parent, ScrollView):
                parent.scroll_to(thing, animate=False)
        around = dp(3)
        box = (thing.x - around, thing.y - around, thing.width + 2 * around, thing.height + 2 * around)
        self._frame.clear()
        self._frame.add(Color(*self._look.theme.blue))
        self._frame.add(Line(rectangle=box, width=dp(1.5)))
        thing.canvas.after.add(self._frame)
        thing.bind(pos=self._leave, size=self._leave)

    def _leave(self, *_args: Any) -> None:
        if self._at is not None:
            self._at.unbind(pos=self._leave, size=self._leave)
            self._at.canvas.after.remove(self._frame)
            self._at = None


def _pressable() -> Iterator[Any]:
    """Yield what can be pressed, from the top of the tree, first child first."""

    def below(widget: Any) -> Iterator[Any]:
        if widget.disabled or not widget.opacity:
            return
        if isinstance(widget, ButtonBehavior) and widget.width and widget.height:
            yield widget
        for child in reversed(widget.children):
            yield from below(child)

    for top in list(Window.children):
        yield from below(top)


def _parents(widget: Any) -> Iterator[Any]:
    while widget.parent is not None and widget.parent is not widget:
        widget = widget.parent
        yield widget


def _typing() -> bool:
    """True where something on the window takes text."""
    return any(getattr(widget, "focus", False) for top in Window.children for widget in top.walk())
