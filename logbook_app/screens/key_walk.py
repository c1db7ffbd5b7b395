"""Everything that can be tapped or written in can be reached by keys: Tab walks, Enter or Space presses.

A frame around the thing that Enter would press shows where one is; a touch takes it away. A field has
its own frame, and while text is being typed every key but Tab belongs to the text. A long list is one
stop; the arrows go from row to row.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from kivy.core.window import Window
from kivy.graphics import Color, InstructionGroup, Line
from kivy.metrics import dp
from kivy.uix.behaviors import ButtonBehavior, FocusBehavior
from kivy.uix.scrollview import ScrollView

TAB, ENTER, KEYPAD_ENTER, SPACE = 9, 13, 271, 32
UP, DOWN = 273, 274


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
        if key == TAB:
            self._step(-1 if "shift" in modifiers else 1)
            return True
        if _written_in() is not None:
            return False
        if key in (UP, DOWN):
            return self._go_to_row(-1 if key == UP else 1)
        if key in (ENTER, KEYPAD_ENTER, SPACE) and self._at in self._things():
            self._at.trigger_action(0.1)
            return True
        return False

    def _on_touch(self, _window: Any, _touch: Any) -> bool:
        self._leave()
        return False

    def _step(self, by: int) -> None:
        things, written_in = self._things(), _written_in()
        at = self._at if written_in is None else written_in
        if not things:
            return
        start = -1 if by > 0 else 0
        index = things.index(at) if at in things else start
        if written_in is not None:
            written_in.focus = False
        self._stand_at(things[(index + by) % len(things)])

    def _go_to_row(self, by: int) -> bool:
        """Go to the next row of a list; False where one stands in none, or at its end."""
        if not getattr(self._at and self._at.parent, "one_stop", False):
            return False
        rows = _rows(self._at.parent)
        index = rows.index(self._at) + by if self._at in rows else -1
        if not 0 <= index < len(rows):
            return False
        self._stand_at(rows[index])
        return True

    def _things(self) -> list[Any]:
        return list(_reachable(self._at))

    def _stand_at(self, thing: Any) -> None:
        self._leave()
        for parent in _parents(thing):
            if isinstance(parent, ScrollView):
                parent.scroll_to(thing, animate=False)
        if isinstance(thing, FocusBehavior):
            thing.focus = True
            return
        self._at = thing
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


def _reachable(at: Any) -> Iterator[Any]:
    """Yield what keys can reach, from the top of the tree, first child first.

    at   where one stands: of the rows of a list it is the one that is yielded
    """

    def below(widget: Any) -> Iterator[Any]:
        if widget.disabled or not widget.opacity:
            return
        if getattr(widget, "one_stop", False):
            yield from _stop_of(widget, at)
            return
        if _can_be_reached(widget):
            yield widget
        for child in reversed(widget.children):
            yield from below(child)

    for top in list(Window.children):
        yield from below(top)


def _can_be_reached(widget: Any) -> bool:
    can_be_pressed = getattr(widget, "can_be_pressed", isinstance(widget, ButtonBehavior | FocusBehavior))
    return bool(can_be_pressed and widget.width and widget.height)


def _rows(listed: Any) -> list[Any]:
    """Return the rows of a list that there are widgets for, the upper first."""
    return sorted(filter(_can_be_reached, listed.children), key=lambda row: -row.y)


def _stop_of(listed: Any, at: Any) -> Iterator[Any]:
    """Yield the row where one stands, else the first that is seen as a whole."""
    view = listed.parent
    seen = [
        row for row in _rows(listed) if row.to_window(0, row.top)[1] <= view.to_window(0, view.top)[1] + 1
    ]
    yield from [at] if at in seen else seen[:1]


def _parents(widget: Any) -> Iterator[Any]:
    while widget.parent is not None and widget.parent is not widget:
        widget = widget.parent
        yield widget


def _written_in() -> Any:
    """Return the field that takes text now, None where there is none."""
    widgets = (widget for top in Window.children for widget in top.walk())
    return next((widget for widget in widgets if isinstance(widget, FocusBehavior) and widget.focus), None)
