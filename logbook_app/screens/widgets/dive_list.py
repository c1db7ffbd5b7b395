"""The list of dives: ten thousand of them open and fly as ten do."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.properties import StringProperty

from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.logbook_lines import RowWords
from logbook_app.screens.widgets.dive_row import DiveRow, row_height_px
from logbook_app.screens.widgets.fixed_rows import FixedRows, Lines
from logbook_app.screens.widgets.scroll_bars import RowsView
from logbook_app.screens.widgets.text_textures import TextTextures


class DiveList(KvBeside, RowsView):
    """Rows of `RowWords` in `data`, any sequence: one that makes its rows when they show costs nothing.

    Keep a list alive rather than build it again for each visit.
    """

    test_id = StringProperty("dive-list")
    """How tests find it."""

    def __init__(self, data: Sequence[RowWords] = (), **kwargs: Any) -> None:
        self.register_event_type("on_choose")
        super().__init__(data_model=Lines(), **kwargs)
        self.look = App.get_running_app().look
        self.texts = TextTextures()
        self._rows = FixedRows(viewclass=DiveRow, row_height=row_height_px())
        self.add_widget(self._rows)
        self.data = data  # a RecycleView drops data that comes before its model is there
        # Rows are measured when the size of text has reached all of Kivy, not in the middle of it.
        self._measure_soon = Clock.create_trigger(lambda _dt: self._measure(), -1)
        self.look.tell(self, lambda listed: listed.repaint(), "theme", "narrow")
        self.look.tell(self, lambda listed: listed._measure_soon(), "text_scale")

    def on_choose(self, chosen: str) -> None:
        """A row was tapped: `chosen` of its words."""

    def choose(self, chosen: str) -> None:
        """Take a tap from a row."""
        self.dispatch("on_choose", chosen)

    def repaint(self, *_args: Any) -> None:
        """Paint the visible rows again in the look of now."""
        self.refresh_from_layout()

    def show_from_top(self, words: Sequence[RowWords]) -> None:
        """Show other rows, the first at the top."""
        self.data = words
        self.scroll_y = 1

    def bring_into_view(self, index: int) -> None:
        """Scroll until a row is at the top."""
        self._rows.goto_view(index)

    def _measure(self) -> None:
        self.texts.clear()
        self._rows.row_height = row_height_px()
        self.repaint()


def _invented_rows(count: int) -> list[RowWords]:
    """Return rows of dives nobody made."""
    outline = bytes([0, 90, 255, 250, 235, 240, 190, 150, 120, 60, 50, 50, 0])
    return [
        RowWords(
            chosen=str(number),
            site=f"Ledge {number % 37}",
            line=f"{number} · Sat {number % 28 + 1} Nov 2026, 11:05 · with Imke R.",
            depth=f"{10 + number % 30}.4 m",
            time=f"{30 + number % 40} min",
            outline=outline,
        )
        for number in range(count, 0, -1)
    ]


if __name__ == "__main__":
    from logbook_app.screens.widgets.alone import show_alone

    show_alone(lambda: DiveList(data=_invented_rows(10_000)))
