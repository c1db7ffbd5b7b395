"""The pre-dive card on the page of its dive: what was written, and the way to another dive or off."""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.properties import BooleanProperty, ListProperty, ObjectProperty, StringProperty

from logbook_app.language import _
from logbook_app.screens.widgets.fold import Fold


class CardOnDive(Fold):
    """A card that is there while the dive has one. It asks the logbook by itself.

    Event: `on_print_card` for a page to print that shows the emergency contacts too.
    """

    __events__ = ("on_print_card",)

    dive_id = StringProperty("")
    """Which dive."""

    lines = ObjectProperty(())
    """Pairs of name and words: what is written on the card."""

    others = ListProperty([])
    """Pairs of id and words: the dives that the card could be meant for."""

    has_contacts = BooleanProperty(False)
    """True where emergency contacts are written on it, which no page shows unless it is asked for."""

    choosing = BooleanProperty(False)
    """True while the diver chooses another dive for it."""

    def on_print_card(self) -> None:
        """The diver wants the page of the dive with the contacts on it."""

    def on_dive_id(self, *_args: Any) -> None:
        """Another dive: nothing of the last one stays."""
        self.lines, self.choosing = (), False

    def ask(self) -> None:
        """Ask for the card: the page shows another dive, or the dive may have changed."""
        dive_id = self.dive_id
        App.get_running_app().ask(lambda logbook: _card_of(logbook, dive_id), then=self._show)

    def on_lines(self, *_args: Any) -> None:
        """Set out what is written."""
        from logbook_app.screens.widgets.words import Quiet, Words

        self.ids.lines.clear_widgets()
        for name, words in self.lines:
            self.ids.lines.add_widget(Quiet(text=name))
            self.ids.lines.add_widget(Words(text=words))

    def move_to(self, chosen: list[str]) -> None:
        """Give the card to another dive, with a way back."""
        app, here, there = App.get_running_app(), self.dive_id, chosen[0]

        def back() -> None:
            app.ask(lambda logbook: logbook.pre_dive.move(there, here), then=app.changed)

        def moved(changes: Any) -> None:
            self.choosing = False
            app.changed(changes)
            app.say(_("The pre-dive card is with the other dive now."), undo=back)

        app.ask(lambda logbook: logbook.pre_dive.move(here, there), then=moved)

    def take_off(self) -> None:
        """Take the card off the dive, with a way back."""
        app, dive_id = App.get_running_app(), self.dive_id

        def work(logbook: Any) -> Any:
            return logbook.dive(dive_id).pre_dive, logbook.pre_dive.put(dive_id, None)

        def taken(answer: Any) -> None:
            card, changes = answer
            app.changed(changes)
            app.say(
                _("The pre-dive card is taken off."),
                undo=lambda: app.ask(lambda logbook: logbook.pre_dive.put(dive_id, card), then=app.changed),
            )

        app.ask(work, then=taken)

    def _show(self, answer: Any) -> None:
        dive_id, lines, others, self.has_contacts = answer
        if dive_id == self.dive_id:
            self.others, self.lines = others, lines


def _card_of(logbook: Any, dive_id: str) -> Any:
    """Return what is on a dive's card, and where else it could go. Runs in the worker."""
    from logbook_app.analysis.pre_dive_words import card_lines
    from logbook_app.analysis.spoken_units import SpokenUnits

    dive, settings = logbook.dive(dive_id), logbook.settings()
    if dive.pre_dive is None:
        return dive_id, (), [], False
    units = SpokenUnits(settings.units)
    lines = (
        *card_lines(dive.pre_dive, settings.ppo2_limit_bar, units),
        *_against_plan(logbook, dive, units),
    )
    others = [(other.id, _told(other, units)) for other in logbook.pre_dive.could_go_to(dive)]
    return dive_id, lines, others, bool(dive.pre_dive.contacts.strip())


def _against_plan(logbook: Any, dive: Any, units: Any) -> list[tuple[str, str]]:
    from logbook_app.analysis.planned_and_dived import against_plan_words, planned_and_dived

    line = dive.pre_dive.planned_line
    if line is None:
        return []
    told = planned_and_dived(line, logbook.dive_view(dive.id))
    return [(_("The dive against the plan"), "\n".join(against_plan_words(told, units)))]


def _told(dive: Any, units: Any) -> str:
    from logbook_app.analysis.spoken_times import clock_time

    return f"{clock_time(dive.began_local)} · {units.depth(dive.max_depth_m)}"
