"""The diver's kit: what is due of it, the most urgent first; sets that are put on together; reminders."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from kivy.app import App
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, StringProperty

from logbook_app.analysis.kit_due import KitLine, KitView
from logbook_app.analysis.kit_words import CARE_CAUTION, all_due_words, kind_words, line_words
from logbook_app.dive.kit import Kind, KitItem, KitSet, usual_care
from logbook_app.language import _, ngettext
from logbook_app.screens.rooms import Room
from logbook_app.screens.widgets.kit_rows import ActRow, PieceRow

_Answer = tuple[KitView, list[KitItem], bool]


class KitRoom(Room):
    """The list of pieces, the sets, and what lies in the bin."""

    empty = BooleanProperty(False)
    """True where no piece is written down."""

    caution = StringProperty("")
    """Whose intervals these are."""

    choosing_kind = BooleanProperty(False)
    """True while the diver says what kind of piece to add."""

    kinds = ListProperty([])
    """Pairs of kind and words."""

    reminds = StringProperty("on")
    """`on` or `off`."""

    deleted_count = NumericProperty(0)
    """How many pieces lie in the bin."""

    showing_bin = BooleanProperty(False)
    """True while they are listed."""

    set_id = StringProperty("")
    """The set that is being put together, empty for none."""

    set_pieces = ListProperty([])
    """Pairs of id and name: what a set can hold."""

    set_chosen = ListProperty([])
    """Ids of what it holds."""

    def __init__(self, **kwargs: Any) -> None:
        self._stale = True
        self._view: KitView | None = None
        self._binned: list[KitItem] = []
        self._open: KitSet | None = None  # the set that is being put together, as it is now
        super().__init__(**kwargs)
        self.caution = _(CARE_CAUTION)
        self.kinds = [(kind.value, kind_words(kind)) for kind in Kind] + [("", _("Something else"))]

    def entered(self) -> None:
        """Ask for the kit; what is due changes with the day."""
        self._ask()

    def refresh(self, changes: Any) -> None:
        """Other dives wear a piece as well: ask again, now or at the next visit."""
        if self.present and (changes.kit or changes.dives or changes.totals):
            self._ask()

    def back(self) -> bool:
        """Close what lies open."""
        was_open = self.choosing_kind or self.showing_bin or bool(self.set_id)
        self.choosing_kind = self.showing_bin = False
        self.set_id = ""
        return was_open

    # Pieces

    def add(self, chosen: list[str]) -> None:
        """Write down a new piece of a kind, with the usual intervals, and open its page."""
        kind = chosen[0] if chosen else ""
        name = kind_words(kind) or _("New piece")
        item = KitItem(name=name, kind=kind, intervals=usual_care(kind))
        self.choosing_kind = False
        app = App.get_running_app()

        def added(changes: Any) -> None:
            app.changed(changes)
            self.open(item.id)

        app.ask(lambda logbook: logbook.kit.keep(item), then=added)

    def open(self, piece_id: str) -> None:
        """Open the page of a piece."""
        app = App.get_running_app()
        app.shell.rooms.room("kit-piece").show(piece_id)
        app.go("kit-piece")

    def restore(self, item: KitItem) -> None:
        """Take a piece out of the bin."""
        self._change(
            lambda logbook: logbook.kit.restore(item.id),
            _("{piece} is back.").format(piece=item.name),
        )

    def remind(self, wanted: str) -> None:
        """Choose whether reminders come."""
        if wanted != self.reminds:
            self.reminds = wanted
            self._change(lambda logbook: logbook.kit.set_reminders(wanted == "on"), "")

    # Sets

    def make_set(self) -> None:
        """Begin a set with a name that can be changed."""
        taken = {kit_set.name for kit_set in self._view.sets} if self._view else set()
        names = (_("Set {number}").format(number=number) for number in range(1, 1000))
        kit_set = KitSet(name=next(name for name in names if name not in taken))
        self._change(lambda logbook: logbook.kit.keep_set(kit_set), "")
        self._open_set(kit_set)

    def write_set_name(self, name: str) -> None:
        """Take the name of the set that is open; an empty one changes nothing."""
        kit_set = self._open if self.set_id else None
        if kit_set and name.strip() and name.strip() != kit_set.name:
            self._keep_set(replace(kit_set, name=name.strip()))

    def choose_for_set(self, chosen: list[str]) -> None:
        """Take what the set that is open holds."""
        self.set_chosen = chosen
        if self.set_id and (kit_set := self._open):
            self._keep_set(replace(kit_set, item_ids=tuple(chosen)))

    def delete_set(self) -> None:
        """Put the set that is open into the bin; its pieces stay."""
        kit_set = self._open
        if kit_set is None or not self.set_id:
            return
        self.set_id = ""
        app = App.get_running_app()
        self._change(
            lambda logbook: logbook.kit.delete_set(kit_set.id),
            _("The set {name} is deleted.").format(name=kit_set.name),
            undo=lambda: app.ask(lambda logbook: logbook.kit.restore_set(kit_set.id), then=app.changed),
        )

    # Inside

    def _open_set(self, kit_set: KitSet) -> None:
        self._open = kit_set
        self.set_id = kit_set.id
        self.ids.set_name.text = kit_set.name
        self.set_chosen = list(kit_set.item_ids)

    def _keep_set(self, kit_set: KitSet) -> None:
        """Keep what the set is now: the finger may be faster than the answer of the logbook."""
        self._open = kit_set
        self._change(lambda logbook: logbook.kit.keep_set(kit_set), "")

    def _change(self, work: Any, words: str, undo: Any = None) -> None:
        app = App.get_running_app()

        def changed(changes: Any) -> None:
            app.changed(changes)
            if words:
                app.say(words, undo=undo)

        app.ask(work, then=changed)

    def _ask(self) -> None:
        App.get_running_app().ask(
            lambda logbook: (logbook.kit.view(), logbook.kit.binned(), logbook.kit.reminds()), then=self._show
        )

    def _show(self, answer: _Answer) -> None:
        self._view, self._binned, reminds = answer
        self.reminds = "on" if reminds else "off"
        self.deleted_count = len(self._binned)
        self.empty = not self._view.lines
        self.showing_bin = self.showing_bin and bool(self._binned)
        self.set_pieces = [
            (line.item.id, line.item.name) for line in self._view.lines if not line.item.retired
        ]
        self._set_out_pieces(self._view)
        self._set_out_sets(self._view)
        self._set_out_bin()

    def _set_out_pieces(self, view: KitView) -> None:
        self.ids.pieces.clear_widgets()
        for line in view.lines:
            row = piece_row(line)
            row.bind(on_release=lambda row: self.open(row.piece_id))
            self.ids.pieces.add_widget(row)

    def _set_out_sets(self, view: KitView) -> None:
        names = {line.item.id: line.item.name for line in view.lines}
        self.ids.sets.clear_widgets()
        for place, kit_set in enumerate(view.sets):
            held = [names[item_id] for item_id in kit_set.item_ids if item_id in names]
            row = ActRow(
                heading=kit_set.name,
                line=", ".join(held) or _("Nothing in it yet."),
                act=_("Change"),
                act_id=f"set-{kit_set.name}",
                first=place == 0,
            )
            row.bind(on_accept=lambda _row, kit_set=kit_set: self._open_set(kit_set))
            self.ids.sets.add_widget(row)

    def _set_out_bin(self) -> None:
        self.ids.binned.clear_widgets()
        for place, item in enumerate(self._binned):
            row = ActRow(
                heading=item.name,
                line=kind_words(item.kind),
                act=_("Restore"),
                icon="restore",
                act_id=f"restore-{item.name}",
                first=place == 0,
            )
            row.bind(on_accept=lambda _row, item=item: self.restore(item))
            self.ids.binned.add_widget(row)


def piece_row(line: KitLine) -> PieceRow:
    """Return the row of a piece."""
    return PieceRow(
        piece_id=line.item.id,
        urgency=int(line.urgency) if line.due else -1,
        heading=line.item.name,
        due=all_due_words(line),
        line=line_words(line),
        test_id=f"piece-{line.item.name}",
    )


def deleted_words(count: int) -> str:
    """Return what the button to the bin says."""
    return ngettext("Deleted ({count})", "Deleted ({count})", count).format(count=count)
