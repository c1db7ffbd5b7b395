"""The look as it is now: theme, width of the window, size of text. Widgets bind to it.

In kv it is `app.look`: `color: app.look.theme.ink`, `cols: 1 if app.look.narrow else 2`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from weakref import ref

from kivy.event import EventDispatcher
from kivy.metrics import Metrics
from kivy.properties import AliasProperty, NumericProperty, ObjectProperty

from logbook_app.screens.theme import DAY, RAIL_FROM_DP, THEMES

NARROW_UNDER_DP = 600


class Look(EventDispatcher):
    """What every widget follows."""

    theme = ObjectProperty(DAY, rebind=True)
    """The current Theme: colours by role."""

    width_dp = NumericProperty(1280)
    """Width of the window in dp."""

    height_dp = NumericProperty(800)
    """Height of the window in dp."""

    text_scale = NumericProperty(1.0)
    """How many times larger than the usual size text is."""

    _system_scale = 1.0

    narrow = AliasProperty(lambda self: self.width_dp < NARROW_UNDER_DP, None, bind=["width_dp"], cache=True)
    """True where there is room for one column only."""

    cramped = AliasProperty(
        lambda self: self.width_dp < 500 * self.text_scale and self.height_dp < 600 * self.text_scale,
        None,
        bind=["width_dp", "height_dp", "text_scale"],
        cache=True,
    )
    """True where text is so large for the window that a few sentences would fill a third of it."""

    wide = AliasProperty(lambda self: self.width_dp >= RAIL_FROM_DP, None, bind=["width_dp"], cache=True)
    """True where the rail stands at the left; under it a bar lies at the bottom."""

    def follow(self, window: Any) -> None:
        """Take the size of the window, now and whenever it changes; undo with `unfollow`."""
        self._system_scale = self.text_scale = Metrics.fontscale
        window.bind(size=self._measure)
        self._measure(window, window.size)

    def unfollow(self, window: Any) -> None:
        """Stop following the window."""
        window.unbind(size=self._measure)

    def tell(self, owner: Any, told: Callable[[Any], Any], *names: str) -> None:
        """Call `told(owner)` when one of these properties changes, for as long as the owner lives.

        The look outlives every page. What is bound to it with `bind` or `fbind` stays bound, and some of
        it keeps the widget alive; what is told is forgotten with its owner.
        """

        def call(*_args: Any) -> None:
            alive = owned()
            if alive is not None:
                told(alive)

        def forget(_gone: Any) -> None:
            for name, uid in bound:
                self.unbind_uid(name, uid)

        owned = ref(owner, forget)
        bound = [(name, self.fbind(name, call)) for name in names]

    def wear(self, theme_name: str) -> None:
        """Change to the theme of this name; an unknown name means day."""
        self.theme = THEMES.get(theme_name, DAY)

    def scale_text(self, text_scale: float) -> None:
        """Make all text this many times the size that the system asks for."""
        self.text_scale = Metrics.fontscale = self._system_scale * text_scale

    def _measure(self, _window: Any, size: tuple[int, int]) -> None:
        self.width_dp = size[0] / Metrics.density
        self.height_dp = size[1] / Metrics.density
