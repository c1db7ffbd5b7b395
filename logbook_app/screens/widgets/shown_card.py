"""What the club sees of a dive, on the dive's page: the diver's own data as others get it, and the choice."""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.properties import BooleanProperty, ListProperty, ObjectProperty, StringProperty

from logbook_app.language import _
from logbook_app.screens.shown_lines import NEVER_SHOWN, ShownLines, part_answers, shown_lines
from logbook_app.screens.widgets.fold import Fold


class ShownCard(Fold):
    """A card that is there while a club is joined and the dive is the owner's. It asks by itself."""

    dive_id = StringProperty("")
    """Which dive."""

    heading = StringProperty("")
    """What stands above it."""

    shown = BooleanProperty(False)
    """Whether the club sees it."""

    state = StringProperty("")
    """Whether it does, in a sentence."""

    lines = ObjectProperty(())
    """What it sees, or would see (`SeenLine`)."""

    parts = ListProperty([])
    """Which parts of the dive that is."""

    answers = ListProperty([])
    """The parts that can be chosen, in words."""

    signed = StringProperty("")
    """Who signed it, empty while the club does not see it."""

    never = StringProperty("")
    """What is never shown."""

    def __init__(self, **kwargs: Any) -> None:
        said = {"heading": _("What the club sees of this dive")} | kwargs
        super().__init__(answers=part_answers(), never=_(NEVER_SHOWN), **said)

    def on_dive_id(self, *_args: Any) -> None:
        """Another dive: nothing of the last one stays."""
        self._show(None)

    def ask(self, parts: tuple[str, ...] | None = None) -> None:
        """Ask what the club sees, or would see with these parts: the dive may have changed, or the choice."""
        dive_id = self.dive_id
        App.get_running_app().ask(lambda logbook: shown_lines(logbook, dive_id, parts), then=self._show)

    def touch(self) -> None:
        """Show the dive, or show it no more."""
        if self.shown:
            self._change(
                lambda logbook, dive_id: logbook.for_others.withdraw([dive_id]),
                _("The club sees this dive no more, once you have synced."),
            )
        else:
            self.show_parts(list(self.parts))

    def ask_signature(self) -> None:
        """Ask the club's signers to sign the dive as they see it."""
        app, dive_id = App.get_running_app(), self.dive_id

        def done(_nothing: Any) -> None:
            app.say(_("The club's signers are asked, once you have synced."))
            self.ask()

        app.ask(lambda logbook: logbook.signatures.ask(dive_id), then=done)

    def show_parts(self, parts: list[str]) -> None:
        """Choose what is shown; that holds at once where the dive is shown."""
        self.parts = parts
        chosen = tuple(parts)
        self._change(
            lambda logbook, dive_id: logbook.for_others.show([dive_id], chosen),
            _("The club sees this dive, once you have synced."),
        )

    def choose_parts(self, parts: list[str]) -> None:
        """Take another choice of parts."""
        if self.shown:
            self.show_parts(parts)
        else:
            self.ask(tuple(parts))

    def _change(self, work: Any, words: str) -> None:
        app, dive_id = App.get_running_app(), self.dive_id

        def done(shown: Any) -> None:
            app.changed(shown.changes)
            app.say(words, undo=lambda: put_back(shown))

        def put_back(shown: Any) -> None:
            app.ask(lambda logbook: logbook.for_others.put_back(shown), then=app.changed)

        app.ask(lambda logbook: work(logbook, dive_id), then=done)

    def _show(self, told: ShownLines | None) -> None:
        if told is None or told.dive_id != self.dive_id:
            self.unfolded = False
            return
        self.shown, self.state, self.lines = told.shown, told.state, told.lines
        self.signed = told.signed
        self.parts, self.unfolded = list(told.parts), True
