"""What takes the place of the list while the diver says what is wanted: names, days, depths, an order.

It holds nothing of its own: the room gives it the filter as it is, and hears what was touched.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from kivy.properties import ListProperty, ObjectProperty, OptionProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.analysis.dive_filter import EVERY_DIVE, Named
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.screens import filter_lines
from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.logbook_lines import RowWords

NAMES = tuple(kind.value for kind in Named)


class FilterSheet(KvBeside, BoxLayout):
    """One sheet at a time, named by `sheet`; empty for none.

    Events: `on_want(fields)` with what the filter shall hold anew, by the names of its fields;
    `on_name(name)` when a name is chosen or let go; `on_listed(sheet, value)` for order and groups;
    `on_open(sheet)` for another sheet; `on_close` when the diver is done.
    """

    __events__ = ("on_want", "on_name", "on_listed", "on_open", "on_close")

    sheet = StringProperty("")
    """Which sheet shows."""

    wanted = ObjectProperty(EVERY_DIVE)
    """The filter as it is."""

    order = StringProperty("newest")
    """The order as it is."""

    grouping = StringProperty("none")
    """The groups as they are."""

    units = ObjectProperty(SpokenUnits())
    """The diver's units."""

    today = ObjectProperty(None, allownone=True)
    """The day by the clock on the dock."""

    done_words = StringProperty("")
    """What the button says that goes back to the list."""

    no_names = StringProperty("")
    """Why there is no name to choose from, empty while there are some."""

    end = OptionProperty("first", options=["first", "last"])
    """Which end of the span of days the month is for."""

    month = ObjectProperty(None, allownone=True)
    """First day of the month that shows."""

    kinds = ListProperty([])
    """The chips of everything that can be filtered by."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._names, self._page = self.ids.names.__self__, self.ids.page.__self__  # one of them shows
        self.on_sheet()

    def on_sheet(self, *_args: Any) -> None:
        """Show another sheet from its beginning."""
        self.ids.middle.clear_widgets()
        self.ids.middle.add_widget(self._names if self.sheet in NAMES else self._page)
        self.no_names = ""
        self._names.show_from_top([])
        self._page.scroll_y = 1
        if self.sheet == filter_lines.DAYS:
            self.turn_to(self.end)

    def show_names(self, lines: Sequence[RowWords], no_names: str) -> None:
        """Show the names to choose from, the ones that are wanted ticked."""
        before = [line.chosen for line in self._names.data]
        order = {name: place for place, name in enumerate(before)}
        # A name stays where it is while it is touched; only a fresh sheet has the wanted ones first.
        kept = sorted(lines, key=lambda line: order.get(line.chosen, len(order)))
        self.no_names = "" if lines else no_names
        self._names.data = kept

    def turn_to(self, end: str) -> None:
        """Let the month be for the other end of the span."""
        self.end = end
        day = self.day_of(end) or self.today
        self.month = day.replace(day=1) if day else None
        self.ids.month.first = self.month

    def day_of(self, end: str) -> date | None:
        """Return one end of the span as it is wanted."""
        day: date | None = getattr(self.wanted, f"{end}_day")
        return day

    def turn_years(self, years: int) -> None:
        """Show the same month of another year."""
        first = self.ids.month.first
        self.ids.month.first = first.replace(year=first.year + years)

    def take_day(self, day: date) -> None:
        """Take a day for one end, and bring the other with it where it would lie beyond."""
        first, last = self.wanted.first_day, self.wanted.last_day
        if self.end == "first":
            first, last = day, last if last is None or last >= day else day
        else:
            first, last = first if first is None or first <= day else day, day
        self.dispatch("on_want", {"first_day": first, "last_day": last})

    def take_span(self, chosen: list[str]) -> None:
        """Take a span of days by its name, or any day."""
        first, last = filter_lines.spans(self.today)[chosen[0]][1:] if chosen else (None, None)
        self.dispatch("on_want", {"first_day": first, "last_day": last})

    def take_deeper(self, chosen: list[str]) -> None:
        """Take a depth from which on dives are wanted, or any depth."""
        least_m = filter_lines.depth_in_metres(float(chosen[0]), self.units) if chosen else None
        self.dispatch("on_want", {"least_m": least_m, "most_m": None})

    def step(self, bound: str, steps: int) -> None:
        """Move a bound of the depth."""
        depth_m = filter_lines.stepped_m(getattr(self.wanted, bound), bound, steps, self.units)
        self.dispatch("on_want", {bound: depth_m})

    def any_of_it(self) -> None:
        """Let go of what this sheet filters by."""
        fields: dict[str, tuple[str, ...]] = {
            filter_lines.DAYS: ("first_day", "last_day"),
            filter_lines.DEPTH: ("least_m", "most_m"),
            filter_lines.WHOSE: ("whose",),
        }
        names = fields.get(self.sheet, (self.sheet,))
        self.dispatch("on_want", {name: getattr(EVERY_DIVE, name) for name in names})

    def on_want(self, fields: dict[str, Any]) -> None:
        """The filter shall hold something else."""

    def on_name(self, name: str) -> None:
        """A name was touched."""

    def on_listed(self, sheet: str, value: str) -> None:
        """Another order, or other groups."""

    def on_open(self, sheet: str) -> None:
        """Another sheet is wanted."""

    def on_close(self) -> None:
        """The diver is done."""
