"""Labels with what stands beside them: figures in a row that wraps, and a table of the record."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kivy.clock import Clock
from kivy.properties import NumericProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.gridlayout import GridLayout

from logbook_app.screens.kv_files import KvBeside


class SmallFigure(KvBeside, BoxLayout):
    """A quiet label with a figure under it, and a hairline at the left."""

    label = StringProperty("")
    """What the figure is."""

    value = StringProperty("")
    """The figure with its unit."""

    needed_width = NumericProperty(0)
    """How wide label and figure are [px]."""


class FiguresRow(KvBeside, GridLayout):
    """Figures beside one another, in as many rows as the width asks for."""

    lines = ObjectProperty(())
    """What to show: anything with `label` and `value`."""

    test_id = StringProperty("figures")
    """How tests find it."""

    def __init__(self, **kwargs: Any) -> None:
        self._wrap_soon = Clock.create_trigger(lambda _dt: self._wrap(), -1)
        super().__init__(**kwargs)
        self.fbind("width", self._wrap_soon)

    def on_lines(self, _row: Any, lines: Sequence[Any]) -> None:
        """Show other figures."""
        self.clear_widgets()
        for line in lines:
            figure = SmallFigure(label=line.label, value=line.value)
            figure.fbind("needed_width", self._wrap_soon)
            self.add_widget(figure)
        self._wrap_soon()

    def _wrap(self) -> None:
        """Take as few rows as the width allows, about equally long, and share what room is left."""
        figures = list(reversed(self.children))
        for rows in range(1, len(figures) + 1):
            columns = -(-len(figures) // rows)
            widths = [max(figure.needed_width for figure in figures[at::columns]) for at in range(columns)]
            if sum(widths) <= self.width or columns == 1:
                break
        else:
            return
        self.cols = columns
        spare = max(0.0, self.width - sum(widths)) / columns
        for at, figure in enumerate(figures):
            figure.width = widths[at % columns] + spare


class TableLine(KvBeside, BoxLayout):
    """One line of the table."""

    label = StringProperty("")
    """What it is."""

    value = StringProperty("")
    """What was written down."""


class LinesTable(KvBeside, BoxLayout):
    """Lines of label and value; two columns of them where there is room."""

    lines = ObjectProperty(())
    """What to show: anything with `label` and `value`."""

    test_id = StringProperty("record")
    """How tests find it."""

    def on_lines(self, _table: Any, lines: Sequence[Any]) -> None:
        """Show other lines, the first half in the left column."""
        half = -(-len(lines) // 2)
        for column, part in ((self.ids.left, lines[:half]), (self.ids.right, lines[half:])):
            column.clear_widgets()
            for line in part:
                column.add_widget(TableLine(label=line.label, value=line.value))


if __name__ == "__main__":
    from types import SimpleNamespace

    from logbook_app.screens.widgets.alone import show_alone

    def invented_figures() -> FiguresRow:
        row = FiguresRow()
        row.lines = [SimpleNamespace(label=f"Label {at}", value=f"{at * 37} bar") for at in range(9)]
        return row

    show_alone(invented_figures)
