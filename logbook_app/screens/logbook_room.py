"""All dives: looked for, filtered, sorted and parted; chosen and dealt with together; and the deleted ones.

The room holds the filter as it is. The dives that fit come from the worker, which is asked one thing
at a time: a key pressed while it looks is looked for when it has answered.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from kivy.app import App
from kivy.properties import BooleanProperty, NumericProperty, StringProperty

from logbook_app.analysis.dive_filter import (
    EVERY_DIVE,
    DiveOrder,
    Grouping,
    Named,
    filter_words,
)
from logbook_app.analysis.spoken_units import SpokenUnits, spoken_dives
from logbook_app.language import _
from logbook_app.screens.chosen_dives import (
    ChosenDives,
    change_together,
    export_together,
    show_together,
)
from logbook_app.screens.filter_lines import ORDER, chips, kind_chips, name_lines, no_names
from logbook_app.screens.logbook_lines import FoundLines, binned_words, chosen_words, counts
from logbook_app.screens.rooms import Room
from logbook_app.screens.widgets.page import Page

TAGGING = "tagging"
NAMES = frozenset(kind.value for kind in Named)


class NothingFound(Page):
    """What is said in the place of the list where no dive fits. Event: `on_show_all`."""

    __events__ = ("on_show_all",)

    def on_show_all(self) -> None:
        """The diver wants every dive again."""


class LogbookRoom(Room):
    """The list of dives. It asks the logbook when it is entered and something changed since."""

    counts = StringProperty("")
    """How many dives, how many hours."""

    filtered = StringProperty("")
    """What is filtered, in words; empty where nothing is."""

    searched = StringProperty("")
    """The words that are looked for."""

    deleted_count = NumericProperty(0)
    """How many dives are in the bin."""

    showing_bin = BooleanProperty(False)
    """True while the deleted dives are listed."""

    empty = BooleanProperty(False)
    """True where the logbook has no dive."""

    none_fits = BooleanProperty(False)
    """True where it has some, and the filter leaves out all of them."""

    sheet = StringProperty("")
    """The sheet in place of the list, empty for none."""

    choosing = BooleanProperty(False)
    """True while several dives are chosen."""

    chosen_count = NumericProperty(0)
    """How many are chosen."""

    all_chosen = BooleanProperty(False)
    """True where every dive that is listed is chosen."""

    listed_count = NumericProperty(0)
    """How many are listed."""

    def __init__(self, **kwargs: Any) -> None:
        self._stale = True
        self._asking = self._ask_again = False
        self._wanted, self._order, self._grouping = EVERY_DIVE, DiveOrder.NEWEST, Grouping.NONE
        self._kept_choice_known = False
        self._found: Any = None
        self._filter_sheet: Any = None
        self._tag_sheet: Any = None
        self._binned: list[Any] = []
        self._chosen = ChosenDives()
        self._units = SpokenUnits()
        super().__init__(**kwargs)
        self._list = self.ids.dives.__self__  # others take its place, and it comes back
        self._nothing = NothingFound()
        self._nothing.bind(on_show_all=lambda _page: self.clear_filter())
        look = App.get_running_app().look
        look.tell(self, lambda room: room._list_lines(), "narrow")
        look.tell(self, lambda room: room._say_filter(), "width_dp", "text_scale")
        self._say_filter()

    def entered(self) -> None:
        """Ask for the dives where any may have changed."""
        if self._stale:
            self._ask()

    def refresh(self, changes: Any) -> None:
        """Other dives or other units: ask again, now or at the next visit."""
        if changes.dives or changes.totals or changes.settings:
            self._stale = True
            if self.present:
                self._ask()

    def back(self) -> bool:
        """Leave the sheet, the forms of export, the choosing or the deleted dives: whichever is in front."""
        if self.sheet:
            self.sheet = ""
        elif self.choosing:
            self.choosing = self.ids.choose_bar.back()
        elif self.showing_bin:
            self.showing_bin = False
        else:
            return False
        return True

    def choose(self, chosen: str) -> None:
        """A line was touched: open its dive, choose it, or take it out of the bin."""
        if self.showing_bin:
            self._restore(chosen)
        elif self.choosing:
            self._chosen.touch(self._list.data.ids_of(chosen))
            self._show_chosen()
        else:
            App.get_running_app().open_dive(chosen)

    # What is wanted

    def on_searched(self, *_args: Any) -> None:
        """Look for other words."""
        self.want({"text": self.searched})

    def want(self, fields: dict[str, Any]) -> None:
        """Let the filter hold something else, and find what fits."""
        self._wanted = replace(self._wanted, **fields)
        self._say_filter()
        self._find()

    def want_name(self, name: str) -> None:
        """Choose a name on the sheet, or let go of it."""
        kind = Named(self.sheet)
        held = self._wanted.names(kind)
        self.want({self.sheet: _without(held, name) if name in held else (*held, name)})
        self._ask_names()

    def clear_filter(self) -> None:
        """Show every dive again."""
        self._wanted = EVERY_DIVE
        self.searched = ""
        self.want({})

    def list_by(self, sheet: str, value: str) -> None:
        """Take another order or other groups."""
        if sheet == ORDER:
            self._order = DiveOrder(value)
        else:
            self._grouping = Grouping(value)
        self._kept_choice_known = True
        order, grouping = self._order, self._grouping
        App.get_running_app().ask(lambda logbook: logbook.keep_list_choice(order, grouping))
        self._say_filter()
        self._find()

    def on_sheet(self, *_args: Any) -> None:
        """Put the sheet in the place of the list, or the list there again."""
        front = self._place_front()
        if front is self._filter_sheet:
            self._say_filter()
            front.sheet = self.sheet
        if self.sheet in NAMES:
            self._ask_names()

    # Several dives at once

    def on_choosing(self, *_args: Any) -> None:
        """Begin with none chosen, and end so."""
        self._chosen.ids.clear()
        self.ids.choose_bar.back()
        self._show_chosen()

    def choose_all(self) -> None:
        """Choose all that are listed, or none where all are."""
        if self.all_chosen:
            self._chosen.ids.clear()
        else:
            self._chosen.ids.update(self._found.ids())
        self._show_chosen()

    def export(self, ending: str) -> None:
        """Write the chosen dives to a file, and say where it lies."""
        export_together(App.get_running_app(), self._chosen_ids(), ending)
        self.choosing = False

    def show_to_club(self, shown: bool) -> None:
        """Let the club see the chosen dives, or see them no more."""
        show_together(App.get_running_app(), self._chosen_ids(), shown=shown)
        self.choosing = False

    def delete(self) -> None:
        """Put the chosen dives into the bin; one touch brings them back."""
        ids = self._chosen_ids()
        self.choosing = False
        change_together(
            App.get_running_app(),
            lambda logbook: logbook.delete_dives(ids),
            _("{dives} deleted."),
            _("{dives} back in the logbook."),
        )

    def tag(self) -> None:
        """Show the tags of the chosen dives."""
        tags, held, chosen = self._chosen.tags(self._found.catalogue.dives)
        title = _("Tags of {dives}").format(dives=spoken_dives(chosen))
        self._tags().show(tags, held, chosen, title)
        self.sheet = TAGGING

    def change_tags(self, add: list[str], remove: list[str]) -> None:
        """Give the chosen dives tags and take some from them."""
        ids = self._chosen_ids()
        self.sheet = ""
        self.choosing = False
        change_together(
            App.get_running_app(),
            lambda logbook: logbook.tag_dives(ids, add, remove),
            _("Tags of {dives} changed."),
            _("Tags of {dives} as they were."),
        )

    # Inside

    def on_showing_bin(self, *_args: Any) -> None:
        """Show the other list."""
        self.choosing = False
        self.sheet = ""
        self._place_front()
        self._list_lines()
        self._list.scroll_y = 1

    def _ask(self) -> None:
        self._stale = False
        App.get_running_app().ask(
            lambda logbook: (logbook.binned(), logbook.settings().units), then=self._take_bin
        )
        if self._kept_choice_known:
            self._find()
        else:
            App.get_running_app().ask(lambda logbook: logbook.list_choice(), then=self._list_as_kept)

    def _list_as_kept(self, kept: tuple[DiveOrder, Grouping]) -> None:
        """Order and part the list as it was when the app was closed."""
        if not self._kept_choice_known:
            self._kept_choice_known = True
            self._order, self._grouping = kept
        self._find()

    def _find(self) -> None:
        """Ask for the dives that fit, now or as soon as the last answer is there."""
        if self._asking:
            self._ask_again = True
            return
        self._asking, self._ask_again = True, False
        wanted, order, grouping = self._wanted, self._order, self._grouping
        App.get_running_app().ask(
            lambda logbook: logbook.find_dives(wanted, order, grouping), self._take_found, self._failed
        )

    def _failed(self, error: Exception) -> None:
        self._asking = False
        App.get_running_app().say_trouble(error)

    def _take_bin(self, answer: tuple[list[Any], str]) -> None:
        self._binned, system = answer
        self._units = SpokenUnits(system)
        self.deleted_count = len(self._binned)
        self._say_filter()
        if self.showing_bin and self._binned:
            self._list_lines()
        elif not self._binned:
            self.showing_bin = False

    def _take_found(self, found: Any) -> None:
        self._asking = False
        if self._ask_again:
            self._find()
        narrowed = self._found is not None and found.catalogue is self._found.catalogue
        self._found = found
        self.counts, self.listed_count = counts(found), len(found)
        self.empty = not found.catalogue.rows
        self.none_fits = not self.empty and not len(found)
        self._chosen.ids.intersection_update(row.id for row in found.catalogue.rows)
        self._say_chosen()
        self._list_lines()
        self._say_filter()
        if narrowed and not self.showing_bin:
            self._list.scroll_y = 1

    def _list_lines(self) -> None:
        if self.showing_bin:
            self._list.data = [binned_words(dive, at, self._units) for dive, at in self._binned]
        elif self._found is not None:
            narrow = App.get_running_app().look.narrow
            chosen = self._chosen.ids if self.choosing else None
            self._list.data = FoundLines(self._found, self._units, narrow, chosen)

    def _say_filter(self, *_args: Any) -> None:
        look, sheet = App.get_running_app().look, self._filter_sheet
        compact = look.width_dp < 600 * look.text_scale
        self.filtered = filter_words(self._wanted, self._units)
        self.ids.chips.chips = chips(self._wanted, self._order, self._grouping, self._units, compact)
        if sheet is None:
            return
        sheet.kinds = kind_chips(self._wanted, self._units)
        sheet.wanted, sheet.units = self._wanted, self._units
        sheet.order, sheet.grouping = self._order.value, self._grouping.value
        sheet.today = App.get_running_app().now().date()
        sheet.done_words = _("Back to the list") if self.none_fits else _("Show them")

    def _ask_names(self) -> None:
        kind = Named(self.sheet)

        def show(names: list[Any]) -> None:
            if self.sheet == kind.value:
                lines = name_lines(names, self._wanted.names(kind))
                self._filter_sheet.show_names(lines, no_names(kind))

        App.get_running_app().ask(lambda logbook: logbook.catalogue().names(kind), then=show)

    def on_none_fits(self, *_args: Any) -> None:
        """Say so in place of an empty list."""
        self._place_front()

    def _place_front(self) -> Any:
        """Put in front what shall be: a sheet, the list, or the words that nothing fits; return it."""
        if self.sheet:
            front = self._tags() if self.sheet == TAGGING else self._filters()
        else:
            front = self._nothing if self.none_fits and not self.showing_bin else self._list
        if front not in self.ids.front.children:
            self.ids.front.clear_widgets()
            self.ids.front.add_widget(front)
        return front

    def _filters(self) -> Any:
        """Return the sheet of the filters, built when it is first wanted."""
        if self._filter_sheet is None:
            from logbook_app.screens.widgets.filter_sheet import FilterSheet

            self._filter_sheet = FilterSheet()
            self._filter_sheet.bind(
                on_want=lambda _sheet, fields: self.want(fields),
                on_name=lambda _sheet, name: self.want_name(name),
                on_listed=lambda _sheet, listed, value: self.list_by(listed, value),
                on_open=lambda _sheet, sheet: setattr(self, "sheet", sheet),
                on_close=lambda _sheet: setattr(self, "sheet", ""),
            )
        return self._filter_sheet

    def _tags(self) -> Any:
        """Return the sheet of the tags, built when it is first wanted."""
        if self._tag_sheet is None:
            from logbook_app.screens.widgets.tag_sheet import TagSheet

            self._tag_sheet = TagSheet()
            self._tag_sheet.bind(
                on_tags=lambda _sheet, add, remove: self.change_tags(add, remove),
                on_close=lambda _sheet: setattr(self, "sheet", ""),
            )
        return self._tag_sheet

    def _say_chosen(self) -> None:
        self.chosen_count = len(self._chosen)
        self.all_chosen = bool(self._chosen) and self._chosen.are_all(self._found.ids())
        self.ids.choose_bar.words = chosen_words(len(self._chosen))

    def _show_chosen(self) -> None:
        self._say_chosen()
        self._list_lines()

    def _chosen_ids(self) -> list[str]:
        """Return the chosen dives in order of their start."""
        return self._chosen.in_order(self._found.catalogue.rows)

    def _restore(self, dive_id: str) -> None:
        restored = next(dive for dive, _at in self._binned if dive.id == dive_id)
        number = restored.number
        name = _("The dive") if number is None else _("Dive {number}").format(number=number)
        app = App.get_running_app()
        app.ask(
            lambda logbook: logbook.restore_dive(dive_id),
            then=lambda changes: (
                app.changed(changes),
                app.say(_("{dive} is back in the logbook.").format(dive=name)),
            ),
        )


def _without(names: tuple[str, ...], name: str) -> tuple[str, ...]:
    return tuple(other for other in names if other != name)
