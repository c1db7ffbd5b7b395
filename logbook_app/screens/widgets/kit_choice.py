"""What a dive was dived with, as chips; and the card of a dive that keeps what is touched."""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.dive.kit import UsedKit
from logbook_app.divers_kit import KitChoice
from logbook_app.language import _
from logbook_app.screens.kit_chips import after_bundle, after_piece, bundles, pieces, worn
from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.widgets.card import Card


class KitChips(KvBeside, BoxLayout):
    """Sets and single pieces. Event: `on_choose(used)` with what is on after a touch."""

    __events__ = ("on_choose",)

    choice = ObjectProperty(None, allownone=True)
    """What there is (`KitChoice`), None until the logbook has answered."""

    used = ObjectProperty(())
    """What is on (`UsedKit`)."""

    has_bundles = BooleanProperty(False)
    """True where something goes on with one touch."""

    empty = BooleanProperty(True)
    """True where there is no piece to choose."""

    def on_kv_post(self, _base_widget: Any) -> None:
        """Show what is on, now and whenever it changes."""
        self.fbind("choice", self._show)
        self.fbind("used", self._show)
        self._show()

    def on_choose(self, used: tuple[UsedKit, ...]) -> None:
        """The diver put something on, or took it off."""

    def touch_bundle(self, before: list[str], chosen: list[str]) -> None:
        """Put a bundle on, or take it off."""
        touched = set(before) ^ set(chosen)
        for name in touched:
            self._choose(after_bundle(self.choice, self.used, name))

    def touch_piece(self, chosen: list[str]) -> None:
        """Put a piece on, or take it off."""
        self._choose(after_piece(self.choice, self.used, chosen))

    def _choose(self, used: tuple[UsedKit, ...]) -> None:
        self.used = used
        self.dispatch("on_choose", used)

    def _show(self, *_args: Any) -> None:
        choice = self.choice or KitChoice((), (), ())
        found = bundles(choice)
        self.has_bundles = bool(found)
        self.ids.bundles.answers = [(name, words) for name, (words, _pieces) in found.items()]
        self.ids.bundles.chosen = worn(choice, self.used)
        offered = pieces(choice, self.used)
        self.empty = not offered
        self.ids.pieces.answers = offered
        self.ids.pieces.chosen = [each.id for each in self.used]


class KitCard(Card):
    """The kit of one dive, changed where it stands; every touch is kept and can be undone."""

    dive_id = StringProperty("")
    """Which dive; empty for none."""

    sheet = ObjectProperty(None, allownone=True)
    """What the page shows of the dive: where that changes, the kit is asked for again."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._being_kept = 0  # touches that the worker has not yet written down

    def on_dive_id(self, *_args: Any) -> None:
        """Another dive: show nothing until the logbook has answered."""
        self.ids.chips.choice, self.ids.chips.used = None, ()

    def on_sheet(self, *_args: Any) -> None:
        """Ask for the kit of the dive."""
        dive_id = self.dive_id
        if dive_id and self.sheet is not None:
            App.get_running_app().ask(
                lambda logbook: (dive_id, logbook.kit.choice(), logbook.dive(dive_id).kit), then=self._show
            )

    def keep(self, used: tuple[UsedKit, ...]) -> None:
        """Keep what is on, and offer to undo it."""
        app, dive_id = App.get_running_app(), self.dive_id

        def kept(changes: Any) -> None:
            self._being_kept -= 1
            app.changed(changes)
            names = ", ".join(each.name for each in used)
            words = _("Kit: {names}.").format(names=names) if used else _("No kit on this dive.")
            app.say(words, undo=lambda: app.ask(take_back, then=app.changed))
            change_id.append(changes.change_id)

        def take_back(logbook: Any) -> Any:
            return logbook.take_back(change_id[0])

        def not_kept(error: Exception) -> None:
            self._being_kept -= 1
            app.say_trouble(error)
            self.on_sheet()

        change_id: list[int] = []
        self._being_kept += 1
        app.ask(lambda logbook: logbook.change_dive(dive_id, kit=used), then=kept, failed=not_kept)

    def _show(self, answer: tuple[str, KitChoice, tuple[UsedKit, ...]]) -> None:
        dive_id, choice, used = answer
        if dive_id == self.dive_id and not self._being_kept:  # else the finger was faster than this answer
            self.ids.chips.choice, self.ids.chips.used = choice, used
