"""Drives the real app in this process: a virtual clock, real touches, things found by name.

A touch goes through Kivy's input pipeline, so a widget that is covered, disabled or off the
screen does not get it, and the test fails with the tree of widgets printed. Time is virtual:
each frame adds a sixtieth of a second to Kivy's clock and to the clock on the dock, so a minute of
a ticking screen takes no minute. Threads run in real time; `until` waits for what they bring.

Kivy is imported in the methods, because `why_no_window` must be able to say first why there is none.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

from logbook_app.screens.start import DEBIAN_PACKAGES, missing_libraries, prepare_environment

FRAME_S = 1 / 60
LONGEST_WAIT_S = 60.0
MOST_ROUNDS = 50
MOST_SCROLLS = 10
TARGET_DP = 48
ON_THE_DOCK = datetime(2026, 11, 14, 14, 7, tzinfo=timezone(timedelta(hours=1)))

ENVIRONMENT = {
    "SDL_VIDEODRIVER": "offscreen",
    "SDL_AUDIODRIVER": "dummy",
    "KIVY_METRICS_DENSITY": "1",
    "KIVY_METRICS_FONTSCALE": "1",
    "KIVY_DPI": "160",
    # The largest window that any test asks for: one that nobody sees can be made smaller, but
    # what it draws on never grows.
    "KCFG_GRAPHICS_WIDTH": "1920",
    "KCFG_GRAPHICS_HEIGHT": "1280",
    "KCFG_GRAPHICS_MAXFPS": "0",
    "KCFG_GRAPHICS_VSYNC": "0",
    "KCFG_GRAPHICS_MULTISAMPLES": "0",
    "KCFG_KIVY_EXIT_ON_ESCAPE": "0",
}
SIZES = {"tablet": (1280, 800), "tablet upright": (800, 1280), "phone": (360, 640)}
_PROBE = "import kivy.core.window as w, sys; sys.stdout.write('open' if w.Window else 'none')"


def set_environment() -> None:
    """Prepare a window that nobody sees. A test module may import Kivy, so this comes before all."""
    os.environ.update(ENVIRONMENT, KIVY_HOME=tempfile.mkdtemp(prefix="leadline-kivy-"))
    prepare_environment()


def why_no_window() -> str | None:
    """Return one line saying why no window opens here, None where one does."""
    missing = missing_libraries()
    probe = subprocess.run([sys.executable, "-c", _PROBE], capture_output=True, text=True, timeout=120)
    if probe.returncode == 0 and "open" in probe.stdout:
        return None
    why = f"missing {', '.join(missing)}" if missing else f"no GL driver answered (exit {probe.returncode})"
    return f"Kivy cannot open a window here: {why}. On Debian: apt-get install {DEBIAN_PACKAGES}"


class Driver:
    """One window for the whole session; `start` puts a fresh app on it, `stop` clears it away."""

    def __init__(self) -> None:
        from kivy.config import Config

        for name, _ in list(Config.items("input")):
            Config.remove_option("input", name)
        import kivy.effects.kinetic
        import kivy.input.motionevent
        from kivy.base import EventLoop
        from kivy.clock import Clock
        from kivy.core.window import Window

        self.loop, self.kivy_clock, self.window = EventLoop, Clock, Window
        self._draw = Window.on_draw
        self.kivy_now_s = time.perf_counter()
        self.dock_time = ON_THE_DOCK
        # Flings and double taps read the time for themselves.
        for reader in (Clock, kivy.effects.kinetic, kivy.input.motionevent):
            reader.time = lambda: self.kivy_now_s
        self.app: Any = None
        self._asked = 0

    # The life of an app

    def start(self, app: Any, size: tuple[int, int] = (1280, 800), text_scale: float = 1.0) -> Driver:
        """Put an app on the window and let it draw."""
        from kivy.metrics import Metrics

        from logbook_app.screens.portraits import put_on_window

        Metrics.fontscale = text_scale
        self.app = app
        self._count_questions()
        put_on_window(app, size)
        self.frames(3)
        return self

    def stop(self) -> None:
        """Stop the app as closing its window does, and leave nothing of it behind."""
        if self.app is None:
            return
        from logbook_app.screens.portraits import take_off_window

        take_off_window(self.app)
        self.loop.touches.clear()
        self._end_animations()
        for event in list(self.kivy_clock.get_events()):
            event.cancel()
        self.app = None

    @staticmethod
    def _end_animations() -> None:
        """Kivy keeps an animation, and with its widget the whole app, until it ends; now it never would."""
        from kivy.animation import Animation

        for animation in list(Animation._instances):
            for animated in list(animation._widgets.values()):
                animation.cancel(animated["widget"])

    def resize(self, width: int, height: int) -> None:
        """Make the window this large."""
        if tuple(self.window.size) != (width, height):
            self.window.size = width, height
        self.frames(3)

    def at_each_size(self) -> Iterator[tuple[int, int]]:
        """Turn the window through all sizes, as a tablet is turned, and give each once it is laid out."""
        for size in SIZES.values():
            self.resize(*size)
            self.frames(4)
            yield size

    # Time

    def clock(self) -> datetime:
        """The clock on the dock: it moves with the frames."""
        return self.dock_time

    def frames(self, count: int = 1) -> None:
        """Let this many frames pass. Only the last is drawn: a software driver is slow at it."""
        self._undrawn(count - 1)
        self._frame()

    def _undrawn(self, count: int) -> None:
        self.window.on_draw = _draw_nothing
        for _ in range(count):
            self._frame()
        self.window.on_draw = self._draw

    def _frame(self) -> None:
        self.kivy_now_s += FRAME_S
        self.dock_time += timedelta(seconds=FRAME_S)
        self.loop.idle()

    def wait(self, seconds: float) -> None:
        """Let this much virtual time pass, frame by frame."""
        self.frames(round(seconds / FRAME_S))

    def leap(self, later: timedelta) -> None:
        """Let the clock on the dock jump, as after a sleep with the screen off, then a second pass."""
        self.dock_time += later
        self.wait(1.5)

    def until(self, condition: Callable[[], Any], what: str = "") -> Any:
        """Let frames pass until something is true; threads have real time to bring it about."""
        end = time.monotonic() + LONGEST_WAIT_S
        while not (value := condition()):
            if time.monotonic() > end:
                raise AssertionError(f"{what or condition} did not come in {LONGEST_WAIT_S} s\n{self.tree()}")
            self._undrawn(1)
            time.sleep(0.001)
        return value

    def idle(self) -> None:
        """Wait until the worker has answered everything asked so far, what that led to, and it is drawn.

        An answer may ask again, as opening a page does; so until nothing new was asked meanwhile.
        """
        for _ in range(MOST_ROUNDS):
            asked = self._asked + 1
            self._ask_and_wait()
            if self._asked == asked:
                return
        raise AssertionError(f"the app asks its worker without end\n{self.tree()}")

    def _ask_and_wait(self) -> None:
        answered: list[bool] = []
        self.app.ask(lambda _logbook: None, then=lambda _: answered.append(True))
        self.until(lambda: answered, "an answer of the worker")
        self.frames(3)

    def _count_questions(self) -> None:
        """Count what the app asks its worker from now on; an app of one widget asks nothing."""
        self._asked = 0
        for name in {"ask", "run_long"} & set(dir(self.app)):
            setattr(self.app, name, self._counting(getattr(self.app, name)))

    def _counting(self, ask: Callable[..., Any]) -> Callable[..., Any]:
        def counted(*args: Any, **kwargs: Any) -> Any:
            self._asked += 1
            return ask(*args, **kwargs)

        return counted

    # Finding

    def walk(self) -> Iterator[Any]:
        """Yield every widget on the window, parents first."""

        def below(widget: Any) -> Iterator[Any]:
            yield widget
            for child in reversed(widget.children):
                yield from below(child)

        for top in list(self.window.children):
            yield from below(top)

    def find_all(
        self, *, test_id: str | None = None, role: str | None = None, text: str | None = None
    ) -> list[Any]:
        """Return the visible widgets with this test_id, class name (own or a parent's) and text."""
        return [
            widget
            for widget in self.walk()
            if (test_id is None or getattr(widget, "test_id", None) == test_id)
            and (role is None or role in {parent.__name__ for parent in type(widget).__mro__})
            and (text is None or getattr(widget, "text", None) == text)
            and _visible(widget)
        ]

    def find(self, **query: str) -> Any:
        """Return the one visible widget that answers the query."""
        found = self.find_all(**query)
        if len(found) != 1:
            raise AssertionError(f"{len(found)} widgets answer {query}\n{self.tree()}")
        return found[0]

    def words(self) -> list[str]:
        """Return every text on the screen, in reading order of the tree."""
        return [widget.text for widget in self.walk() if getattr(widget, "text", "") and _visible(widget)]

    def says(self, part: str) -> bool:
        """True where some text on the screen has this part."""
        return any(part in text for text in self.words())

    def tree(self) -> str:
        """Return the widgets as indented lines: class, test_id, text, place."""
        lines = []

        def down(widget: Any, depth: int) -> None:
            place = [round(value) for value in (*widget.to_window(*widget.pos), *widget.size)]
            text = getattr(widget, "text", "")
            name = getattr(widget, "test_id", "")
            lines.append(f"{'  ' * depth}{type(widget).__name__} {name!r} {str(text)[:40]!r} {place}")
            for child in reversed(widget.children):
                down(child, depth + 1)

        for top in self.window.children:
            down(top, 0)
        return "\n".join(lines[:300])

    # Acting

    def finger(self, x: float, y: float) -> Any:
        """Return a finger that can go down, move and come up."""
        return _finger_at(self.window, self.loop, x, y)

    def tap(self, widget: Any = None, **query: str) -> Any:
        """Tap the middle of a widget, and see that the widget itself got the touch."""
        widget = widget if widget is not None else self.find(**query)
        got: list[bool] = []

        def felt(_widget: Any, touch: Any) -> None:
            if widget.collide_point(*touch.pos):
                got.append(True)

        widget.bind(on_touch_down=felt)
        finger = self.finger(*self.middle(widget))
        finger.down()
        self._undrawn(2)
        finger.up()
        self.frames(12)  # a tap in a scrolled list is passed on after its scroll timeout
        widget.unbind(on_touch_down=felt)
        if not got:
            raise AssertionError(f"the tap never reached {widget}: covered or disabled\n{self.tree()}")
        return widget

    def drag(self, widget: Any, dx: float = 0, dy: float = 0, frames: int = 8) -> None:
        """Put a finger on the middle of a widget, move it, and lift it."""
        x, y = self.middle(widget)
        self.drag_from(x, y, dx, dy, frames)

    def drag_from(self, x: float, y: float, dx: float, dy: float, frames: int = 8) -> None:
        """Put a finger on a point of the window, move it, and lift it."""
        finger = self.finger(x, y)
        finger.down()
        self._undrawn(1)
        for step in range(1, frames + 1):
            finger.move(x + dx * step / frames, y + dy * step / frames)
            self._undrawn(1)
        finger.up()
        self.frames(1)

    def bring_into_view(self, widget: Any) -> Any:
        """Scroll the list or page that a widget is in until it can be touched.

        A page that is still being laid out may grow meanwhile and carry it away again.
        """
        parent = widget.parent
        while parent is not None and parent is not self.window:
            if "ScrollView" in {kind.__name__ for kind in type(parent).__mro__}:
                break
            parent = parent.parent
        for _ in range(MOST_SCROLLS):
            if parent is not None and parent is not self.window:
                parent.scroll_to(widget, padding=24, animate=False)
            self.frames(3)
            if self._middle_is_seen(widget):
                break
        return widget

    def _middle_is_seen(self, widget: Any) -> bool:
        x, y = widget.to_window(*widget.center)
        return bool(0 <= x < self.window.width and 0 <= y < self.window.height)

    def middle(self, widget: Any) -> tuple[float, float]:
        """Return the middle of a widget on the window; it must be on the screen."""
        x, y = widget.to_window(*widget.center)
        if not self._middle_is_seen(widget):
            raise AssertionError(f"{widget} is off the screen at {x:.0f}, {y:.0f}: bring_into_view first")
        return x, y

    def type(self, text: str) -> None:
        """Type into whatever has the focus."""
        for character in text:
            self.window.dispatch("on_textinput", character)
        self.frames(2)

    def press_back(self) -> None:
        """Press the back key of a phone, which is Escape on a keyboard."""
        self.press_key(27, "escape")

    def press_key(self, code: int, name: str = "") -> None:
        """Press and release one key."""
        text = name if len(name) == 1 else None  # as SDL has it: escape and the arrows are no text
        if not self.window.dispatch("on_key_down", code, 0, text, []):
            self.window.dispatch("on_keyboard", code, 0, text, [])
        self.window.dispatch("on_key_up", code, 0)
        self.frames(2)

    # Geometry

    def misfits(self) -> list[str]:
        """Return all that does not fit the window, in words that begin with its size."""
        found = [
            *(f"too small: {words}" for words in self.small_targets()),
            *(f"too close: {words}" for words in self.close_targets()),
            *(f"on top of each other: {words}" for words in self.overlapping_targets()),
            *(f"clipped: {words}" for words in self.clipped_texts()),
            *(f"overlapping: {words}" for words in self.overlapping_texts()),
            *(f"out of the window: {words}" for words in self.texts_out_of_window()),
            *(f"out of the window: {words}" for words in self.targets_out_of_window()),
        ]
        width, height = self.window.size
        return [f"{width} x {height}, {words}" for words in found]

    def small_targets(self) -> list[str]:
        """Return the visible things to tap that are smaller than a wet finger, in words."""
        from kivy.metrics import dp

        return [
            f"{_name(widget)} is {widget.width:.0f} x {widget.height:.0f}"
            for widget in self.find_all(role="ButtonBehavior")
            if min(widget.size) < dp(TARGET_DP) - 0.5
        ]

    def close_targets(self) -> list[str]:
        """Return the pairs of things to tap with less than 8 dp between them, in words."""
        from kivy.metrics import dp

        targets = self.find_all(role="ButtonBehavior")
        pairs = [(a, b) for at, a in enumerate(targets) for b in targets[at + 1 :] if a.parent is b.parent]
        return [
            f"{_name(a)} and {_name(b)} are {_gap(a, b):.0f} apart"
            for a, b in pairs
            if _gap(a, b) < dp(8) - 0.5
        ]

    def overlapping_targets(self) -> list[str]:
        """Return the pairs of things to tap that lie over each other, wherever they belong, in words."""
        boxes = [(target, _in_view(target)) for target in self.find_all(role="ButtonBehavior")]
        return [
            f"{_name(a)} and {_name(b)}"
            for at, (a, box_a) in enumerate(boxes)
            for b, box_b in boxes[at + 1 :]
            if _overlap(box_a, box_b) and not _one_in_the_other(a, b)
        ]

    def pale_texts(self) -> list[str]:
        """Return the texts that do not stand out enough from what they lie on, in words."""
        from logbook_app.screens.theme import contrast

        theme, found = self.app.look.theme, []
        for label in self.find_all(role="Label"):
            if not label.text or _faded(label):
                continue
            quiet = tuple(label.color) in (theme.quiet, theme.accent) or label.font_name == "icons"
            least = 4.5 if quiet else 7.0
            ratio = contrast(tuple(label.color), _ground(label, theme))
            if ratio < least:
                found.append(f"{_name(label)}: {ratio:.1f} to 1")
        return found

    def clipped_texts(self) -> list[str]:
        """Return the texts that do not fit into their label, in words."""
        return [
            f"{_name(label)}: {label.texture_size} in {[round(side) for side in label.size]}"
            for label in self.find_all(role="Label")
            if label.text
            and (label.texture_size[0] > label.width + 1 or label.texture_size[1] > label.height + 1)
        ]

    def overlapping_texts(self) -> list[str]:
        """Return the pairs of labels whose texts lie over each other, in words."""
        boxes = [(label, _seen(label)) for label in self.find_all(role="Label") if label.text]
        return [
            f"{_name(a)} and {_name(b)}"
            for at, (a, box_a) in enumerate(boxes)
            for b, box_b in boxes[at + 1 :]
            if _overlap(box_a, box_b)
        ]

    def broken_words(self) -> list[str]:
        """Return the labels in which a line ends within a word, with the word."""
        return [
            f"{_name(label)}: {word!r}"
            for label in self.find_all(role="Label")
            if label.text_size[0] and not label.shorten
            for word in _words_of(label)
            if label._label.get_extents(word)[0] > label.text_size[0]
        ]

    def texts_out_of_window(self) -> list[str]:
        """Return the texts that reach over the left or right edge of the window, in words."""
        return [
            f"{_name(label)} from {left:.0f} to {right:.0f}"
            for label in self.find_all(role="Label")
            for left, _, right, _ in [_text_box(label)]
            if label.text and (left < -1 or right > self.window.width + 1)
        ]

    def targets_out_of_window(self) -> list[str]:
        """Return the things to tap that reach over the left or right edge of the window, in words."""
        return [
            f"{_name(widget)} from {left:.0f} to {left + widget.width:.0f}"
            for widget in self.find_all(role="ButtonBehavior")
            for left in [widget.to_window(*widget.pos)[0]]
            if left < -1 or left + widget.width > self.window.width + 1
        ]

    # Looking

    def colour_at(self, x: int, y: int) -> tuple[float, ...]:
        """Return red, green, blue and alpha of one point of the window as it is drawn."""
        from kivy.graphics.opengl import GL_RGBA, GL_UNSIGNED_BYTE, glReadPixels

        self.window.canvas.ask_update()
        self.window.dispatch("on_draw")
        point = glReadPixels(x, y, 1, 1, GL_RGBA, GL_UNSIGNED_BYTE)
        self.window.dispatch("on_flip")
        return tuple(channel / 255 for channel in point)

    def picture(self, path: Path) -> Path:
        """Write what is on the window as a PNG."""
        from logbook_app.screens.portraits import write_picture

        path.parent.mkdir(parents=True, exist_ok=True)
        return write_picture(path)


def _draw_nothing() -> None:
    pass


OpenApp = Callable[..., Driver]


def _finger_at(window: Any, loop: Any, x: float, y: float) -> Any:
    from kivy.input.motionevent import MotionEvent

    class Finger(MotionEvent):  # type: ignore[misc]
        def depack(self, args: dict[str, float]) -> None:
            self.sx, self.sy = args["x"], args["y"]
            self.profile = ["pos"]
            super().depack(args)

        def down(self) -> None:
            loop.post_dispatch_input("begin", self)

        def move(self, to_x: float, to_y: float) -> None:
            self.move_to(to_x, to_y)
            loop.post_dispatch_input("update", self)

        def up(self) -> None:
            loop.post_dispatch_input("end", self)

        def move_to(self, to_x: float, to_y: float) -> None:
            super().move(_share(to_x, to_y))

    def _share(at_x: float, at_y: float) -> dict[str, float]:
        return {"x": at_x / (window.width - 1.0), "y": at_y / (window.height - 1.0)}

    return Finger("finger", 1, _share(x, y), is_touch=True, type_id="touch")


def _visible(widget: Any) -> bool:
    """False where the widget or a parent is faded out or has no size."""
    while widget is not None and hasattr(widget, "opacity"):
        if not widget.opacity or (widget.parent is not None and not (widget.width and widget.height)):
            return False
        widget = widget.parent if widget.parent is not widget else None
    return True


def _name(widget: Any) -> str:
    label = getattr(widget, "test_id", "") or str(getattr(widget, "text", ""))[:40]
    return f"{type(widget).__name__} {label!r}"


def _words_of(label: Any) -> list[str]:
    """Return what stands between the places where a line may end."""
    drawn = label._label.text
    return re.split("[ \n]+", re.sub(r"\[[^]]*\]", "", drawn) if label.markup else drawn)


def _gap(a: Any, b: Any) -> float:
    (ax, ay), (bx, by) = a.to_window(*a.pos), b.to_window(*b.pos)
    across = max(bx - (ax + a.width), ax - (bx + b.width))
    up = max(by - (ay + a.height), ay - (by + b.height))
    return max(across, up)


def _text_box(label: Any) -> tuple[float, float, float, float]:
    """Return left, bottom, right, top of the text in a label, on the window."""
    x, y = label.to_window(*label.pos)
    width, height = label.texture_size
    start = {"left": 0.0, "auto": 0.0, "justify": 0.0, "right": 1.0, "center": 0.5}[label.halign]
    if not label.text_size[0]:
        start = 0.5
    left = x + (label.width - width) * start
    return left, y + (label.height - height) / 2, left + width, y + (label.height + height) / 2


def _in_view(widget: Any) -> tuple[float, float, float, float]:
    """Return the box of a widget as far as the pages that it scrolls in let it be touched."""
    x, y = widget.to_window(*widget.pos)
    return _as_far_as_seen(widget, (x, y, x + widget.width, y + widget.height))


def _one_in_the_other(a: Any, b: Any) -> bool:
    return any(a is parent for parent in _parents(b)) or any(b is parent for parent in _parents(a))


def _parents(widget: Any) -> Iterator[Any]:
    while widget.parent is not None and widget.parent is not widget:
        widget = widget.parent
        yield widget


def _faded(widget: Any) -> bool:
    """True of what is disabled as a part of something larger: it is paler as a whole."""
    return any(getattr(parent, "opacity", 1) < 1 for parent in (widget, *_parents(widget)))


def _ground(label: Any, theme: Any) -> tuple[float, ...]:
    """Return the colour that a label lies on: that of the nearest box with one, else of rail or paper."""
    for parent in _parents(label):
        ground = getattr(parent, "ground", None)
        if ground is not None and ground[3] > 0.99:
            return tuple(ground)
        entry = theme.ink if getattr(parent, "chosen", False) else theme.rail
        named = {"RailEntry": entry, "Rail": theme.rail, "UndoBar": theme.ink}.get(type(parent).__name__)
        if named is not None:
            return tuple(named)
    return tuple(theme.paper)


def _seen(label: Any) -> tuple[float, float, float, float]:
    """Return the box of a text as far as the page that it scrolls in lets it be seen."""
    return _as_far_as_seen(label, _text_box(label))


def _as_far_as_seen(widget: Any, box: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    left, bottom, right, top = box
    for parent in _parents(widget):
        if "ScrollView" in {kind.__name__ for kind in type(parent).__mro__}:
            x, y = parent.to_window(*parent.pos)
            left, bottom = max(left, x), max(bottom, y)
            right, top = min(right, x + parent.width), min(top, y + parent.height)
    return left, bottom, right, top


def _overlap(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    slack = 2.0
    across = min(a[2], b[2]) - max(a[0], b[0])
    up = min(a[3], b[3]) - max(a[1], b[1])
    return across > slack and up > slack
