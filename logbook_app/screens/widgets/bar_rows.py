"""Bars in the look of a chart, one under the other, each with its words; touching one chooses it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout

from logbook_app.analysis.statistics_words import Bar
from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.widgets.card import Card


class BarRow(KvBeside, ButtonBehavior, BoxLayout):
    """One bar: label and words over it."""

    label = StringProperty("")
    """What it is of."""

    words = StringProperty("")
    """Its figures."""

    start = NumericProperty(0.0)
    """Where the bar begins, as a share of the width."""

    end = NumericProperty(0.0)
    """Where it ends."""

    tick = NumericProperty(-1.0)
    """Where a line crosses it, below zero for no line."""

    chosen = BooleanProperty(False)
    """True while its dives are listed."""

    bar = ObjectProperty(None, allownone=True)
    """The `Bar` it shows."""

    test_id = StringProperty("")
    """How tests find it: the name of its card, a hyphen and its label."""


class BarCard(Card):
    """A card of bars. Event: `on_choose(label, dive_ids)`."""

    __events__ = ("on_choose",)

    heading = StringProperty("")
    """What the bars are of."""

    note = StringProperty("")
    """A line under the heading, empty for none."""

    bars = ObjectProperty(())
    """What to show."""

    name = StringProperty("")
    """First part of the test_id of each bar."""

    def on_bars(self, _card: Any, bars: Sequence[Bar]) -> None:
        """Show other bars."""
        box = self.ids.bars
        box.clear_widgets()
        for bar in bars:
            row = BarRow(
                bar=bar,
                label=bar.label,
                words=bar.words,
                start=bar.start,
                end=bar.end,
                tick=-1.0 if bar.tick is None else bar.tick,
                disabled=not bar.dive_ids,
                test_id=f"{self.name}-{bar.label}",
            )
            row.bind(on_release=self._touched)
            box.add_widget(row)

    def on_choose(self, label: str, dive_ids: tuple[str, ...]) -> None:
        """The diver touched a bar."""

    def _touched(self, row: BarRow) -> None:
        self.dispatch("on_choose", row.bar.label, row.bar.dive_ids)
