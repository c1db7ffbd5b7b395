"""Write a dive by hand, or go on to bring in recordings.

Greatest depth, time, gas and start are enough. The form keeps one `EntryDraft`; every touch makes
a new one, which is shown and kept in the logbook file at once, so that nothing is lost with the
battery.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.properties import BooleanProperty, ListProperty, ObjectProperty, StringProperty

from logbook_app.dive.hand_entry import HandEntry
from logbook_app.dive.kit import UsedKit
from logbook_app.language import _
from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.screens.entry_again import taken_again
from logbook_app.screens.entry_draft import (
    NUMBERS,
    EntryDraft,
    began_local,
    hand_entry,
    missing,
    names_in,
    troubles,
    what_will_be_saved,
)
from logbook_app.screens.entry_units import Question, questions
from logbook_app.screens.kept_soon import KeptSoon
from logbook_app.screens.rooms import Room

CLOCK_LOOKED_AT_S = 5.0
LAID_OUT_AFTER_S = 0.05  # the pad takes its room first
MOST_CHIPS = 6

# Where the pad goes on to; any other field is the last of its kind.
_NEXT_FIELD = {"max_depth_m": "duration_min", "start_bar": "end_bar"}
_SHARES = ("oxygen", "helium")


class RecordRoom(Room):
    """The hand entry, with the number pad and what will be saved beside it."""

    draft = ObjectProperty(EntryDraft(), rebind=True)
    """What is written so far."""

    unit_system = StringProperty("metric")
    """The diver's units."""

    ppo2_limit_bar = ObjectProperty(1.4)
    """The diver's limit of oxygen."""

    offered = ObjectProperty(None, allownone=True)
    """What the last dives offer (`Suggestions`), None until the logbook has answered."""

    kit_choice = ObjectProperty(None, allownone=True)
    """What the dive may be dived with (`KitChoice`), None until the logbook has answered."""

    known_sites = ListProperty([])
    """Names of the places offered."""

    known_buddies = ListProperty([])
    """Names of the buddies offered."""

    today = ObjectProperty(None, allownone=True)
    """The day by the clock on the dock."""

    asking = StringProperty("")
    """Name of the field that the pad asks for, empty while it is put away."""

    summary = StringProperty("")
    """What will be saved, in words."""

    ready = BooleanProperty(False)
    """True where it can be saved."""

    def __init__(self, **kwargs: Any) -> None:
        self._kept = KeptSoon(_keep)
        self._ticking: Any = None
        self._saving = self._draft_read = False
        self._fields: dict[str, Any] = {}
        super().__init__(**kwargs)

    def on_kv_post(self, _base_widget: Any) -> None:
        """Listen to the fields."""
        self._fields = self._bind_fields()

    # Being shown

    def entered(self) -> None:
        """Look at the clock, and ask what the last dives offer."""
        self._ticking = Clock.schedule_interval(lambda _dt: self._show(), CLOCK_LOOKED_AT_S)
        self._ask_logbook()
        self._show()

    def left(self) -> None:
        """Look at the clock no more; the form is left as it stands, and is kept already."""
        if self._ticking is not None:
            self._ticking.cancel()

    def refresh(self, changes: Any) -> None:
        """Other dives and other settings offer other things."""
        if changes.totals or changes.settings or changes.kit:
            self._ask_logbook()

    def back(self) -> bool:
        """Put the pad away where it is open."""
        was_open = bool(self.asking)
        self.put_pad_away()
        return was_open

    # What the diver does

    def ask_for(self, field: str) -> None:
        """Open the pad for a field."""
        self.asking = field
        last = _next_field(self.draft, field) is None
        self.ids.pad.ask(self._asked(field), self._draft_text(field), _("Done") if last else _("Next"))
        self._show()
        Clock.schedule_once(lambda _dt: self._bring_into_view(field), LAID_OUT_AFTER_S)

    def go_on(self) -> None:
        """Ask for the next field, or put the pad away."""
        following = _next_field(self.draft, self.asking)
        if following is None:
            self.put_pad_away()
        else:
            self.ask_for(following)

    def put_pad_away(self) -> None:
        """Close the pad; what was typed stays."""
        self.asking = ""
        self.ids.pad.asked = None
        self._show()

    def take_typed(self, text: str) -> None:
        """Take what the pad has so far."""
        field = self.asking
        if field in NUMBERS:
            self._write(**{field: self._questions[field].recorded(text)})
        elif field == "began_time":
            self._write(began_time=self._asked(field).value(text))
        elif field in _SHARES and text and not self.ids.pad.trouble:
            self.ids.gas.set_share(field, self._asked(field).value(text) or 0.0)

    def step(self, field: str, steps: int) -> None:
        """Take one step of a stepper."""
        if field in _SHARES:
            asked = self._asked(field)
            self.ids.gas.set_share(field, asked.stepped(asked.value(self._text(field)), steps))
        else:
            self._write(**{field: self._questions[field].stepped(getattr(self.draft, field), steps)})
        if field == self.asking:
            self.ids.pad.ask(self._asked(field), self._draft_text(field), self.ids.pad.next_words)

    def take_gas(self, gas: BreathingGas) -> None:
        """Take the gas."""
        self.draft = self.draft.with_gas(gas)
        self._changed()

    def take_again(self) -> None:
        """Take over what was so on the last dive, where nothing else is written."""
        draft = taken_again(self.draft, self.offered.last)
        if draft != self.draft:
            self.ids.gas.own_mix = ""
            self.draft = draft
            self._changed()

    def take_day(self, day: date | None) -> None:
        """Take the day; None is today."""
        self._write(began_on=day)

    def take_volume(self, chosen: list[str]) -> None:
        """Take the volume of a cylinder of the last dives."""
        self._write(volume_l=float(chosen[0]) if chosen else None)

    def take_site(self, chosen: list[str]) -> None:
        """Take a place that is known."""
        self._write(site=chosen[0] if chosen else "")

    def write_site(self, name: str) -> None:
        """Take the name of a place as it is written."""
        if name or self.draft.site not in self.known_sites:
            self._write(site=name)

    def take_buddies(self, chosen: list[str]) -> None:
        """Take the buddies that are known; the ones written stay."""
        self._write(buddies=(*chosen, *names_in(self.ids.other_buddies.text)))

    def write_buddies(self, names: str) -> None:
        """Take names as they are written, beside the chips that hold."""
        known = tuple(name for name in self.draft.buddies if name in self.known_buddies)
        self._write(buddies=tuple(dict.fromkeys((*known, *names_in(names)))))

    def take_kit(self, used: tuple[UsedKit, ...]) -> None:
        """Take what the dive was dived with."""
        self._write(kit=used)

    def write_notes(self, notes: str) -> None:
        """Take the notes."""
        self._write(notes=notes)

    def start_again(self) -> None:
        """Clear the form, with a way back."""
        before = self.draft
        self._take_draft(EntryDraft())
        App.get_running_app().say(_("The form is cleared."), undo=lambda: self._take_draft(before))

    def save(self) -> None:
        """Save the dive, or go to what it still needs."""
        now = App.get_running_app().now()
        entry = hand_entry(self.draft, now, self.offered.sites if self.offered else ())
        if not self.ready or entry is None:
            self._go_to_what_is_needed(now)
        elif not self._saving:
            self._saving = True
            self.put_pad_away()
            App.get_running_app().ask(lambda logbook: _add(logbook, entry), self._saved, self._refused)

    # Inside

    @property
    def _questions(self) -> dict[str, Question]:
        return questions(self.unit_system)

    def _bind_fields(self) -> dict[str, Any]:
        fields = {field: self.ids[field] for field in NUMBERS}
        fields |= {share: self.ids.gas.ids[share] for share in _SHARES}
        fields["began_time"] = self.ids.when.ids.clock
        for name, field in fields.items():
            field.bind(
                on_ask=lambda _field, name=name: self.ask_for(name),
                on_step=lambda _field, steps, name=name: self.step(name, steps),
            )
        return fields

    def _ask_logbook(self) -> None:
        App.get_running_app().ask(
            lambda logbook: (
                logbook.settings(),
                logbook.suggestions(),
                logbook.kit.choice(),
                logbook.draft(),
            ),
            then=self._take_answer,
        )

    def _take_answer(self, answer: tuple[Any, Any, Any, str]) -> None:
        settings, self.offered, self.kit_choice, kept = answer
        self.unit_system, self.ppo2_limit_bar = settings.units, settings.ppo2_limit_bar
        self.known_sites = [site.name for site in self.offered.sites[:MOST_CHIPS]]
        self.known_buddies = list(self.offered.buddies[:MOST_CHIPS])
        if not self._draft_read and self.draft.empty:
            self.draft = EntryDraft.from_text(kept)
        self._draft_read = True
        self._show()

    def _write(self, **changed: Any) -> None:
        draft = replace(self.draft, **changed)
        if draft != self.draft:
            self.draft = draft
            self._changed()

    def _changed(self) -> None:
        self._show()
        self._kept.keep(self.draft)

    def _take_draft(self, draft: EntryDraft) -> None:
        self.put_pad_away()
        self.ids.gas.own_mix = ""
        self.draft = draft
        self._changed()

    def _show(self) -> None:
        """Bring every field, sentence and the summary in line with the draft and the clock."""
        now = App.get_running_app().now()
        self.today = now.date()
        wrong = troubles(self.draft, self._questions, now)
        for name, field in self._fields.items():
            field.asked = self._asked(name)
            field.text, field.active = self._text(name), name == self.asking
            field.trouble = wrong.get(name, "")
        self._fields["began_time"].hint = _start_hint(self.draft, now)
        self.ids.when.trouble = wrong.get("start", "")
        self._show_words()
        self.summary = what_will_be_saved(self.draft, self._questions, now)
        self.ready = not wrong and not missing(self.draft)

    def _show_words(self) -> None:
        for entry, words in (
            (self.ids.other_site, "" if self.draft.site in self.known_sites else self.draft.site),
            (self.ids.other_buddies, ", ".join(n for n in self.draft.buddies if n not in self.known_buddies)),
            (self.ids.notes, self.draft.notes),
        ):
            if not entry.focus:  # a field that is being written in is not rewritten
                entry.text = words

    def _asked(self, field: str) -> Any:
        return self._questions[field].asked if field in NUMBERS else self._fields[field].asked

    def _text(self, field: str) -> str:
        return self.ids.pad.text if field == self.asking and self.ids.pad.asked else self._draft_text(field)

    def _draft_text(self, field: str) -> str:
        if field in NUMBERS:
            return self._questions[field].text(getattr(self.draft, field))
        asked = self._fields[field].asked
        if field == "began_time":
            return asked.text(self.draft.began_time)
        return "" if self.draft.oxygen is None else asked.text(getattr(self.draft, field) * 100)

    def _go_to_what_is_needed(self, now: datetime) -> None:
        needed = [*missing(self.draft), *troubles(self.draft, self._questions, now)]
        first = needed[0] if needed else ""
        if first in self._fields:
            self.ask_for(first)
        elif first == "gas":
            self.put_pad_away()
            self.ids.scroll.scroll_to(self.ids.gas)
        elif first:
            self.ask_for("began_time")

    def _bring_into_view(self, field: str) -> None:
        if self.asking == field and self._fields[field].get_root_window() is not None:
            self.ids.scroll.scroll_to(self._fields[field])

    def _saved(self, answer: tuple[Any, Any]) -> None:
        (dive, changes), before = answer, self.draft
        self._saving = False
        self._take_draft(EntryDraft())
        app = App.get_running_app()
        app.changed(changes)
        said = _("Dive {number} is in the logbook.")
        if dive.pre_dive is not None:
            said = _("Dive {number} is in the logbook, with its pre-dive card.")
        app.say(said.format(number=dive.number), undo=lambda: self._take_back(dive.id, before))
        app.go("surface")

    def _refused(self, error: Exception) -> None:
        self._saving = False
        App.get_running_app().say_trouble(error)

    def _take_back(self, dive_id: str, draft: EntryDraft) -> None:
        """Undo a save: the dive leaves the logbook and stands in the form again."""
        app = App.get_running_app()
        app.ask(lambda logbook: logbook.delete_dive(dive_id), then=app.changed)
        self._take_draft(draft)
        app.go("record")


def _keep(draft: EntryDraft) -> Callable[[Any], Any]:
    """Return what the worker does to keep a half-made entry."""
    return lambda logbook: logbook.keep_draft(draft.to_text())


def _add(logbook: Any, entry: HandEntry) -> Any:
    answer = logbook.add_by_hand(entry)
    logbook.keep_draft("")
    return answer


def _next_field(draft: EntryDraft, field: str) -> str | None:
    """Return what the pad asks for after a field, None where it is put away."""
    following = _NEXT_FIELD.get(field)
    return following if following and getattr(draft, following) is None else None


def _start_hint(draft: EntryDraft, now: datetime) -> str:
    """Return what holds while no time is written."""
    began = began_local(draft, now)
    if began is None:
        return _("Needed for another day")
    return (
        _("{began}, so that it ended now").format(began=f"{began:%H:%M}")
        if draft.duration_min
        else _("So that it ended now")
    )
