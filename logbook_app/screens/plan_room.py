"""What the next dive allows, and a simple plan for it.

Everything is worked out in the worker, one question at a time and the newest wish next. What is entered is
kept in the logbook file with every touch. A plan that cannot be dived as it stands is refused in its place,
in one sentence; what the page showed of it goes away.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty

from logbook_app.language import _
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.screens.entry_units import HELIUM_PERCENT, OXYGEN_PERCENT, Question
from logbook_app.screens.kept_soon import KeptSoon
from logbook_app.screens.looking_ahead import FARTHEST, kept_ahead
from logbook_app.screens.rooms import Room

WORKED_OUT_EVERY_S = 60.0
LAID_OUT_AFTER_S = 0.05  # the pad takes its room first
MORNING_HOUR = 9
BEST_FIRST_M, BEST_LEAST_M, BEST_MOST_M = 30.0, 3.0, 120.0
_SHARES = {"oxygen": Question(OXYGEN_PERCENT), "helium": Question(HELIUM_PERCENT)}


@dataclass(frozen=True, slots=True)
class _Number:
    """A number on the page: its field, how it is asked, where it is read from and written to."""

    field: Any
    question: Question
    read: Callable[[], float | None]
    write: Callable[[float | None], None]
    may_be_none: bool = False


class PlanRoom(Room):
    """The room with both parts."""

    sheet = ObjectProperty(None, allownone=True, rebind=True)
    """The PlanSheet that is shown, None until the worker has answered."""

    draft = ObjectProperty(None, allownone=True, rebind=True)
    """The PlanDraft, None until the worker has answered."""

    gas = ObjectProperty(None, allownone=True)
    """Gas of the next dive; None is that of the last one."""

    best_for_m = NumericProperty(BEST_FIRST_M)
    """The depth that the richest mix is told for [m]."""

    hours_ahead = NumericProperty(0.0)
    """How far from now the dive would begin [h]."""

    opened = NumericProperty(None, allownone=True)
    """Place of the cylinder that is being changed, None for none."""

    asking = StringProperty("")
    """Name of the number that the pad asks for, empty while it is put away."""

    ready = BooleanProperty(False)
    """True where the plan shown is the plan entered."""

    def __init__(self, **kwargs: Any) -> None:
        self._at: datetime | None = None
        self._waiting = self._ask_again = False
        self._numbers: dict[str, _Number] = {}
        self._ticking: Any = None
        self._kept = KeptSoon(lambda draft: lambda logbook: logbook.keep_plan_draft(draft.to_text()))
        super().__init__(**kwargs)

    # Being shown

    def entered(self) -> None:
        """Look at the clock again, and work everything out."""
        self._ticking = Clock.schedule_interval(lambda _dt: self._ask(), WORKED_OUT_EVERY_S)
        self._ask()

    def left(self) -> None:
        """Look at the clock no more; what is entered is kept already."""
        if self._ticking is not None:
            self._ticking.cancel()

    def refresh(self, _changes: Any) -> None:
        """Other dives and other choices change every figure here."""
        if self.present:
            self._ask()

    def back(self) -> bool:
        """Put the pad away where it is open, then the cylinder."""
        was_open = bool(self.asking) or self.opened is not None
        if self.asking:
            self.put_pad_away()
        else:
            self.opened = None
        return was_open

    # When it begins

    def begin(self, wanted: datetime | None) -> None:
        """Let the dive begin at an instant; None, or one that is not to come, is now."""
        now = App.get_running_app().now()
        self._at = min(wanted, now + FARTHEST) if wanted and wanted > now else None
        self._set_track(now)
        self._ask()

    def begin_later(self, minutes: float) -> None:
        """Let it begin so much later than it would."""
        self.begin((self._at or App.get_running_app().now()) + timedelta(minutes=minutes))

    def begin_in(self, hours: float) -> None:
        """Let it begin so many hours from now, as the finger says: at five whole minutes."""
        now = App.get_running_app().now()
        self.begin(kept_ahead(now + timedelta(hours=hours), now))

    def begin_tomorrow(self) -> None:
        """Let it begin tomorrow morning."""
        morning = App.get_running_app().now() + timedelta(days=1)
        self.begin(morning.replace(hour=MORNING_HOUR, minute=0, second=0, microsecond=0))

    # The next dive

    def take_gas(self, gas: BreathingGas) -> None:
        """Tell the limits of another gas."""
        self.gas = gas
        self._ask()

    def step_best(self, steps: int) -> None:
        """Tell the richest mix for another depth, in steps of three metres or ten feet."""
        from logbook_app.analysis.next_dive_table import stepped_depth_m  # with numpy behind it

        units = self.sheet.units if self.sheet else "metric"
        self.best_for_m = min(max(stepped_depth_m(self.best_for_m, steps, units), BEST_LEAST_M), BEST_MOST_M)
        self._ask()

    # The plan

    def add_leg(self) -> None:
        """Add a leg."""
        self._write(self.draft.with_another_leg())

    def remove_leg(self, place: int) -> None:
        """Take a leg away, with a way back."""
        self._write_undoable(self.draft.without_leg(place), _("The leg is taken away."))

    def add_cylinder(self) -> None:
        """Add a cylinder like the last one, and open it."""
        from logbook_app.screens.plan_draft import MOST_CYLINDERS

        held = self.sheet.held
        if len(held) < MOST_CYLINDERS:
            self._write(replace(self.draft, cylinders=(*held, held[-1])))
            self.opened = len(held)

    def change_cylinder(self, **changed: Any) -> None:
        """Change the cylinder that is open."""
        held = list(self._held)
        if self.opened is not None:
            held[self.opened] = replace(held[self.opened], **changed)
            self._write(replace(self.draft, cylinders=tuple(held)))

    def remove_cylinder(self) -> None:
        """Take the open cylinder away, with a way back; its legs go to the first one."""
        place, self.opened = self.opened, None
        if place is not None:
            self._write_undoable(
                self.draft.without_cylinder(place, self._held), _("The cylinder is taken away.")
            )

    def open_cylinder(self, place: int) -> None:
        """Show a cylinder's gas, volume and pressure, to be changed; the open one is closed."""
        self.put_pad_away()
        self.opened = None if self.opened == place else place
        self.ids.held_gas.own_mix = ""
        self._show()

    def start_again(self) -> None:
        """Enter a plan anew, with a way back."""
        from logbook_app.screens.plan_draft import PlanDraft

        self.opened = None
        self._write_undoable(PlanDraft(), _("The plan is cleared."))

    def print_slate(self) -> None:
        """Write the card of the plan, and say where it lies."""
        from logbook_app.screens.printed_files import print_slate

        app = App.get_running_app()
        plan, now = self.sheet.lines.plan, app.now()
        app.ask(
            lambda logbook: print_slate(logbook, plan, now),
            then=lambda path: app.say(_("The card lies in {path}.").format(path=path)),
        )

    def keep_for_the_dive(self) -> None:
        """Keep the line of the plan on the pre-dive card, with a way back."""
        from logbook_app.analysis.planned_and_dived import line_of

        app = App.get_running_app()
        dive = self.sheet.lines.plan.dive
        line = line_of(self.sheet.lines.plan)

        def kept(before: Any) -> None:
            app.say(
                _("The plan is on the pre-dive card, and will be laid over the dive that follows."),
                undo=lambda: app.ask(lambda logbook: logbook.pre_dive.keep(before)),
            )

        app.ask(lambda logbook: logbook.pre_dive.keep_line(line, dive.utc_offset_min), then=kept)

    # Numbers

    def ask_for(self, name: str) -> None:
        """Let the pad ask for a number."""
        self.asking = name
        number = self._numbers[name]
        self.ids.pad.ask(number.question.asked, number.question.text(number.read()), _("Done"))
        self._show()
        Clock.schedule_once(lambda _dt: self._bring_into_view(name), LAID_OUT_AFTER_S)

    def take_typed(self, text: str) -> None:
        """Take what the pad has so far; what cannot be is said below its field and changes nothing."""
        number = self._numbers.get(self.asking)
        if number is None:
            return
        value = number.question.recorded(text)
        can_be = not number.question.asked.trouble(text) and (value is not None or number.may_be_none)
        if can_be and number.question.text(number.read()) != text:
            number.write(value)
        self._show()

    def step(self, name: str, steps: int) -> None:
        """Take one step of a stepper."""
        number = self._numbers[name]
        number.write(number.question.stepped(number.read(), steps))
        if name == self.asking:
            self.ids.pad.ask(number.question.asked, number.question.text(number.read()), _("Done"))
        self._show()

    def put_pad_away(self) -> None:
        """Close the pad; what was typed stays."""
        self.asking = ""
        self.ids.pad.asked = None
        self._show()

    # Inside

    @property
    def _held(self) -> tuple[Any, ...]:
        """The cylinders as they are entered now; the sheet's where none are."""
        return tuple(self.draft.cylinders or self.sheet.held)

    def _write(self, draft: Any) -> None:
        if draft != self.draft:
            self.draft, self.ready = draft, False
            self._kept.keep(draft)
            self._show()
            self._ask()

    def _write_undoable(self, draft: Any, words: str) -> None:
        before = self.draft
        if draft != before:
            self.put_pad_away()
            self._write(draft)
            App.get_running_app().say(words, undo=lambda: self._write(before))

    def _ask(self) -> None:
        """Ask the worker for the page; while it works on one, only the last wish waits."""
        if self._waiting:
            self._ask_again = True
            return
        self._waiting, now = True, App.get_running_app().now()
        if self._at is not None and self._at <= now:
            self._at = None
        self._set_track(now)
        wish = now, self._at or now, self.gas, self.best_for_m, self.draft
        App.get_running_app().ask(lambda logbook: _sheet(logbook, *wish), self._take, self._refused)

    def _set_track(self, now: datetime) -> None:
        self.hours_ahead = (self._at - now).total_seconds() / 3600 if self._at else 0.0

    def _take(self, answer: tuple[Any, Any]) -> None:
        asked_for, sheet = answer
        if self.draft is None:
            self.draft = asked_for
        self.sheet, self.ready = sheet, asked_for == self.draft
        self._answered()
        self._show()

    def _answered(self) -> None:
        self._waiting = False
        if self._ask_again:
            self._ask_again = False
            self._ask()

    def _refused(self, error: Exception) -> None:
        self._answered()
        App.get_running_app().say_trouble(error)

    def _show(self) -> None:
        """Bring every row and field in line with what is entered."""
        if self.draft is None or self.sheet is None:
            return
        self._set_out_legs()
        self._set_out_cylinders()
        self._numbers = {name: self._bound(name) for name in self._wanted_numbers()}
        for name, number in self._numbers.items():
            asked = number.question.asked
            text = self.ids.pad.text if name == self.asking else number.question.text(number.read())
            number.field.asked, number.field.active = asked, name == self.asking
            number.field.text, number.field.trouble = text, asked.trouble(text)
        self._show_plan()

    def _show_plan(self) -> None:
        from logbook_app.screens.widgets.plan_rows import set_out_steps

        lines = self.sheet.lines
        if lines is not None:
            set_out_steps(self.ids.steps, lines.steps)

    def _set_out_legs(self) -> None:
        from logbook_app.screens.widgets.plan_rows import LegRow

        box, legs = self.ids.legs, self.draft.legs_on(self._held)
        while len(box.children) < len(legs):
            row = LegRow(place=len(box.children))
            row.bind(
                on_remove=lambda row: self.remove_leg(int(row.place)),
                on_breathe=lambda row, place: self._write(
                    self.draft.with_leg(int(row.place), cylinder=place)
                ),
            )
            box.add_widget(row)
        while len(box.children) > len(legs):
            box.remove_widget(box.children[0])
        answers = [(str(at), words) for at, words in enumerate(self._held_words())]
        for row, leg in zip(reversed(box.children), legs, strict=True):
            row.removable, row.cylinders, row.cylinder = len(legs) > 1, answers, leg.cylinder

    def _held_words(self) -> list[str]:
        from logbook_app.analysis.physics_sentences import gas_title

        return [f"{at + 1} · {gas_title(each.gas or AIR)}" for at, each in enumerate(self._held)]

    def _set_out_cylinders(self) -> None:
        from logbook_app.analysis.spoken_units import SpokenUnits
        from logbook_app.screens.plan_lines import held_words
        from logbook_app.screens.widgets.kit_rows import ActRow

        box, units = self.ids.held, SpokenUnits(self.sheet.units)
        while len(box.children) < len(self._held):
            place = len(box.children)
            row = ActRow(act_id=f"cylinder-{place}", first=place == 0)
            row.bind(on_accept=lambda _row, place=place: self.open_cylinder(place))
            box.add_widget(row)
        while len(box.children) > len(self._held):
            box.remove_widget(box.children[0])
        for place, (row, each) in enumerate(zip(reversed(box.children), self._held, strict=True)):
            row.heading = _("Cylinder {number}").format(number=place + 1)
            row.line, row.act = held_words(each, units), _("Close") if place == self.opened else _("Change")
        if self.opened is not None:
            self.ids.held_gas.gas = self._held[self.opened].gas or AIR

    def _wanted_numbers(self) -> list[str]:
        legs = [f"leg-{at}-{of}" for at in range(len(self.draft.legs)) for of in ("depth", "minutes")]
        fixed = ("minute-volume", "next-oxygen", "next-helium", "held-oxygen", "held-helium")
        return [*legs, *fixed, "volume_l", "start_bar"]

    def _bound(self, name: str) -> _Number:
        """Return the number of this name, with its field bound to the pad; one that is bound stays."""
        known, number = self._numbers.get(name), self._number(name)
        if known is None or known.field is not number.field:
            number.field.bind(
                on_ask=lambda _field: self.ask_for(name), on_step=lambda _field, steps: self.step(name, steps)
            )
        return number

    def _number(self, name: str) -> _Number:
        from logbook_app.screens.plan_questions import plan_questions

        asked, ids = plan_questions(self.sheet.units), self.ids
        if name.startswith("leg-"):
            place, of = int(name.split("-")[1]), name.split("-")[2]
            row, key = list(reversed(ids.legs.children))[place], "depth_m" if of == "depth" else "minutes"
            return _Number(
                row.ids[key],
                asked[key],
                lambda: getattr(self.draft.legs[place], key) if place < len(self.draft.legs) else None,
                lambda value: self._write(self.draft.with_leg(place, **{key: value})),
            )
        if name == "minute-volume":
            question = asked["minute_volume"]
            return _Number(
                ids.minute_volume,
                replace(question, asked=replace(question.asked, first=self._usual(question))),
                lambda: self.draft.minute_volume_l_min,
                lambda value: self._write(replace(self.draft, minute_volume_l_min=value)),
                may_be_none=True,
            )
        if name in ("volume_l", "start_bar"):
            return _Number(
                ids[name],
                asked[name],
                lambda: None if self.opened is None else getattr(self._held[self.opened], name),
                lambda value: self.change_cylinder(**{name: value}),
                may_be_none=True,
            )
        which, share = name.split("-")
        entry = ids.next_gas if which == "next" else ids.held_gas
        return _Number(
            entry.ids[share],
            _SHARES[share],
            lambda: getattr(entry.gas or AIR, share) * 100,
            lambda value: entry.set_share(share, value or 0.0),
        )

    def _usual(self, question: Question) -> float | None:
        usual = self.sheet.usual
        return question.asked.first if usual is None else question.from_record(usual)

    def _bring_into_view(self, name: str) -> None:
        if self.asking == name and self._numbers[name].field.get_root_window() is not None:
            self.ids.page.scroll_to(self._numbers[name].field)


def _sheet(
    logbook: Any,
    now: datetime,
    at: datetime,
    gas: BreathingGas | None,
    best_for_m: float,
    draft: Any,
) -> tuple[Any, Any]:
    """Work the page out. Runs in the worker: what it imports must not delay the first frame."""
    from logbook_app.screens.plan_draft import PlanDraft
    from logbook_app.screens.plan_lines import plan_sheet

    draft = draft or PlanDraft.from_text(logbook.plan_draft())
    return draft, plan_sheet(logbook, now, at, gas, best_for_m, draft)
