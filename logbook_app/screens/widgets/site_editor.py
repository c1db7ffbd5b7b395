"""Where a dive was: one of the known places, that place corrected, or a new one."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from kivy.properties import BooleanProperty, ListProperty, StringProperty

from logbook_app.dive.record import Site, Water
from logbook_app.language import _, ngettext
from logbook_app.screens.editing import EVERYWHERE
from logbook_app.screens.record_questions import record_questions
from logbook_app.screens.widgets.field_panel import Editor
from logbook_app.screens.widgets.numbers_of import NumbersOf

KNOWN, CORRECT, NEW = "known", "correct", "new"
HERE = "here"
NOT_SAID = "not-said"
MOST_CHIPS = 12
_NUMBERS = ("elevation_m", "latitude_deg", "longitude_deg")


class SiteEditor(Editor):
    """Choosing keeps at once; what is written is kept with Save, for this dive or for all dives there."""

    way = StringProperty(KNOWN)
    """`known`, `correct` or `new`."""

    ways = ListProperty([])
    """What there is to do."""

    scopes = ListProperty([])
    """How far a correction may reach."""

    offered = ListProperty([])
    """Names of known places that have what is looked for."""

    many = BooleanProperty(False)
    """True where there are more places than chips."""

    chosen = ListProperty([])
    """The place that holds."""

    water = StringProperty(NOT_SAID)
    """Water of the place that is written."""

    scope = StringProperty(HERE)
    """Whether a correction holds for this dive or everywhere."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        site = self.editing.dive.site
        asked = record_questions(self.editing.units)
        self._numbers = NumbersOf(self, {name: asked[name] for name in _NUMBERS}, dict.fromkeys(_NUMBERS))
        self._sites = {known.name: known for known in reversed(self.editing.known.sites)}
        self.ways, self.scopes = _ways(site), _scopes(self.editing.dives_there)
        self.chosen = [site.name] if site else []
        self.many = len(self._sites) > MOST_CHIPS
        self.look_for("")
        self._fill(None)

    def go(self, chosen: list[str]) -> None:
        """Turn to another way."""
        (self.way,) = chosen
        self._fill(self.editing.dive.site if self.way == CORRECT else None)

    def look_for(self, text: str) -> None:
        """Offer the places whose names have the text."""
        wanted = text.casefold().strip()
        names = [site.name for site in self.editing.known.sites if site.name in self._sites]
        self.offered = [name for name in dict.fromkeys(names) if wanted in name.casefold()][:MOST_CHIPS]

    def choose(self, chosen: list[str]) -> None:
        """Keep a known place, or none."""
        self.dispatch("on_save", {"site": self._sites[chosen[0]] if chosen else None})

    def save(self) -> None:
        """Keep what is written; a place needs a name."""
        name = " ".join(self.ids.name.text.split())
        if not name or self._numbers.in_trouble:
            self.ids.name.focus = not name
            return
        values: dict[str, Any] = self._numbers.values
        values |= {
            "region": self.ids.region.text.strip(),
            "water": None if self.water == NOT_SAID else Water(self.water),
        }
        site = self.editing.dive.site
        if self.way == CORRECT and (self.scope == EVERYWHERE or name == site.name):
            self.dispatch(
                "on_save", {"site": replace(site, name=name, **values), EVERYWHERE: self.scope == EVERYWHERE}
            )
        else:
            self.dispatch("on_save", {"site": Site.named(name, **values)})

    def _fill(self, site: Site | None) -> None:
        self.ids.name.text = site.name if site else ""
        self.ids.region.text = site.region if site else ""
        self.water = site.water.value if site and site.water else NOT_SAID
        self._numbers.fill({name: getattr(site, name) if site else None for name in _NUMBERS})


def _ways(site: Site | None) -> list[tuple[str, str]]:
    correct = [(CORRECT, _("Correct this place"))] if site else []
    return [(KNOWN, _("Choose a place")), *correct, (NEW, _("A new place"))]


def _scopes(count: int) -> list[tuple[str, str]]:
    if count < 2:
        return []
    all_there = ngettext("The {count} dive there", "All {count} dives there", count).format(count=count)
    return [(HERE, _("This dive only")), (EVERYWHERE, all_there)]
