"""Settings: factors and limits, units, language, how the screen looks, the file, and what Leadline rests on.

A choice holds from the moment it is touched; there is nothing to save. A choice that cannot be is
refused with one sentence, and the one before stays.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.diver_settings import DiverSettings
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.unit_choice import unit_choice
from logbook_app.language import LANGUAGES, SYSTEM, _
from logbook_app.screens import settings_words
from logbook_app.screens.rooms import Room
from logbook_app.screens.settings_steps import TEXT_SIZES, quantities, said, stepped
from logbook_app.screens.widgets.unit_row import UnitRow


class PrivateRow(BoxLayout):
    """One field that is never shared unless the diver allows it."""

    name = StringProperty("")
    """Which field."""

    value = StringProperty("")
    """What stands in it in the last dive."""


class SettingsRoom(Room):
    """The diver's choices."""

    settings = ObjectProperty(None, allownone=True)
    """The DiverSettings that hold, None until the worker has answered."""

    refusal = StringProperty("")
    """Why the last touch of a gradient factor changed nothing."""

    limit_refusal = StringProperty("")
    """Why the last touch of a limit changed nothing."""

    name_refusal = StringProperty("")
    """Why the name that was written last is not kept."""

    effect = StringProperty("")
    """What the gradient factors mean for a rested diver."""

    logbook_path = StringProperty("")
    """Where the logbook file lies."""

    backup = StringProperty("")
    """When it was last backed up."""

    privacy = StringProperty("")
    """Who sees what is written here."""

    about = StringProperty("")
    """What Leadline is."""

    model = StringProperty("")
    """What its figures rest on."""

    caution = StringProperty("")
    """What they are not."""

    licences = StringProperty("")
    """Under which licences it and its parts are given."""

    versions = StringProperty("")
    """What a question about a figure should name."""

    languages = ObjectProperty(())
    """Pairs of language and its name in itself; the system's is said in the language that is spoken."""

    text_sizes = ObjectProperty(())
    """Pairs of scale and words."""

    def __init__(self, **kwargs: Any) -> None:
        self._being_kept = 0  # touches that the worker has not yet written down
        super().__init__(
            about=settings_words.about(),
            model=_(settings_words.MODEL),
            caution=_(settings_words.CAUTION),
            licences=_(settings_words.LICENCES),
            languages=((SYSTEM, _("As the system")), *LANGUAGES.items()),
            text_sizes=tuple((scale, _(words)) for scale, words in TEXT_SIZES),
            **kwargs,
        )

    def on_kv_post(self, _base_widget: Any) -> None:
        """Set out a row for each quantity."""
        for quantity, words, units in quantities():
            row = UnitRow(quantity=quantity, words=words, options=units)
            row.bind(on_unit=lambda row, unit: self.choose_unit(row.quantity, unit))
            self.ids.unit_rows.add_widget(row)

    def entered(self) -> None:
        """Ask for the choices that hold, and for what stands beside them."""
        app = App.get_running_app()
        now = app.now()
        app.ask(_settings_and_path, then=self._answered)
        app.ask(lambda logbook: _beside(logbook, now), then=self._show_beside)

    def left(self) -> None:
        """Keep the name, also where the field was never left."""
        self.keep_name()

    def keep_name(self) -> None:
        """Keep the name as it is written, or say why not."""
        self.name_refusal = ""
        try:
            self.choose("name", " ".join(self.ids.diver_name.text.split()))
        except RefusedRecord as refusal:
            self.name_refusal = str(refusal)

    def refresh(self, changes: Any) -> None:
        """Follow a change that was made elsewhere."""
        if changes.settings and self.present and not self._being_kept:
            self.entered()
        elif changes.dives and self.present and self.ids.shown.dive_id:
            self.ids.shown.ask()

    def step(self, name: str, steps: int) -> None:
        """Change a number by so many steps, or say why not."""
        self.refusal = self.limit_refusal = ""
        if self.settings is None:
            return
        try:
            self._keep(stepped(self.settings, name, steps))
        except RefusedRecord as refusal:
            if name.startswith("gf"):
                self.refusal = str(refusal)
            else:
                self.limit_refusal = str(refusal)

    def choose(self, field: str, value: Any) -> None:
        """Change a choice."""
        if self.settings is not None and getattr(self.settings, field) != value:
            self._keep(replace(self.settings, **{field: value}))

    def choose_unit(self, quantity: str, unit: str) -> None:
        """Read one quantity in another unit."""
        if self.settings is not None:
            chosen = replace(unit_choice(self.settings.units), **{quantity: unit})
            self.choose("units", str(chosen))

    def _keep(self, settings: DiverSettings) -> None:
        """Show at once what will hold, and keep it."""
        self._show(settings)
        self._being_kept += 1
        App.get_running_app().ask(
            lambda logbook: logbook.change_settings(settings), then=self._kept, failed=self._not_kept
        )

    def _kept(self, changes: Any) -> None:
        self._being_kept -= 1
        App.get_running_app().changed(changes)

    def _not_kept(self, error: Exception) -> None:
        """Say why, and show what holds instead."""
        self._being_kept -= 1
        App.get_running_app().say_trouble(error)
        self.entered()

    def _answered(self, answer: tuple[DiverSettings, Path]) -> None:
        settings, path = answer
        self.logbook_path = str(path)
        if not self._being_kept:  # else the finger has been faster than this answer
            self._show(settings)

    def _show(self, settings: DiverSettings) -> None:
        before, self.settings = self.settings, settings
        for name, words in said(settings).items():
            self.ids[name].value = words
        self.ids.units.value = settings.units
        for row in self.ids.unit_rows.children:
            row.value = getattr(unit_choice(settings.units), row.quantity)
        if not self.ids.diver_name.focus:
            self.ids.diver_name.text = settings.name
        self.ids.week.value = settings.week_begins
        self.ids.theme.value = settings.theme
        self.ids.language.value = settings.language
        self.ids.text_size.value = str(settings.text_scale)
        if before is None or (before.factors, before.units) != (settings.factors, settings.units):
            self._ask_effect(settings)

    def _ask_effect(self, settings: DiverSettings) -> None:
        App.get_running_app().ask(
            lambda _logbook: settings_words.factors_effect(settings.factors, SpokenUnits(settings.units)),
            then=lambda words: setattr(self, "effect", words),
        )

    def _show_beside(self, answer: tuple[str, str, str, tuple[tuple[str, str], ...], str]) -> None:
        self.backup, self.privacy, self.versions, private, last_id = answer
        self.ids.shown.dive_id = last_id
        if last_id:
            self.ids.shown.ask()
        self.ids.private.clear_widgets()
        for name, value in private:
            self.ids.private.add_widget(PrivateRow(name=name, value=value))


def _settings_and_path(logbook: Any) -> tuple[DiverSettings, Path]:
    return logbook.settings(), logbook.path


def _beside(logbook: Any, now: datetime) -> tuple[str, str, str, tuple[tuple[str, str], ...], str]:
    last = logbook.last_backup()
    own = [dive for dive in logbook.dives() if dive.own]
    return (
        settings_words.backup_words(last and last.at, str(last.path) if last else "", now),
        settings_words.privacy(logbook.club.state()),
        settings_words.versions(),
        settings_words.never_shared(own[-1] if own else None),
        own[-1].id if own else "",
    )
