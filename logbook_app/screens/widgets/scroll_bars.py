"""What every view that scrolls takes care of: Kivy's bars hold on to something at each step."""

from __future__ import annotations

from typing import Any

from kivy.uix.recycleview import RecycleView


class LetsGoOfBars:
    """Mixed into a ScrollView, before it: a page scrolled for a whole day weighs what it did.

    At each step Kivy binds the colour of the bars once more, and it lets go of one binding only when the
    bars fade; so the rest would stay, and with each longer scroll there would be more of them.
    """

    def update_from_scroll(self, *args: Any) -> None:
        """Let go of every binding of the bars; Kivy then makes the one that it needs."""
        self.unbind(bar_color=self._change_bar_color, bar_inactive_color=self._change_bar_color)  # type: ignore[attr-defined]
        super().update_from_scroll(*args)  # type: ignore[misc]


class RowsView(LetsGoOfBars, RecycleView):
    """A RecycleView that scrolls for as long as anybody likes."""
