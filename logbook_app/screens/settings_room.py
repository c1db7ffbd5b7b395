"""Settings: units, the two gradient factors, limits, how the screen looks, and what Leadline rests on.

A choice holds from the moment it is touched; there is nothing to save. A choice that cannot be is
refused with one sentence, and the one before stays.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.properties import ObjectProperty, StringProperty

from logbook_app import __version__
from logbook_app.dive.diver_settings import DiverSettings
from logbook_app.dive.problems import RefusedRecord
from logbook_app.language import LANGUAGES, SYSTEM, _
from logbook_app.screens.rooms import Room
from logbook_app.screens.settings_steps import TEXT_SIZES, said, stepped

ABOUT = (
    f"Leadline {__version__} is for the time between dives. It is not a dive computer and never "
    "advises a diver under water."
)
MODEL = (
    "Residual load, no-stop times and ceilings come from the Bühlmann ZH-L16C model with gradient "
    "factors. Time to fly is the latest of the consensus guideline for flying after recreational "
    "diving (workshop of 2002), the US Navy Diving Manual, Revision 7, where the dives fit its "
    "tables, and the model at a cabin altitude of 2,438 m (ISO 2533). Oxygen follows the limits of "
    "the NOAA Diving Manual, and its allowance for several days the REPEX method. A dive without "
    "samples is taken as square at its greatest depth and called an estimate."
)
CAUTION = (
    "No model knows the diver. Cold, work, age, illness and dehydration are not in it, and divers "
    "are bent inside every limit. Your training, local rules and a hyperbaric physician come first. "
    "With any symptom after a dive: oxygen, and call a physician."
)


class SettingsRoom(Room):
    """The diver's choices."""

    settings = ObjectProperty(None, allownone=True)
    """The DiverSettings that hold, None until the worker has answered."""

    refusal = StringProperty("")
    """Why the last touch of a gradient factor changed nothing."""

    limit_refusal = StringProperty("")
    """Why the last touch of a limit changed nothing."""

    logbook_path = StringProperty("")
    """Where the logbook file lies."""

    about = StringProperty(ABOUT)
    """What Leadline is."""

    model = StringProperty(MODEL)
    """What its figures rest on."""

    caution = StringProperty(CAUTION)
    """What they are not."""

    languages = ObjectProperty(())
    """Pairs of language and its name in itself; the system's is said in the language that is spoken."""

    text_sizes = ObjectProperty(TEXT_SIZES)
    """Pairs of scale and words."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(languages=((SYSTEM, _("As the system")), *LANGUAGES.items()), **kwargs)
        self._being_kept = 0  # touches that the worker has not yet written down

    def entered(self) -> None:
        """Ask for the choices that hold."""
        App.get_running_app().ask(_settings_and_path, then=self._answered)

    def refresh(self, changes: Any) -> None:
        """Follow a change that was made elsewhere."""
        if changes.settings and self.present and not self._being_kept:
            self.entered()

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
        self.settings = settings
        for name, words in said(self.settings).items():
            self.ids[name].value = words
        self.ids.units.value = self.settings.units
        self.ids.theme.value = self.settings.theme
        self.ids.language.value = self.settings.language
        self.ids.text_size.value = str(self.settings.text_scale)


def _settings_and_path(logbook: Any) -> tuple[DiverSettings, Path]:
    return logbook.settings(), logbook.path
