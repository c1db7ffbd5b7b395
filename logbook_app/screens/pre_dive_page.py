"""Before the dive: kit, gas, fitness, buddy and what to do if it goes wrong, on one card.

Every touch makes a new `PreDiveCard`, which is shown and kept in the logbook file at once; the card goes to
the owner's next dive that begins within a day.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.properties import ListProperty, NumericProperty, ObjectProperty, StringProperty

from logbook_app.analysis.planned_and_dived import planned_words
from logbook_app.analysis.pre_dive_words import (
    BY_DIVER,
    CAUTION,
    FITNESS_WORDS,
    KIT_WORDS,
    analysis_words,
    not_yet_words,
)
from logbook_app.analysis.spoken_times import moment
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.pre_dive_card import Fitness, GasAnalysis, PreDiveCard
from logbook_app.language import _
from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.screens.entry_draft import names_in
from logbook_app.screens.entry_units import HELIUM_PERCENT, OXYGEN_PERCENT
from logbook_app.screens.kept_soon import KeptSoon
from logbook_app.screens.rooms import Room
from logbook_app.screens.widgets.check_row import CheckRow
from logbook_app.screens.widgets.gas_entry import with_share
from logbook_app.screens.widgets.words import Words

LAID_OUT_AFTER_S = 0.05  # the pad takes its room first
MOST_CHIPS = 6
_ASKED = {"oxygen": OXYGEN_PERCENT, "helium": HELIUM_PERCENT}
_FIRST = BreathingGas(0.32)
_PLAN = ("contacts", "nearest_oxygen", "plan")


class PreDivePage(Room):
    """The card that waits for its dive."""

    card = ObjectProperty(None, allownone=True, rebind=True)
    """The PreDiveCard as it is written so far, None until the worker has answered."""

    at = NumericProperty(-1)
    """Which analysis is being written, -1 for none; one more than there are is a new one."""

    asking = StringProperty("")
    """`oxygen` or `helium` while the pad asks for it."""

    known_sites = ListProperty([])
    """Names of the places offered."""

    known_buddies = ListProperty([])
    """Names of the buddies offered."""

    planned = StringProperty("")
    """The plan of the dive in a few words, empty where none was kept."""

    plan_from = StringProperty("")
    """Says which card the plan was taken over from."""

    summary = StringProperty("")
    """What is not on the card yet, and which dive it goes to."""

    late = StringProperty("")
    """Says that the card's day is over, empty while it lasts."""

    caution = StringProperty("")
    """Always on this page."""

    units = ObjectProperty(SpokenUnits())
    """The diver's units."""

    ppo2_limit_bar = NumericProperty(1.4)
    """The diver's limit of oxygen."""

    def __init__(self, **kwargs: Any) -> None:
        self._kept = KeptSoon(lambda card: lambda logbook: logbook.pre_dive.keep(card))
        super().__init__(**kwargs)
        self.title, self.caution = _("Before the dive"), _(CAUTION)

    def on_kv_post(self, _base_widget: Any) -> None:
        """Set out the checks, and listen to the numbers."""
        for check, words in KIT_WORDS.items():
            row = CheckRow(words=_(words), test_id=f"check-{check.value}")
            row.bind(on_release=lambda _row, name=check.value: self.turn_check(name))
            self.ids.checks.add_widget(row)
        for share in _ASKED:
            field = self.ids[share]
            field.bind(
                on_ask=lambda _field, share=share: self.ask_for(share),
                on_step=lambda _field, steps, share=share: self.step(share, steps),
            )

    # Being shown

    def entered(self) -> None:
        """Ask for the card that waits, and what the last dives offer."""
        self._ask_logbook()

    def refresh(self, changes: Any) -> None:
        """A dive may have taken the card, or let it go."""
        if self.present and (changes.dives or changes.totals or changes.settings):
            self._ask_logbook()

    def back(self) -> bool:
        """Put the pad away where it is open."""
        was_open = bool(self.asking)
        self.put_pad_away()
        return was_open

    # What the diver does

    def take_site(self, chosen: list[str]) -> None:
        """Take a place that is known, with the plan of the last card there."""
        self._write(site=chosen[0] if chosen else "")
        self._ask_for_plan()

    def write_site(self, name: str) -> None:
        """Take the name of a place as it is written."""
        if name or self.card.site not in self.known_sites:
            self._write(site=name)

    def site_is_written(self, focused: bool) -> None:
        """Look for the plan of a place once its name is written."""
        if focused:
            self.put_pad_away()
        else:
            self._ask_for_plan()

    def turn_check(self, name: str) -> None:
        """Tick a check, or take the tick away."""
        checked = self.card.kit_checked
        without = tuple(other for other in checked if other != name)
        self._write(kit_checked=without if name in checked else (*checked, name))

    def add_analysis(self) -> None:
        """Ask for the oxygen of another cylinder."""
        self.at = len(self.card.analyses)
        self.ask_for("oxygen")

    def edit_analysis(self, place: int) -> None:
        """Show one analysis to be mended; the one that is shown is put away."""
        self.put_pad_away()
        self.at = -1 if self.at == place else place
        self._show()

    def drop_analysis(self) -> None:
        """Take the analysis that is shown off the card, with a way back."""
        before = self.card
        kept = tuple(each for place, each in enumerate(before.analyses) if place != self.at)
        self.put_pad_away()
        self.at = -1
        self._write(analyses=kept)
        App.get_running_app().say(_("The analysis is taken off."), undo=lambda: self._take_card(before))

    def ask_for(self, share: str) -> None:
        """Open the pad for a share of the gas."""
        self.asking = share
        self.ids.pad.ask(_ASKED[share], self._share_text(share), _("Done"))
        self._show()
        Clock.schedule_once(lambda _dt: self._bring_into_view(share), LAID_OUT_AFTER_S)

    def put_pad_away(self) -> None:
        """Close the pad; what was typed stays."""
        if self.asking:
            self.asking = ""
            self.ids.pad.asked = None
            self._show()

    def take_typed(self, text: str) -> None:
        """Take what the pad has so far, where it is a share that can be."""
        if self.asking and text and not self.ids.pad.trouble:
            self._set_share(self.asking, _ASKED[self.asking].value(text) or 0.0)
            share = self.asking  # the first digit adds a sentence above it
            Clock.schedule_once(lambda _dt: self._bring_into_view(share), LAID_OUT_AFTER_S)

    def step(self, share: str, steps: int) -> None:
        """Take one step of a share."""
        asked = _ASKED[share]
        self._set_share(share, asked.stepped(asked.value(self._share_text(share)), steps))
        if share == self.asking:
            self.ids.pad.ask(asked, self._share_text(share), self.ids.pad.next_words)

    def take_analyst(self, chosen: list[str]) -> None:
        """Take who read the analyser."""
        self._set_analysis(by=chosen[0] if chosen else "")

    def write_analyst(self, name: str) -> None:
        """Take who read the analyser, as it is written."""
        analysis = self._analysis()
        if analysis is not None and (name or analysis.by not in self._analysts()):
            self._set_analysis(by=name)

    def take_fitness(self, chosen: list[str]) -> None:
        """Take what the diver says of being fit to dive."""
        self._write(fitness=Fitness(chosen[0] if chosen else ""))

    def take_buddies(self, chosen: list[str]) -> None:
        """Take the buddies that are known; the ones written stay."""
        self._write(checked_with=(*chosen, *names_in(self.ids.other_buddies.text)))

    def write_buddies(self, names: str) -> None:
        """Take names as they are written, beside the chips that hold."""
        known = tuple(name for name in self.card.checked_with if name in self.known_buddies)
        self._write(checked_with=tuple(dict.fromkeys((*known, *names_in(names)))))

    def write_plan(self, name: str, words: str) -> None:
        """Take one part of what to do in an emergency."""
        if self.card is not None:
            self._write(**{name: words})

    def drop_line(self) -> None:
        """Take the planned line off the card, with a way back."""
        before = self.card
        self._write(planned_line=None)
        App.get_running_app().say(_("The plan is taken off the card."), undo=lambda: self._take_card(before))

    def start_again(self) -> None:
        """Begin a new card, with a way back."""
        before = self.card
        self._take_card(self._new_card())
        App.get_running_app().say(_("A new card is begun."), undo=lambda: self._take_card(before))

    # Inside

    def _new_card(self) -> PreDiveCard:
        now = App.get_running_app().now()
        offset = now.utcoffset()
        return PreDiveCard(begun_at=now, utc_offset_min=round(offset.total_seconds() / 60) if offset else 0)

    def _ask_logbook(self) -> None:
        App.get_running_app().ask(
            lambda logbook: (logbook.settings(), logbook.suggestions(), logbook.pre_dive.waiting()),
            then=self._take_answer,
        )

    def _take_answer(self, answer: tuple[Any, Any, PreDiveCard | None]) -> None:
        settings, offered, waiting = answer
        self.units, self.ppo2_limit_bar = SpokenUnits(settings.units), settings.ppo2_limit_bar
        self.known_sites = [site.name for site in offered.sites[:MOST_CHIPS]]
        self.known_buddies = list(offered.buddies[:MOST_CHIPS])
        if waiting is None or waiting.says_nothing:
            waiting = self._new_card()
        if self.card is None or not self._kept.waits:
            self.card = waiting
        self._show()

    def _ask_for_plan(self) -> None:
        """Take over the plan of the last card at the place, where none is written yet."""
        card = self.card
        if card is None or not card.site or any(getattr(card, name).strip() for name in _PLAN):
            return
        App.get_running_app().ask(
            lambda logbook: logbook.pre_dive.last_at(card.site), then=lambda last: self._take_plan(card, last)
        )

    def _take_plan(self, asked_for: PreDiveCard, last: PreDiveCard | None) -> None:
        if last is None or self.card != asked_for:
            return
        self.plan_from = _("Taken over from the card of {when}. See that it still holds.").format(
            when=moment(last.begun_local)
        )
        self._write(**{name: getattr(last, name) for name in _PLAN})

    def _write(self, **changed: Any) -> None:
        if self.card is None:
            return
        card = replace(self.card, **changed)
        if card != self.card:
            self.card = card
            self._kept.keep(card)
            self._show()

    def _take_card(self, card: PreDiveCard) -> None:
        self.put_pad_away()
        self.at, self.plan_from, self.card = -1, "", card
        self._kept.keep(card)
        self._show()

    def _analysis(self) -> GasAnalysis | None:
        analyses = self.card.analyses if self.card else ()
        return analyses[int(self.at)] if 0 <= self.at < len(analyses) else None

    def _set_share(self, share: str, percent: float) -> None:
        before = self._analysis()
        start = before.gas if before else BreathingGas(_FIRST.oxygen)
        self._set_analysis(gas=with_share(start, share, percent), at=App.get_running_app().now())

    def _set_analysis(self, **changed: Any) -> None:
        """Change the analysis that is shown, or make it with its first number."""
        before = self._analysis()
        if before is None and "gas" not in changed:
            return
        made = before or GasAnalysis(changed["gas"], BY_DIVER, changed["at"])
        analyses, at = list(self.card.analyses), int(self.at)
        analyses[at : at + 1] = [replace(made, **changed)]
        self._write(analyses=tuple(analyses))

    def _share_text(self, share: str) -> str:
        analysis = self._analysis()
        return "" if analysis is None else _ASKED[share].text(getattr(analysis.gas, share) * 100)

    def _analysts(self) -> list[str]:
        return [BY_DIVER, *self.known_buddies]

    def _show(self) -> None:
        """Bring every field and sentence in line with the card."""
        card = self.card
        if card is None:
            return
        for row in self.ids.checks.children:
            row.checked = row.test_id.removeprefix("check-") in card.kit_checked
        self._show_analyses(card)
        self._show_texts(card)
        self.planned = planned_words(card.planned_line, self.units) if card.planned_line else ""
        now = App.get_running_app().now()
        until = moment(card.holds_until.astimezone(now.tzinfo))
        goes = _("It goes to your next dive that begins before {until}.").format(until=until)
        self.late = (
            _("This card was begun {when}, and no dive of yours began within a day of it.").format(
                when=moment(card.begun_local)
            )
            if now > card.holds_until
            else ""
        )
        self.summary = " ".join(words for words in (not_yet_words(card), "" if self.late else goes) if words)

    def _show_analyses(self, card: PreDiveCard) -> None:
        self.ids.analyses.clear_widgets()
        for place, each in enumerate(card.analyses):
            words = analysis_words(each, self.ppo2_limit_bar, self.units, card.begun_local)
            self.ids.analyses.add_widget(Words(text=words, test_id=f"analysis-words-{place + 1}"))
        for share, asked in _ASKED.items():
            field = self.ids[share]
            field.asked, field.active = asked, share == self.asking
            field.text = self.ids.pad.text if field.active and self.ids.pad.asked else self._share_text(share)
            field.trouble = asked.trouble(field.text)

    def _show_texts(self, card: PreDiveCard) -> None:
        analysis = self._analysis()
        by = analysis.by if analysis else ""
        beside = [name for name in card.checked_with if name not in self.known_buddies]
        for entry, words in (
            (self.ids.other_site, "" if card.site in self.known_sites else card.site),
            (self.ids.other_analyst, "" if by in self._analysts() else by),
            (self.ids.other_buddies, ", ".join(beside)),
            (self.ids.contacts, card.contacts),
            (self.ids.nearest_oxygen, card.nearest_oxygen),
            (self.ids.plan, card.plan),
        ):
            if not entry.focus:  # a field that is being written in is not rewritten
                entry.text = words

    def _bring_into_view(self, share: str) -> None:
        if self.asking == share and self.ids[share].get_root_window() is not None:
            self.ids.scroll.scroll_to(self.ids[share])


def fitness_answers() -> list[tuple[str, str]]:
    """Return the chips for being fit to dive."""
    return [(fitness.value, _(words)) for fitness, words in FITNESS_WORDS.items()]


def analyst_answers(buddies: list[str]) -> list[tuple[str, str]]:
    """Return the chips for who read the analyser."""
    return [(BY_DIVER, _("Myself")), *((name, name) for name in buddies)]


def cylinder_answers(card: PreDiveCard | None) -> list[tuple[str, str]]:
    """Return the chips for the analyses on the card, to be mended."""
    analyses = card.analyses if card else ()
    return [(str(place), each.gas.name.capitalize()) for place, each in enumerate(analyses)]


def fitness_caution(card: PreDiveCard | None) -> str:
    """Return what follows from not being fit, empty where nothing is said of it."""
    if card is None or card.fitness is not Fitness.NOT_FIT:
        return ""
    return _("Then leave this dive. Anyone may end a dive at any time, for any reason, before it has begun.")
