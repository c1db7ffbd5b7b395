"""The certificates that the diver holds, days of examinations, and the club's own requirements.

They stay in the logbook file: no sync sends them.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.properties import BooleanProperty, ListProperty, StringProperty

from logbook_app.analysis.experience_words import EXAMINATIONS
from logbook_app.dive.credentials import Certificate
from logbook_app.dive.problems import RefusedRecord
from logbook_app.language import _
from logbook_app.screens.facts_form import BORN, FactsShown, HeldLine, day_in, facts_shown, with_texts
from logbook_app.screens.platform_services import Result, has_file_chooser, pick_files
from logbook_app.screens.rooms import Room
from logbook_app.screens.widgets.kit_rows import ActRow
from logbook_app.screens.widgets.note import Note
from logbook_app.screens.widgets.text_entry import TextEntry

RULES_ENDING = ".toml"


class CertificatesPage(Room):
    """What is known of the diver beside the dives."""

    programs = ListProperty([])
    """Pairs of program and words."""

    program = StringProperty("")
    """Whose certificate is written down."""

    grades = ListProperty([])
    """Pairs of id and words: the certificates of this program."""

    grade = StringProperty("")
    """Which certificate is written down."""

    trouble = StringProperty("")
    """Why a certificate could not be written down."""

    nothing_held = BooleanProperty(True)
    """True while no certificate is written down."""

    chooser = BooleanProperty(False)
    """True where the device has a chooser for files."""

    ready = BooleanProperty(False)
    """True once the logbook has answered."""

    def __init__(self, **kwargs: Any) -> None:
        self._grades_of: dict[str, list[tuple[str, str]]] = {}
        self._days: dict[str, TextEntry] = {}
        self._troubles: dict[str, Note] = {}
        super().__init__(**kwargs)
        self.chooser = has_file_chooser()
        for name, label in [(each.value, _(words)) for each, words in EXAMINATIONS.items()]:
            self._add_day(name, _("{what}, last on (year-month-day)").format(what=label))
        self._add_day(BORN, _("Born on (year-month-day)"))

    def entered(self) -> None:
        """Ask what is written down."""
        self._ask()

    def refresh(self, changes: Any) -> None:
        """Something else was written down: ask again where the page shows."""
        if changes.settings and self.present:
            self._ask()

    def take_files(self, paths: list[Path]) -> bool:
        """Keep a club's own requirements that were dropped on the page; False for any other file."""
        if not all(path.suffix.lower() == RULES_ENDING for path in paths):
            return False
        for path in paths:
            self._keep_rules(path)
        return True

    def choose_program(self, chosen: list[str]) -> None:
        """Offer the certificates of another program."""
        if chosen:
            self.program, self.grade = chosen[0], ""
            self.grades = self._grades_of[self.program]

    def choose_grade(self, chosen: list[str]) -> None:
        """Take a certificate to be written down."""
        self.grade = chosen[0] if chosen else ""

    def add(self) -> None:
        """Write a certificate down."""
        other, number = self.ids.other.text.strip(), self.ids.number.text.strip()
        try:
            issued_on = day_in(self.ids.issued.text, self._today())
            if not (other or self.grade):
                raise RefusedRecord(_("Choose a certificate, or write what your club calls it."))
            certificate = Certificate(grade=other or self.grade, issued_on=issued_on, number=number)
        except RefusedRecord as refusal:
            self.trouble = str(refusal)
            return
        self.trouble, self.grade = "", ""
        for field in (self.ids.other, self.ids.number, self.ids.issued):
            field.text = ""
        app = App.get_running_app()
        app.ask(
            lambda logbook: logbook.experience.keep_certificate(certificate),
            then=lambda changes: self._said(changes, _("The certificate is written down.")),
        )

    def save_days(self) -> None:
        """Keep the days that were written; what is no day stays in its field with a sentence."""
        texts, today = {name: field.text for name, field in self._days.items()}, self._today()

        def work(logbook: Any) -> tuple[Any, Any, dict[str, str]]:
            before = logbook.experience.facts()
            after, troubles = with_texts(before, texts, today)
            return before, logbook.experience.keep_facts(after), troubles

        App.get_running_app().ask(work, then=self._days_kept)

    def choose_file(self) -> None:
        """Choose a club's own requirements with the device's chooser."""
        pick_files(
            [RULES_ENDING],
            lambda result: Clock.schedule_once(lambda _dt: self._chosen(result)),
            kind=_("Requirements"),
            title=_("Choose the file of your club"),
        )

    # Inside

    def _today(self) -> date:
        today: date = App.get_running_app().now().date()
        return today

    def _ask(self) -> None:
        App.get_running_app().ask(facts_shown, then=self._show)

    def _show(self, found: FactsShown) -> None:
        self._grades_of = {program: list(grades) for program, grades in found.programs}
        self.programs = [(program, program) for program in self._grades_of]
        if self.program not in self._grades_of:
            self.choose_program([next(iter(self._grades_of))])
        self.nothing_held = not found.held
        self._set_out(self.ids.held, found.held, "held", self._take_away)
        self._set_out(self.ids.rules, found.rules, "rules", self._drop_rules)
        for name, field in self._days.items():
            if not self._troubles[name].text:
                field.text = found.texts[name]
        self.ready = True

    @staticmethod
    def _set_out(box: Any, lines: tuple[HeldLine, ...], name: str, act: Any) -> None:
        box.clear_widgets()
        for place, line in enumerate(lines):
            row = ActRow(
                heading=line.heading,
                line=line.line,
                act=_("Take away"),
                icon="delete-outline",
                act_id=f"{name}-{place}",
                first=place == 0,
            )
            row.bind(on_accept=lambda _row, key=line.key: act(key))
            box.add_widget(row)

    def _add_day(self, name: str, label: str) -> None:
        field, trouble = TextEntry(label=label, field_id=f"day-{name}"), Note(test_id=f"trouble-{name}")
        field.bind(on_accept=lambda _field: self.save_days())
        self._days[name], self._troubles[name] = field, trouble
        self.ids.days.add_widget(field)
        self.ids.days.add_widget(trouble)

    def _days_kept(self, answer: tuple[Any, Any, dict[str, str]]) -> None:
        before, changes, troubles = answer
        for name, note in self._troubles.items():
            note.text = troubles.get(name, "")
        if not troubles:
            self._said(changes, _("The days are written down."), before)
        else:
            App.get_running_app().changed(changes)

    def _take_away(self, certificate_id: str) -> None:
        def work(logbook: Any) -> tuple[Any, Any]:
            before = logbook.experience.facts()
            return before, logbook.experience.drop_certificate(certificate_id)

        App.get_running_app().ask(
            work, then=lambda done: self._said(done[1], _("The certificate is taken away."), done[0])
        )

    def _said(self, changes: Any, sentence: str, before: Any = None) -> None:
        """Say what was done; what was known before comes back with Undo."""
        app = App.get_running_app()
        app.changed(changes)
        undo = None
        if before is not None:
            undo = lambda: app.ask(  # noqa: E731
                lambda logbook: logbook.experience.keep_facts(before), then=app.changed
            )
        app.say(sentence, undo=undo)

    def _chosen(self, result: Result) -> None:
        for path in result.value or ():
            self._keep_rules(Path(path))

    def _keep_rules(self, path: Path) -> None:
        app = App.get_running_app()
        app.ask(
            lambda logbook: logbook.experience.keep_rules_file(path),
            then=lambda changes: self._said(changes, _("{name} is kept.").format(name=path.name)),
        )

    def _drop_rules(self, file_name: str) -> None:
        app = App.get_running_app()

        def dropped(kept: Any) -> None:
            self._ask()
            app.say(
                _("{name} is taken away.").format(name=file_name),
                undo=lambda: app.ask(
                    lambda logbook: logbook.experience.keep_rules(kept.file_name, kept.text),
                    then=lambda _sets: self._ask(),
                ),
            )

        app.ask(lambda logbook: logbook.experience.drop_rules(file_name), then=dropped)
