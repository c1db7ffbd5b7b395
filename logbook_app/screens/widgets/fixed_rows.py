"""Rows of one height in a RecycleView: every step costs what is visible, not what there is.

Kivy's own box walks the positions of all rows twice a frame and measures each of them when one
changes. Where every row is equally high, a row's place follows from its number.
`python -m logbook_app.screens.widgets.dive_list` shows ten thousand of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kivy.event import EventDispatcher
from kivy.properties import NumericProperty, ObjectProperty
from kivy.uix.recycleview.datamodel import RecycleDataModelBehavior
from kivy.uix.recycleview.layout import RecycleLayoutManagerBehavior
from kivy.uix.widget import Widget


class FixedRows(RecycleLayoutManagerBehavior, Widget):
    """Layout manager of a RecycleView whose rows are all `row_height` high."""

    row_height = NumericProperty(72)
    """Height of every row [px]."""

    one_stop = True
    """Tab stops once in ten thousand rows; the arrow keys go from one to the next."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.size_hint_y = None
        self._count = 0

    def attach_recycleview(self, recycleview: Any) -> None:
        """Join a RecycleView; from then on a new width or row height lays out anew."""
        super().attach_recycleview(recycleview)
        if recycleview is not None:
            for name in ("width", "row_height"):
                self.fbind(name, recycleview.refresh_from_layout)

    def detach_recycleview(self) -> None:
        """Leave the RecycleView."""
        recycleview = self.recycleview
        if recycleview is not None:
            for name in ("width", "row_height"):
                self.funbind(name, recycleview.refresh_from_layout)
        super().detach_recycleview()

    def compute_sizes_from_data(self, data: Sequence[Any], _flags: Any) -> None:
        """Note how many rows there are; none of them is looked at."""
        self._count = len(data)

    def compute_layout(self, _data: Sequence[Any], _flags: Any) -> None:
        """Take the height of all rows together, and let every visible one be painted again."""
        self.clear_layout()
        self.clear_widgets()
        self.height = self._count * self.row_height

    def compute_visible_views(self, _data: Sequence[Any], viewport: Sequence[float]) -> range:
        """Return the numbers of the rows that a viewport touches: x, y, width, height [px]."""
        _x, bottom, _width, height = viewport
        if not self._count:
            return range(0)
        return range(self._row_at(bottom + height), self._row_at(bottom) + 1)

    def get_view_index_at(self, pos: Sequence[float]) -> int:
        """Return the number of the row at a place in the layout [px]."""
        return self._row_at(pos[1])

    def set_visible_views(self, indices: range, data: Sequence[Any], viewport: Sequence[float]) -> None:
        """Show these rows and no others."""
        adapter = self.recycleview.view_adapter
        new, _remaining, old = adapter.set_visible_views(indices, data, _EveryRow(self.viewclass))
        for _index, view in old:
            self.remove_widget(view)
        for index, view in new:
            place = {"size": (self.width, self.row_height), "pos": (self.x, self.bottom_of(index))}
            adapter.refresh_view_layout(index, place, view, viewport)
            if view.parent is None:
                self.add_widget(view)

    def bottom_of(self, index: int) -> float:
        """Return where the lower edge of a row is [px]."""
        return float(self.top - (index + 1) * self.row_height)

    def goto_view(self, index: int) -> None:
        """Scroll until this row is at the top, or as near to it as the last row lets it come."""
        view_height = self.recycleview.height
        hidden = self.height - view_height
        if hidden > 0:
            self.recycleview.scroll_y = 1 - min(1.0, max(0.0, index * self.row_height / hidden))

    def _row_at(self, y: float) -> int:
        return max(0, min(self._count - 1, int((self.top - y) // self.row_height)))


class Lines(RecycleDataModelBehavior, EventDispatcher):
    """Data of a RecycleView that stays what it is: Kivy's own model copies every row of it.

    `data` is any sequence, also one that makes a row when it is looked at.
    """

    data = ObjectProperty((), force_dispatch=True)
    """The rows."""

    def on_data(self, *_args: Any) -> None:
        """Tell the view that there are other rows."""
        self.dispatch("on_data_changed")

    def attach_recycleview(self, recycleview: Any) -> None:
        """Join a RecycleView, whose `data` these are from now on."""
        super().attach_recycleview(recycleview)
        if recycleview is not None:
            self.fbind("data", recycleview._dispatch_prop_on_source, "data")

    def detach_recycleview(self) -> None:
        """Leave the RecycleView."""
        if self.recycleview is not None:
            self.funbind("data", self.recycleview._dispatch_prop_on_source, "data")
        super().detach_recycleview()


class _EveryRow:
    """Answers the adapter's question for the class of any row, without a list of 10,000 answers."""

    def __init__(self, viewclass: Any) -> None:
        self._answer = {"viewclass": viewclass}

    def __getitem__(self, _index: int) -> dict[str, Any]:
        return self._answer
