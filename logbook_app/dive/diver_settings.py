"""What the diver chose: gradient factors, limits, units, language and how the screen looks."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Any

from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.unit_choice import unit_choice
from logbook_app.language import LANGUAGES, SYSTEM, _, later, number
from logbook_app.physics.ascent_rate import USUAL_LIMIT_M_MIN
from logbook_app.physics.equivalent_depths import HIGHEST_PPO2_LIMIT_BAR, WORKING_PPO2_LIMIT_BAR
from logbook_app.physics.gradient_factors import GradientFactors

THEME_NAMES = ("day", "night")
LONGEST_NAME = 60  # letters
WEEK_BEGINNINGS = ("monday", "sunday")
USUALLY_SHOWN = ("place", "gas", "samples")  # of a dive; a buddy's name is the buddy's own to show
# What follows a diver from device to device, as `settings_to_text` names it; the look of a screen stays
# with the screen.
SETTINGS_THAT_TRAVEL = (
    "gf_low", "gf_high", "ascent_limit_m_min", "ppo2_limit_bar", "units", "shows_new_dives", "shown_parts",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class DiverSettings:
    """The diver's choices; each has a cautious or common default.

    factors              gradient factors, 40/85 unless chosen otherwise
    ascent_limit_m_min   above it an ascent is called fast [m/min]
    ppo2_limit_bar       for the greatest depth of a gas [bar]
    units                `metric`, `imperial` or a unit for each quantity: see `unit_choice`
    text_scale           1 is the system's own text size
    shows_new_dives      whether the club sees a dive from when it comes into the logbook
    shown_parts          what the club sees of it, see `sync.shown_dives.PARTS`, with a space between two
    syncs_alone          whether this device syncs at its start and after a save
    name                 what the diver is called on a dive that is handed over; empty until written down
    week_begins          `monday` or `sunday`: the first day of a row in a calendar
    language             `en`, `de`, or `system` for what the system speaks

    Raises RefusedRecord where a value is outside its range.
    """

    factors: GradientFactors = field(default_factory=GradientFactors)
    ascent_limit_m_min: float = USUAL_LIMIT_M_MIN
    ppo2_limit_bar: float = WORKING_PPO2_LIMIT_BAR
    units: str = "metric"
    theme: str = "day"
    text_scale: float = 1.0
    language: str = SYSTEM
    week_begins: str = "monday"
    shows_new_dives: bool = False
    shown_parts: str = " ".join(USUALLY_SHOWN)
    syncs_alone: bool = False
    name: str = ""

    def __post_init__(self) -> None:
        _within(later("An ascent limit"), self.ascent_limit_m_min, 3, 20, "m/min")
        _within(later("An oxygen limit"), self.ppo2_limit_bar, 1.0, HIGHEST_PPO2_LIMIT_BAR, "bar")
        _within(later("A text size"), self.text_scale, 0.8, 2.0, later("times the usual"))
        unit_choice(self.units)
        if self.theme not in THEME_NAMES:
            raise RefusedRecord(_("The theme is day or night, not {theme!r}.").format(theme=self.theme))
        if len(self.name) > LONGEST_NAME or not (self.name.isprintable() and self.name == self.name.strip()):
            raise RefusedRecord(_("A name has up to {most} letters, in one line.").format(most=LONGEST_NAME))
        if self.week_begins not in WEEK_BEGINNINGS:
            sentence = _("A week begins on monday or sunday, not on {day}.")
            raise RefusedRecord(sentence.format(day=self.week_begins))
        if self.language not in (SYSTEM, *LANGUAGES):
            raise RefusedRecord(
                _("The language is {languages}, not {language}.").format(
                    languages=", ".join((SYSTEM, *LANGUAGES)), language=self.language
                )
            )


def settings_to_text(settings: DiverSettings) -> dict[str, str]:
    """Return the settings as the logbook file keeps them."""
    kept = {
        item.name: str(getattr(settings, item.name)) for item in fields(settings) if item.name != "factors"
    }
    return kept | {"gf_low": str(settings.factors.low), "gf_high": str(settings.factors.high)}


def settings_from_text(kept: Mapping[str, str]) -> DiverSettings:
    """Return the settings kept in a logbook file; what is missing or unreadable takes its default."""
    settings = DiverSettings()
    for name in ("ascent_limit_m_min", "ppo2_limit_bar", "text_scale"):
        settings = _with(settings, name, kept.get(name), float)
    for name in ("units", "theme", "language", "week_begins", "name", "shown_parts"):
        settings = _with(settings, name, kept.get(name), str)
    for name in ("shows_new_dives", "syncs_alone"):
        settings = _with(settings, name, kept.get(name), _yes)
    try:
        factors = GradientFactors(float(kept["gf_low"]), float(kept["gf_high"]))
    except (KeyError, ValueError):
        return settings
    return replace(settings, factors=factors)


def _with(settings: DiverSettings, name: str, text: str | None, kind: Callable[[str], Any]) -> DiverSettings:
    if text is None:
        return settings
    try:
        changed: dict[str, Any] = {name: kind(text)}
        return replace(settings, **changed)
    except (ValueError, RefusedRecord):
        return settings


def _yes(text: str) -> bool:
    return text == str(True)


def _within(what: str, value: float, low: float, high: float, unit: str) -> None:
    if not low <= value <= high:
        raise RefusedRecord(
            _("{what} of {value} {unit} is outside {low} to {high}.").format(
                what=_(what),
                value=number(value, "g"),
                unit=_(unit),
                low=number(low, "g"),
                high=number(high, "g"),
            )
        )
