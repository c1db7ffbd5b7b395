"""What the owner's dives say toward a certificate: each requirement, and at a touch the dives behind it."""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, StringProperty

from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.screens.experience_lines import Evidence, RequirementLine, Shown, evidence, shown
from logbook_app.screens.rooms import Room
from logbook_app.screens.widgets.report_rows import DiveButton
from logbook_app.screens.widgets.requirement_row import RequirementRow
from logbook_app.screens.widgets.words import Heading

SHOWN_AT_ONCE = 6  # of those that count, so that those that nearly do are not far below


class ExperiencePage(Room):
    """One set of requirements that the diver chooses, by its program."""

    programs = ListProperty([])
    """Pairs of program and words."""

    program = StringProperty("")
    """Whose rules are looked at."""

    sets = ListProperty([])
    """Pairs of id and words: the sets of this program."""

    chosen = StringProperty("")
    """Id of the set that is looked at."""

    heading = StringProperty("")
    """What the set is called."""

    choosing = BooleanProperty(True)
    """True while another set may be chosen; in a narrow window the choice gives way to what was chosen."""

    summary = StringProperty("")
    """Where the diver stands, and who decides."""

    about = StringProperty("")
    """Where the figures come from."""

    ready = BooleanProperty(False)
    """True once the logbook has answered."""

    listed = StringProperty("")
    """Which requirement's dives are listed, empty while there is no list."""

    more = NumericProperty(0)
    """How many dives that count are not in the list yet."""

    def __init__(self, **kwargs: Any) -> None:
        self._stale = True
        self._names: Any = {}
        self._evidence: tuple[Evidence, ...] = ()
        super().__init__(**kwargs)

    def entered(self) -> None:
        """Ask for the progress where anything may have changed."""
        if self._stale:
            self._ask(self.chosen)

    def refresh(self, changes: Any) -> None:
        """Other dives, other certificates or other units: ask again, now or at the next visit."""
        if changes.dives or changes.totals or changes.settings:
            self._stale = True
            if self.present:
                self._ask(self.chosen)

    def back(self) -> bool:
        """Close the list where it is open."""
        was_open, self.listed = bool(self.listed), ""
        return was_open

    def choose(self, chosen: list[str]) -> None:
        """Look at another program or another set."""
        if chosen and chosen[0] not in (self.chosen, self.program):
            self.listed, in_program = "", chosen[0] in dict(self.sets)
            self.choosing = not (in_program and App.get_running_app().look.narrow)
            self._ask(chosen[0])

    def list_dives(self, line: RequirementLine) -> None:
        """List the dives behind a requirement, where there are any."""
        answer, names = line.answer, self._names
        if answer is None:
            return

        def work(logbook: Any) -> tuple[Evidence, ...]:
            units = SpokenUnits(logbook.settings().units)
            return evidence(answer, names, logbook.own_dives(), units)

        App.get_running_app().ask(work, then=lambda found: self._list(line.heading, found))

    def show_more(self) -> None:
        """Show all dives that count."""
        self._set_out(0)

    # Inside

    def _ask(self, wanted: str) -> None:
        self._stale = False
        App.get_running_app().ask(lambda logbook: shown(logbook, wanted), then=self._show)

    def _show(self, found: Shown) -> None:
        self._names = found.names
        if not self.ready and App.get_running_app().look.narrow:
            self.choosing = False
        self.programs, self.program = list(found.programs), found.program
        self.sets, self.chosen = list(found.sets), found.words.name
        self.heading = f"{found.program}: {found.words.heading}"
        self.summary, self.about = found.words.summary, found.words.about
        self.ids.requirements.clear_widgets()
        for line in found.words.lines:
            row = RequirementRow(line=line, test_id=f"requirement-{line.name}")
            row.bind(on_release=lambda row: self.list_dives(row.line))
            self.ids.requirements.add_widget(row)
        self.ready = True

    def _list(self, heading: str, found: tuple[Evidence, ...]) -> None:
        self._evidence, self.listed = found, heading
        self._set_out(SHOWN_AT_ONCE)
        self.ids.dives_page.scroll_y = 1

    def _set_out(self, most: int) -> None:
        """Set out the dives under each heading, `most` of each or all of them."""
        box, self.more = self.ids.dives, 0
        box.clear_widgets()
        for group in self._evidence:
            box.add_widget(Heading(text=group.heading, role="quiet"))
            dives = group.dives[: most or None]
            self.more += len(group.dives) - len(dives)
            for line in dives:
                row = DiveButton(line=line, test_id="listed-dive")
                row.bind(on_release=lambda row: App.get_running_app().open_dive(row.line.dive_id))
                box.add_widget(row)
