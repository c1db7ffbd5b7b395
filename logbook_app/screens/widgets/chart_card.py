"""The chart of a dive with its controls: what is shown besides the depth, how close, which compartment.

python -m logbook_app.screens.widgets.chart_card      shows an invented dive
"""

from __future__ import annotations

from typing import Any

from kivy.properties import AliasProperty, BooleanProperty, ListProperty, NumericProperty, ObjectProperty

from logbook_app.analysis.chart_lanes import quantities
from logbook_app.language import _
from logbook_app.screens.widgets.card import Card
from logbook_app.screens.widgets.chart_bands import COMPARTMENTS


class ChartCard(Card):
    """One dive's chart. What was chosen to be shown stays chosen when another dive comes."""

    section = ObjectProperty(None, allownone=True)
    """The Section that is drawn; None draws nothing."""

    section_height = NumericProperty("300dp")
    """Height of the section itself."""

    chart = ObjectProperty(None, allownone=True)
    """The ChartSection."""

    compartment = NumericProperty(None, allownone=True)
    """The compartment whose load is shown against its limit, 0 to 15; None for none."""

    others = ObjectProperty(())
    """The OtherRecordings that can be laid over it."""

    other = ObjectProperty(None, allownone=True, rebind=True)
    """The one that is laid over it, None for none."""

    photos = ListProperty([])
    """Photos to mark: each when it was taken on the dive's clock [s], its id, what it is called."""

    has_map = BooleanProperty(False)
    """True while the map of loads is shown."""

    answers = AliasProperty(lambda self: self._answers(), None, bind=["section"], cache=True)
    """What can be shown under the section: names and words."""

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_photo")
        super().__init__(**kwargs)

    def on_photo(self, photo_id: str) -> None:
        """The frame of a photo was tapped."""

    def on_kv_post(self, _base_widget: Any) -> None:
        """Follow the chips."""
        self.ids.chips.bind(chosen=self._follow)
        self.bind(section=self._follow)

    def touched(self, compartment: int) -> None:
        """Show the compartment that was touched; touched again, its curve goes away."""
        self.compartment = None if compartment == self.compartment else compartment

    def on_others(self, *_args: Any) -> None:
        """Lay none of another dive's recordings over this one."""
        self.other = None
        if "others" in self.ids:
            self.ids.others.chosen = []

    def lay_over(self, chosen: list[str]) -> None:
        """Lay the chosen recording over the chart, or none."""
        self.other = next((each for each in self.others if each.fingerprint in chosen), None)

    def step_compartment(self, by: int) -> None:
        """Show the next slower or faster one; at first the one that was loaded most at the end."""
        if self.compartment is None:
            self.compartment = int(self.section.series.loads[-1].argmax())
        else:
            self.compartment = min(max(0, int(self.compartment) + by), COMPARTMENTS - 1)

    def _answers(self) -> list[tuple[str, str]]:
        if self.section is None or self.section.estimate:
            return []
        words = {"temperature": _("Temperature"), "pressure": _("Tank pressure"), "ppo2": "ppO₂"}
        there = [(name, words[name]) for name in quantities(self.section)]
        return [*there, ("load", _("Compartments"))]

    def _follow(self, *_args: Any) -> None:
        names = [name for name, _words in self.answers]
        self.has_map = "load" in self.ids.chips.chosen and "load" in names
        if not self.has_map:
            self.compartment = None


if __name__ == "__main__":
    from logbook_app.screens.widgets.alone import show_alone
    from logbook_app.screens.widgets.chart_section import _invented_section

    show_alone(lambda: ChartCard(section=_invented_section()))
