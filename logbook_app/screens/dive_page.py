"""One dive: its chart section, its figures, what it shows, and everything written down about it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.core.window import Window
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.utils import escape_markup, get_hex_from_color

from logbook_app.analysis.dive_view import DiveView
from logbook_app.analysis.dive_words import DiveSheet, Said, dive_sheet
from logbook_app.analysis.history_words import told_history
from logbook_app.analysis.other_recording import OtherRecording, other_recordings
from logbook_app.analysis.planned_and_dived import planned_as_recording
from logbook_app.analysis.section_of_dive import Section, section_of_dive
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.analysis.unparted import unparted
from logbook_app.dive.problems import RefusedRecord
from logbook_app.language import _
from logbook_app.logbook import PICTURE_ENDINGS
from logbook_app.screens.editing import Editing, editing, editor_heading, save_edit, saved_words
from logbook_app.screens.editors import editor_for
from logbook_app.screens.history_lines import HistoryLine, history_lines
from logbook_app.screens.photo_lines import PhotoLines, photo_lines
from logbook_app.screens.photo_page import add_photos
from logbook_app.screens.platform_services import Result, has_file_chooser, pick_files, share_file
from logbook_app.screens.record_groups import RecordGroup, record_groups
from logbook_app.screens.recording_lines import RecordingLine, named_profiles, recording_lines
from logbook_app.screens.rooms import Room
from logbook_app.screens.widgets.recording_row import RecordingRow
from logbook_app.screens.widgets.words import Words

LAID_OUT_AFTER_S = 0.05  # the sheet takes its room first


@dataclass(frozen=True, slots=True, eq=False)
class Shown:
    """All that the worker works out for the page of one dive."""

    dive_id: str
    sheet: DiveSheet
    section: Section
    recordings: tuple[RecordingLine, ...]
    others: tuple[OtherRecording, ...]
    groups: tuple[RecordGroup, ...]
    history: tuple[HistoryLine, ...]
    photos: PhotoLines


class DivePage(Room):
    """The page of the dive that `show` names."""

    dive_id = StringProperty("")
    """Which dive; empty before the first."""

    sheet = ObjectProperty(None, allownone=True, rebind=True)
    """The DiveSheet that is shown, None until the worker has answered."""

    section = ObjectProperty(None, allownone=True)
    """The Section that the chart draws."""

    recordings = ObjectProperty(())
    """The recordings where there are several (`RecordingLine`), the leading one first."""

    others = ObjectProperty(())
    """Those of them that can be laid over the chart (`OtherRecording`)."""

    groups = ObjectProperty(())
    """The fields of the record (`RecordGroup`)."""

    history = ObjectProperty(())
    """What became of the dive (`HistoryLine`), the newest first."""

    photos = ObjectProperty(PhotoLines(), rebind=True)
    """The photos of the dive (`PhotoLines`)."""

    offers = ObjectProperty(())
    """What seems to be the same dive once more (`JoinOffer`)."""

    changing = StringProperty("")
    """Name of the field that is being changed, empty for none."""

    ready = BooleanProperty(False)
    """True while the page shows the dive that was asked for."""

    def __init__(self, **kwargs: Any) -> None:
        self._stale = False
        self.keep_in_view = Clock.create_trigger(lambda _dt: self._bring_into_view(), LAID_OUT_AFTER_S)
        super().__init__(**kwargs)
        App.get_running_app().look.tell(self, lambda page: page._show_findings(), "theme")

    def show(self, dive_id: str) -> None:
        """Turn to a dive; the worker is asked for it at once."""
        if dive_id != self.dive_id:
            self.dive_id = dive_id
            self.ready, self.sheet, self.section, self.recordings, self.others = False, None, None, (), ()
            self.offers = ()
            self.put_panel_away()
            self.ids.page.scroll_y = 1
        self._ask()

    def entered(self) -> None:
        """Take the arrow keys, and ask again where the dive changed meanwhile."""
        Window.bind(on_key_down=self._on_key)
        if self._stale:
            self._ask()

    def left(self) -> None:
        """Leave the arrow keys to others."""
        Window.unbind(on_key_down=self._on_key)

    def refresh(self, changes: Any) -> None:
        """A dive before this one, or the diver's factors, change what this page shows as well."""
        if not self.dive_id or not (changes.dives or changes.totals or changes.settings):
            return
        self._stale = True
        if self.present:
            self._ask()

    def back(self) -> bool:
        """Put the sheet away where it is open."""
        was_open = bool(self.changing)
        self.put_panel_away()
        return was_open

    def edit(self, name: str) -> None:
        """Open the sheet on a field of the record."""
        if not self.ready:
            return
        app, dive_id = App.get_running_app(), self.dive_id
        self.changing = name

        def open_panel(given: Editing) -> None:
            if (self.dive_id, self.changing) != (dive_id, name):
                return  # the diver has gone on since
            self.ids.panel.open(editor_heading(name, given), editor_for(name, given))
            self.keep_in_view()

        now = app.now()
        app.ask(lambda logbook: editing(logbook, dive_id, now), then=open_panel)

    def put_panel_away(self) -> None:
        """Close the sheet; what was not saved is left as it was."""
        self.changing = ""
        self.ids.panel.close()

    def save_field(self, values: dict[str, Any], name: str = "") -> None:
        """Keep a field, and offer to take it back; what is refused stays on the sheet with its reason."""
        app, dive_id, name = App.get_running_app(), self.dive_id, name or self.changing

        def saved(changes: Any) -> None:
            if self.changing == name:
                self.put_panel_away()
            if changes.change_id:
                app.changed(changes)
                words = saved_words(name, len(changes.dives))
                app.say(words, undo=lambda: self.take_back(changes.change_id))

        def refused(error: Exception) -> None:
            if isinstance(error, RefusedRecord) and self.changing == name:
                self.ids.panel.trouble = str(error)
            else:
                app.say_trouble(error)

        app.ask(lambda logbook: save_edit(logbook, dive_id, values), then=saved, failed=refused)

    def add_photos(self) -> None:
        """Let the diver choose photos: with the device's own chooser, else from its folders."""
        if has_file_chooser():
            dive_id = self.dive_id
            pick_files(
                PICTURE_ENDINGS,
                lambda result: Clock.schedule_once(lambda _dt: _add(dive_id, result)),
                kind=_("Photos"),
                title=_("Choose photos"),
            )
        else:
            App.get_running_app().go("photo").choose(self.dive_id)

    def take_files(self, paths: list[Path]) -> bool:
        """Add files that were dropped on the page, where all of them are pictures; False for any others."""
        if not self.ready or not all(path.suffix.lower() in PICTURE_ENDINGS for path in paths):
            return False
        add_photos(self.dive_id, paths)
        return True

    def look_at(self, sha256: str) -> None:
        """Show a photo as large as the screen."""
        caption = next((line.caption for line in self.photos.lines if line.sha256 == sha256), "")
        App.get_running_app().go("photo").look_at(self.dive_id, sha256, caption)

    def set_camera(self, ahead_s: int) -> None:
        """Put the camera's clock right for this dive."""
        self.save_field({"camera_ahead_s": ahead_s}, "camera_ahead_s")

    def join(self, offer: Any) -> None:
        """Make two records one and show the one that stays, with undo."""
        app, dive_id = App.get_running_app(), self.dive_id

        def joined(changes: Any) -> None:
            if self.dive_id == dive_id:
                self.show(offer.keep_id)
            app.changed(changes)
            app.say(
                _("They are one dive now."),
                undo=lambda: app.ask(lambda logbook: logbook.undo_import(changes.undo_id), then=app.changed),
            )

        app.ask(lambda logbook: logbook.join_dives(offer.keep_id, offer.other_id), then=joined)

    def put_back(self, ids: tuple[int, ...]) -> None:
        """Let fields say again what they said before a change, and offer to take that back."""
        app, dive_id = App.get_running_app(), self.dive_id

        def returned(changes: Any) -> None:
            app.changed(changes)
            if changes.change_id:
                app.say(_("It is put back."), undo=lambda: self.take_back(changes.change_id))
            else:
                app.say(_("This is what the record says already."))

        app.ask(lambda logbook: logbook.put_back(dive_id, ids), then=returned)

    def take_back(self, change_id: int) -> None:
        """Take back one change of the record."""
        app = App.get_running_app()
        app.ask(lambda logbook: logbook.take_back(change_id), then=app.changed)

    def delete(self) -> None:
        """Put the dive into the bin, go back, and offer to undo it; a second tap does nothing more."""
        if not self.ready:
            return
        app, dive_id, title = App.get_running_app(), self.dive_id, self.sheet.title

        def deleted(changes: Any) -> None:
            self.dive_id = ""
            app.back()
            app.changed(changes)
            app.say(_("{title} is deleted.").format(title=title), undo=restore)

        def restore() -> None:
            app.ask(lambda logbook: logbook.restore_dive(dive_id), then=app.changed)

        def not_deleted(error: Exception) -> None:
            self.ready = True
            app.say_trouble(error)

        self.ready = False
        app.ask(lambda logbook: logbook.delete_dive(dive_id), then=deleted, failed=not_deleted)

    def take_out(self, ending: str, with_contacts: bool = False) -> None:
        """Write this dive to a file, and share it where the device can; else say where it lies.

        with_contacts   whether a page to print shows the emergency contacts on its pre-dive card
        """
        if not self.ready:
            return
        from logbook_app.screens.printed_files import write_dive

        app, dive_id = App.get_running_app(), self.dive_id

        def written(path: Path) -> None:
            if not share_file(path).ok:
                app.say(_("The dive lies in {path}.").format(path=path))

        app.ask(
            lambda logbook: write_dive(logbook, dive_id, ending, with_contacts=with_contacts), then=written
        )

    def lead_with(self, line: RecordingLine) -> None:
        """Let another recording lead, and offer to undo it."""
        app, dive_id, before = App.get_running_app(), self.dive_id, self.recordings[0]

        def back() -> None:
            app.ask(lambda logbook: logbook.lead_with(dive_id, before.fingerprint), then=app.changed)

        def leads(changes: Any) -> None:
            app.changed(changes)
            app.say(_("{heading} leads now.").format(heading=line.heading), undo=back)

        app.ask(lambda logbook: logbook.lead_with(dive_id, line.fingerprint), then=leads)

    def on_recordings(self, _page: Any, lines: tuple[RecordingLine, ...]) -> None:
        """Set out the recordings."""
        self.ids.recordings.clear_widgets()
        for line in lines:
            row = RecordingRow(line=line)
            row.bind(on_lead=lambda row: self.lead_with(row.line))
            self.ids.recordings.add_widget(row)

    def _ask(self) -> None:
        self._stale, dive_id = False, self.dive_id

        def work(logbook: Any) -> Shown:
            view, units = logbook.dive_view(dive_id), SpokenUnits(logbook.settings().units)
            section = section_of_dive(view.dive, view.profile, view.analysis, units)
            lines = recording_lines(view.dive, units)
            others = _laid_over(logbook, view, lines)
            groups = record_groups(view.dive, units)
            told = told_history(view.dive, logbook.history(dive_id), units)
            sheet, history = dive_sheet(view, units), history_lines(told)
            photos = photo_lines(view.dive, logbook.thumbnails(view.dive))
            return Shown(dive_id, sheet, section, lines, others, groups, history, photos)

        App.get_running_app().ask(work, then=self._show, failed=self._cannot_show)

    def _ask_offers(self) -> None:
        """Look for the same dive among all others; the page does not wait for it."""
        dive_id = self.dive_id

        def show(offers: Any) -> None:
            if self.dive_id == dive_id:
                self.offers = tuple(offers)

        App.get_running_app().ask(lambda logbook: logbook.doubles([dive_id]), then=show)

    def _show(self, answer: Shown) -> None:
        if answer.dive_id != self.dive_id:
            return  # the diver has turned to another dive since
        self.sheet, self.section, self.recordings = answer.sheet, answer.section, answer.recordings
        self.others, self.groups, self.history = answer.others, answer.groups, answer.history
        self.photos, self.ready = answer.photos, True
        self._ask_offers()
        self._show_findings()
        self.ids.pre_dive.ask()
        self.ids.shown.ask()

    def _cannot_show(self, error: Exception) -> None:
        """Say why; a page with nothing on it is left."""
        app = App.get_running_app()
        if self.present and not self.ready:
            self.dive_id = ""
            app.back()
        app.say_trouble(error)

    def _show_findings(self) -> None:
        """Say what was found, a paragraph each; only what needs a look has the accent."""
        self.ids.findings.clear_widgets()
        for said in self.sheet.findings if self.sheet else ():
            self.ids.findings.add_widget(Words(text=_marked_up(said), markup=True))

    def _bring_into_view(self) -> None:
        box = self.ids.record.field(self.changing) if self.changing else None
        if box is not None and box.get_root_window() is not None:
            self.ids.page.scroll_to(box)

    def _on_key(self, _window: Any, key: int, _scan: int, text: str | None, modifiers: list[str]) -> bool:
        return self.ready and self.ids.chart_card.chart.key(key, text, modifiers)


def _laid_over(logbook: Any, view: DiveView, lines: tuple[RecordingLine, ...]) -> tuple[OtherRecording, ...]:
    """Return what can be laid over the leading recording: the plan it was made by, and others of the dive."""
    others = other_recordings(view.dive, view.profile, named_profiles(logbook, view.dive, lines))
    line = view.dive.pre_dive.planned_line if view.dive.pre_dive else None
    return others if line is None or view.profile is None else (planned_as_recording(line, view), *others)


def _add(dive_id: str, result: Result) -> None:
    if result.ok:
        add_photos(dive_id, list(result.value))
    elif result.reason:
        App.get_running_app().say(result.reason)


def _marked_up(said: Said) -> str:
    theme = App.get_running_app().look.theme
    lead, words = escape_markup(said.lead), escape_markup(unparted(said.words))
    colour = get_hex_from_color(theme.accent if said.look_here else theme.ink)
    return f"[b][color={colour}]{lead}[/color][/b] {words}"
