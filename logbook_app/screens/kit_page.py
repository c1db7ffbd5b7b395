"""One piece of kit: how much it was dived, what is due, what was done for it, and all that is known of it.

What is written is kept a moment later; there is nothing to save. What was done is a list that only
grows: an entry can be taken back, and the taking back undone.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.properties import BooleanProperty, ListProperty, ObjectProperty, StringProperty

from logbook_app.analysis.dive_words import Line
from logbook_app.analysis.kit_due import KitDue, KitLine
from logbook_app.analysis.kit_words import (
    CARE_CAUTION,
    check_due_words,
    check_words,
    hours_words,
    interval_words,
    kind_words,
    last_words,
)
from logbook_app.analysis.spoken_times import date_alone
from logbook_app.dive.kit import CareRecord, Check, Kind, KitItem, usual_care
from logbook_app.language import _
from logbook_app.screens.kit_form import (
    FIELDS,
    amount_words,
    checks_of,
    stepped_interval,
    texts_of,
    with_text,
)
from logbook_app.screens.rooms import Room
from logbook_app.screens.widgets.kit_rows import ActRow, DueRow
from logbook_app.screens.widgets.step_row import StepRow
from logbook_app.screens.widgets.words import Words

KEPT_AFTER_S = 0.5
AMOUNTS = ("months", "dives", "hours")


class KitPage(Room):
    """The page of the piece that `show` names."""

    piece_id = StringProperty("")
    """Which piece; empty before the first."""

    item = ObjectProperty(None, allownone=True)
    """The KitItem as it is written, None until the worker has answered."""

    ready = BooleanProperty(False)
    """True while the page shows the piece that was asked for."""

    figures = ObjectProperty(())
    """How much it was dived."""

    caution = StringProperty("")
    """Whose intervals these are."""

    kinds = ListProperty([])
    """Pairs of kind and words."""

    checks = ListProperty([])
    """Pairs of check and words: what can be noted as done."""

    check = StringProperty("")
    """The check that is being noted."""

    today = ObjectProperty(None, allownone=True)
    """The day by the clock on the dock."""

    done_on = ObjectProperty(None, allownone=True)
    """The day on which it was done; None is today."""

    def __init__(self, **kwargs: Any) -> None:
        self._keep_soon = Clock.create_trigger(lambda _dt: self._keep(), KEPT_AFTER_S)
        self._set_out_for: tuple[Any, ...] = ()
        super().__init__(**kwargs)
        self.caution = _(CARE_CAUTION)

    def on_kv_post(self, _base_widget: Any) -> None:
        """Listen to the fields."""
        for field in FIELDS:
            self.ids[field].bind(text=partial(self._written, field))

    def show(self, piece_id: str) -> None:
        """Turn to a piece; the worker is asked for it at once."""
        if piece_id != self.piece_id:
            self._keep_at_once()
            self.piece_id, self.item, self.ready = piece_id, None, False
            self.check, self.done_on = "", None
            self.ids.note.text, self.ids.page.scroll_y = "", 1
        self._ask()

    def entered(self) -> None:
        """What is due changes with the day."""
        self.today = App.get_running_app().now().date()
        if self.piece_id:
            self._ask()

    def left(self) -> None:
        """Keep what was written at once."""
        self._keep_at_once()

    def refresh(self, changes: Any) -> None:
        """Dives wear it, and what is noted changes what is due."""
        if self.present and (changes.kit or changes.dives or changes.totals):
            self._ask()

    def back(self) -> bool:
        """Close the month where it is open."""
        was_open, self.ids.day.month_open = self.ids.day.month_open, False
        return bool(was_open)

    # What the diver does

    def choose_kind(self, chosen: list[str]) -> None:
        """Say what it is; a piece that has no interval yet is offered the usual ones."""
        if self.item is None or not chosen:
            return
        item = replace(self.item, kind=chosen[0])
        self._take(replace(item, intervals=item.intervals or usual_care(item.kind)))

    def retire(self, retired: bool) -> None:
        """Dive it no more, or again."""
        if self.item is not None:
            self._take(replace(self.item, retired=retired))

    def step(self, check: Check, amount: str, steps: int) -> None:
        """Make an interval one step shorter or longer."""
        if self.item is not None:
            self._take(stepped_interval(self.item, check, amount, steps))

    def note_care(self) -> None:
        """Write down what was done, with a way to take it back."""
        if self.item is None or self.today is None:
            return
        app, check = App.get_running_app(), Check(self.check)
        entry = CareRecord(
            item_id=self.item.id,
            check=check,
            done_on=self.done_on or self.today,
            note=self.ids.note.text.strip(),
        )

        def noted(changes: Any) -> None:
            self.ids.note.text, self.done_on = "", None
            app.changed(changes)
            app.say(
                _("{check} of {date} is noted.").format(
                    check=check_words(check), date=date_alone(entry.done_on)
                ),
                undo=lambda: self._ask_for(lambda logbook: logbook.kit.take_back_care(entry.id)),
            )

        app.ask(lambda logbook: logbook.kit.note_care(entry), then=noted)

    def take_back(self, entry: CareRecord) -> None:
        """Let an entry count no more, and offer to undo it."""
        app = App.get_running_app()

        def taken_back(changes: Any) -> None:
            app.changed(changes)
            app.say(
                _("{check} of {date} counts no more.").format(
                    check=check_words(entry.check), date=date_alone(entry.done_on)
                ),
                undo=lambda: self._ask_for(lambda logbook: logbook.kit.give_back_care(entry.id)),
            )

        app.ask(lambda logbook: logbook.kit.take_back_care(entry.id), then=taken_back)

    def delete(self) -> None:
        """Put the piece into the bin, go back, and offer to undo it; its dives keep its name."""
        if not self.ready:
            return
        self._keep_at_once()
        app, item = App.get_running_app(), self.item

        def deleted(changes: Any) -> None:
            self.piece_id = ""
            app.back()
            app.changed(changes)
            app.say(
                _("{piece} is deleted; its dives keep its name.").format(piece=item.name),
                undo=lambda: self._ask_for(lambda logbook: logbook.kit.restore(item.id)),
            )

        self.ready = False
        app.ask(lambda logbook: logbook.kit.delete(item.id), then=deleted)

    # Inside

    def _ask_for(self, work: Any) -> None:
        app = App.get_running_app()
        app.ask(work, then=app.changed)

    def _ask(self) -> None:
        piece_id = self.piece_id
        App.get_running_app().ask(
            lambda logbook: (piece_id, logbook.kit.view().line(piece_id)), then=self._show
        )

    def _show(self, answer: tuple[str, KitLine | None]) -> None:
        piece_id, line = answer
        if piece_id != self.piece_id or self._keep_soon.is_triggered:
            return  # turned to another since, or more was written since: it is kept and asked for again
        if line is None:
            self.piece_id = ""
            if self.present:
                App.get_running_app().back()
            return
        fresh = self.item is None
        self.item = line.item
        self._show_line(line)
        self._show_item()
        if fresh:
            self._fill_fields()
        self.ready = True

    def _show_line(self, line: KitLine) -> None:
        self.figures = _figures(line)
        self._set_out_due(line)
        self._set_out_care(line)

    def _show_item(self) -> None:
        """Bring the choices in line with the piece; fields that are being written in stay."""
        item = self.item
        known = [(kind.value, kind_words(kind)) for kind in Kind]
        other = [(item.kind, item.kind)] if item.kind and item.kind not in list(Kind) else []
        self.kinds = known + other
        self.ids.kind.chosen = [item.kind]
        self.ids.retired.value = "yes" if item.retired else "no"
        checks = checks_of(item)
        self.checks = [(check.value, check_words(check)) for check in checks]
        if self.check not in [check.value for check in checks]:
            self.check = checks[0].value
        self._set_out_intervals(checks)

    def _fill_fields(self) -> None:
        texts = texts_of(self.item)
        for field in FIELDS:
            self.ids[field].text = texts[field]
            self.ids[f"{field}_trouble"].text = ""

    def _written(self, field: str, _entry: Any, text: str) -> None:
        if self.item is None or self.today is None or text == texts_of(self.item)[field]:
            return
        item, trouble = with_text(self.item, field, text, self.today)
        self.ids[f"{field}_trouble"].text = trouble
        if item != self.item:
            self.item = item
            self._keep_soon()

    def _take(self, item: KitItem) -> None:
        self.item = item
        self._show_item()
        self._keep_soon()

    def _keep_at_once(self) -> None:
        if self._keep_soon.is_triggered:
            self._keep_soon.cancel()
            self._keep()

    def _keep(self) -> None:
        item, app = self.item, App.get_running_app()
        app.ask(lambda logbook: logbook.kit.keep(item), then=app.changed)

    def _set_out_due(self, line: KitLine) -> None:
        self.ids.due.clear_widgets()
        for due in line.due:
            self.ids.due.add_widget(_due_row(due))
        if not line.due:
            words = _("Nothing is due.") if not line.item.retired else _("Retired: nothing is due.")
            self.ids.due.add_widget(Words(text=words))

    def _set_out_care(self, line: KitLine) -> None:
        self.ids.care.clear_widgets()
        for place, entry in enumerate(line.care):
            row = ActRow(
                heading=f"{check_words(entry.check)} · {date_alone(entry.done_on)}",
                line=entry.note,
                act=_("Take back"),
                icon="undo",
                act_id=f"take-back-{entry.done_on.isoformat()}",
                first=place == 0,
            )
            row.bind(on_accept=lambda _row, entry=entry: self.take_back(entry))
            self.ids.care.add_widget(row)

    def _set_out_intervals(self, checks: list[Check]) -> None:
        """Set out a row for each amount of each check; those that stand only get other words."""
        box, wanted = self.ids.intervals, (self.item.id, tuple(checks))
        if self._set_out_for != wanted:
            self._set_out_for = wanted
            box.clear_widgets()
            for check in checks:
                box.add_widget(Words(text=check_words(check), bold=True))
                for amount in AMOUNTS if check is Check.SERVICE else AMOUNTS[:1]:
                    box.add_widget(self._interval_row(check, amount))
        for row in box.children:
            if isinstance(row, StepRow):
                check, amount = row.name.split("-")
                row.value = amount_words(self.item, Check(check), amount)

    def _interval_row(self, check: Check, amount: str) -> StepRow:
        words = {"months": _("After months"), "dives": _("After dives"), "hours": _("After hours")}
        row = StepRow(name=f"{check.value}-{amount}", words=words[amount])
        row.bind(on_step=lambda _row, steps: self.step(check, amount, steps))
        return row


def _due_row(due: KitDue) -> DueRow:
    return DueRow(
        urgency=int(due.urgency),
        heading=check_due_words(due),
        line=_("{last} Due {interval}.").format(last=last_words(due), interval=interval_words(due.interval)),
    )


def _figures(line: KitLine) -> tuple[Line, ...]:
    told = [Line(_("Dives"), str(line.use.dives)), Line(_("Time in water"), hours_words(line.use.hours))]
    if line.since is not None:
        told.append(Line(_("Dives since service"), str(line.since.dives)))
        told.append(Line(_("Time since service"), hours_words(line.since.hours)))
    return tuple(told)
