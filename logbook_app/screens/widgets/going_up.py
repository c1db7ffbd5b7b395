"""The rules for going up side by side: for an aircraft's cabin and for a pass, the deciding one marked."""

from __future__ import annotations

from typing import Any

from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside


class RuleAnswer(KvBeside, BoxLayout):
    """One rule's answer behind its mark: filled where it decides, hollow where it does not."""

    words = StringProperty("")
    """When, or why not."""

    decides = BooleanProperty(False)
    """True where this rule allows it latest of all."""


class RuleRow(KvBeside, BoxLayout):
    """One rule with its answers for the cabin and the pass."""

    line = ObjectProperty(None, allownone=True, rebind=True)
    """The RuleLine of `screens.going_up_lines`."""


class GoingUpTable(KvBeside, BoxLayout):
    """The rules in rows under the two elevations, and the sentences that say which decides."""

    lines = ObjectProperty(None, allownone=True, rebind=True)
    """The GoingUp of `screens.going_up_lines`."""

    test_id = StringProperty("going-up")
    """How tests find it."""

    def on_kv_post(self, _base_widget: Any) -> None:
        """Show the lines that it was made with."""
        self.on_lines(self, self.lines)

    def on_lines(self, _table: Any, lines: Any) -> None:
        """Set the rows, keeping the widgets: there are always as many rules."""
        if "body" not in self.ids:
            return
        body = self.ids.body
        rules = lines.rules if lines else ()
        while len(body.children) < len(rules):
            body.add_widget(RuleRow())
        for row, rule in zip(reversed(body.children), rules, strict=True):
            row.line = rule


def _alone() -> GoingUpTable:
    """Return a table to look at by itself: the guideline decides for the cabin, the table for the pass."""
    from logbook_app.screens.going_up_lines import Answer, GoingUp, RuleLine

    rules = (
        RuleLine("Guideline", Answer("Sun 05:52", decides=True), Answer("no answer")),
        RuleLine("US Navy table, group D", Answer("23:40"), Answer("17:05", decides=True)),
        RuleLine("Model alone", Answer("13:17"), Answer("12:17")),
    )
    sentences = "The filled mark decides. Cabin: 18 h after several dives (guideline)."
    return GoingUpTable(lines=GoingUp("2 438 m", "600 m", rules, sentences))


if __name__ == "__main__":
    from logbook_app.screens.widgets.alone import show_alone

    show_alone(_alone)
