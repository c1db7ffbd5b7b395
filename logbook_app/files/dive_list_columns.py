"""What each column of a list of dives is, told by its header in any of several languages.

A header is a name and, in brackets or as its last word, a unit: "Tiefe [m]", "max depth (ft)",
"durée (min)". The whole name must be known; nothing is guessed from a part of it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from logbook_app.files.csv_columns import UNITS, Convert, plain, same, times
from logbook_app.files.told_date import Order
from logbook_app.physics.units import kilograms_from_pounds

_NAMES: Final[Mapping[str, str]] = {
    name: quantity
    for quantity, names in {
        "id": "id",
        "number": "number, no, nr, dive number, dive no, nummer, tauchgang, tauchgang nr, numero, "
        "plongee no, numer, numero de buceo, dykk nr, dyk nr",
        "diver": "diver",
        "began": "began, date and time, date time, datetime, datum und uhrzeit, date et heure, fecha y hora, "
        "data e ora",
        "date": "date, dive date, datum, tauchdatum, fecha, data, dato, paivamaara",
        "time": "time, start time, start, time in, entry time, uhrzeit, beginn, startzeit, einstieg, heure, "
        "heure de debut, hora, hora de inicio, ora, ora di inizio, tijd, begintijd, tidspunkt, starttid, "
        "klockslag, godzina, kello",
        "duration": "duration, dive time, dive duration, dauer, tauchzeit, tauchdauer, duree, duree de "
        "plongee, temps de plongee, duracion, tiempo de inmersion, durata, durata immersione, duracao, duur, "
        "duiktijd, varighed, varighet, dykketid, dyktid, czas nurkowania, kesto, sukellusaika",
        "depth": "depth, max depth, maximum depth, greatest depth, tiefe, max tiefe, maximale tiefe, "
        "maximaltiefe, grosste tiefe, tauchtiefe, profondeur, profondeur max, profondeur maximale, "
        "profundidad, profundidad maxima, profondita, profondita massima, profundidade, profundidade maxima, "
        "diepte, maximale diepte, dybde, maks dybde, storste dybde, djup, maxdjup, storsta djup, glebokosc, "
        "glebokosc maksymalna, syvyys, suurin syvyys",
        "mean depth": "mean depth, average depth, durchschnittstiefe, mittlere tiefe, profondeur moyenne, "
        "profundidad media, profondita media, profundidade media, gemiddelde diepte, gennemsnitsdybde, "
        "gjennomsnittsdybde, medeldjup, srednia glebokosc, keskisyvyys",
        "site": "site, dive site, place, location, tauchplatz, tauchort, ort, lieu, site de plongee, "
        "lugar, sitio, punto de inmersion, luogo, sito, local, duikplaats, plaats, sted, dykkested, plats, "
        "dykplats, miejsce, paikka, sukelluspaikka",
        "region": "region, country, land, pays, pais, paese, kraj, maa",
        "latitude": "latitude, breite, breitengrad, latitud, latitudine",
        "longitude": "longitude, lange, langengrad, longitud, longitudine",
        "elevation": "elevation, altitude, hohe, hohe uber meer, altitud, altitudine, hoogte",
        "surface pressure": "surface pressure, luftdruck, pression atmospherique, presion atmosferica",
        "water": "water, gewasser, eau, agua, acqua",
        "estimate": "estimate",
        "buddies": "buddy, buddies, dive buddy, partner, tauchpartner, binome, equipier, companero, "
        "compagno, parceiro, buddys, makker, kompis, parkompis, partner nurkowy, pari",
        "gas": "gas, mix, gemisch, atemgas, gaz, melange, mezcla, miscela, mistura, kaasu",
        "volume": "cylinder, cylinder volume, cylinder size, flasche, flaschengrosse, flaschenvolumen, "
        "bouteille, botella, bombola, garrafa, fles, flaske, flaska, butla, pullo",
        "start pressure": "start pressure, pressure at start, begin pressure, startdruck, anfangsdruck, "
        "pression initiale, pression de depart, presion inicial, pressione iniziale, pressao inicial, "
        "begindruk, starttryk, starttrykk, starttryck, cisnienie poczatkowe, alkupaine",
        "end pressure": "end pressure, pressure at end, enddruck, restdruck, pression finale, pression de "
        "fin, presion final, pressione finale, pressao final, einddruk, sluttryk, sluttrykk, sluttryck, "
        "cisnienie koncowe, loppupaine",
        "weights": "weights, weight, lead, blei, gewicht, lest, lastre, zavorra, lastro, lood, bly, vikter, "
        "balast, painot",
        "suit": "suit, anzug, tauchanzug, combinaison, traje, muta, fato, pak, dragt, drakt, skafander, puku",
        "air temperature": "air temperature, lufttemperatur, temperature de l air, temperatura del aire, "
        "temperatura dell aria, luchttemperatuur, temperatura powietrza, ilman lampotila",
        "water temperature": "water temperature, lowest temperature, temperature, wassertemperatur, "
        "temperatur, temperature de l eau, temperatura del agua, temperatura dell acqua, temperatura, "
        "watertemperatuur, vandtemperatur, vanntemperatur, vattentemperatur, temperatura wody, "
        "veden lampotila",
        "visibility": "visibility, sicht, sichtweite, visibilite, visibilidad, visibilita, visibilidade, "
        "zicht, sigt, sikt, widocznosc, nakyvyys",
        "current": "current, stromung, courant, corriente, corrente, stroming, strom, prad, virtaus",
        "conditions": "conditions, bedingungen, condiciones, condizioni, condicoes, omstandigheden, forhold",
        "purpose": "purpose, zweck, but, proposito, scopo",
        "rating": "rating, bewertung, evaluation, valoracion, valutazione, avaliacao, beoordeling",
        "tags": "tags, keywords, stichworte, mots cles, etiquetas, parole chiave",
        "trip": "trip, reise, tauchreise, voyage, viaje, viaggio, viagem, reis, rejse, resa, podroz, matka",
        "supervised by": "supervised by, supervisor, instructor, beaufsichtigt von, tauchlehrer",
        "role": "role, rolle",
        "surroundings": "surroundings, environment, umgebung",
        "notes": "notes, note, remarks, comments, bemerkung, bemerkungen, notizen, remarques, commentaires, "
        "notas, observaciones, osservazioni, opmerkingen, bemaerkninger, merknader, anteckningar, uwagi, "
        "huomautukset",
    }.items()
    for name in names.split(", ")
}

_LENGTH: Final = UNITS["depth"]
_UNITS: Final[Mapping[str, Mapping[str, Convert]]] = {
    "duration": {
        **dict.fromkeys(("min", "mins", "minute", "minutes", "minuten"), same),
        **dict.fromkeys(("s", "sec", "seconds", "sekunden", "secondes"), times(1.0 / 60.0)),
        **dict.fromkeys(("h", "hours", "stunden", "heures"), times(60.0)),
    },
    "depth": _LENGTH,
    "mean depth": _LENGTH,
    "elevation": _LENGTH,
    "visibility": _LENGTH,
    "surface pressure": {"bar": same, **dict.fromkeys(("hpa", "mbar"), times(0.001))},
    "volume": dict.fromkeys(("l", "litre", "litres", "liter"), same),
    "start pressure": UNITS["pressure"],
    "end pressure": UNITS["pressure"],
    "weights": {
        **dict.fromkeys(("kg", "kilogram", "kilograms"), same),
        **dict.fromkeys(("lb", "lbs", "pounds"), kilograms_from_pounds),
    },
    "air temperature": UNITS["temperature"],
    "water temperature": UNITS["temperature"],
    "latitude": dict.fromkeys(("degrees", "deg", "grad"), same),
    "longitude": dict.fromkeys(("degrees", "deg", "grad"), same),
}
_ASSUMED: Final = {"duration": "minutes", "depth": "metres"}
MINUTES_FIRST: Final = "mm:ss"
HOURS_FIRST: Final = frozenset({"h:mm", "hh:mm"})
_ORDERS: Final[Mapping[str, Order]] = {"dd/mm/yyyy": Order.DAY, "mm/dd/yyyy": Order.MONTH}
_HEADER: Final = re.compile(r"([^\[(]*)(?:[\[(]([^\])]*)[\])])?\s*")


@dataclass(frozen=True, slots=True)
class ListColumn:
    """One column that is read.

    place     where it stands, from 0
    quantity  what it holds
    convert   turns its numbers into the record's unit
    unit      as the header tells it, empty where it does not
    """

    place: int
    quantity: str
    convert: Convert
    unit: str

    def other_unit(self, unit: str) -> Convert | None:
        """Return what converts a number that carries its own unit, None for one that is not known."""
        return _UNITS.get(self.quantity, {}).get(plain(unit))

    @property
    def date_order(self) -> Order | None:
        """The order of a date with slashes, where the header tells it."""
        return _ORDERS.get(self.unit)


_FEWEST_CELLS: Final = 3  # a day, a depth and a duration


@dataclass(frozen=True, slots=True)
class ListColumns:
    """The columns of a list by what they hold.

    unread   headers that name nothing known
    assumed  units that were taken because the header tells none, in words
    """

    columns: Mapping[str, ListColumn]
    unread: tuple[str, ...] = ()
    assumed: tuple[str, ...] = field(default=())


def list_columns(cells: Sequence[str]) -> ListColumns | None:
    """Return what the cells of a header name, None where they do not name a day, a time and a depth."""
    if len(cells) < _FEWEST_CELLS:  # asked of every line at the top of every table
        return None
    found: dict[str, ListColumn] = {}
    unread = []
    for place, cell in enumerate(cells):
        column = _column(place, cell) if cell else None
        if column is not None and column.quantity not in found:
            found[column.quantity] = column
        elif cell:
            unread.append(cell[:40])
    if not {"duration", "depth"} <= found.keys() or found.keys().isdisjoint({"date", "began"}):
        return None
    assumed = tuple(
        f"{quantity} in {words}" for quantity, words in _ASSUMED.items() if not found[quantity].unit
    )
    return ListColumns(found, tuple(unread), assumed)


def _column(place: int, cell: str) -> ListColumn | None:
    match = _HEADER.fullmatch(plain(cell.replace("_", " ")))
    if match is None:
        return None
    words, unit = re.findall(r"[^\W_]+", match[1]), (match[2] or "").strip()
    quantity = _NAMES.get(" ".join(words))
    if quantity is None and not unit and len(words) > 1:
        quantity, unit = _NAMES.get(" ".join(words[:-1])), words[-1]
        if quantity is not None and unit not in _UNITS.get(quantity, {}):
            return None
    if quantity is None:
        return None
    return ListColumn(place, quantity, _UNITS.get(quantity, {}).get(unit, same), unit)


def unknown_unit(column: ListColumn) -> bool:
    """Tell whether a header names a unit that is not read here."""
    known = _UNITS.get(column.quantity, {})
    return bool(known and column.unit) and column.unit not in {*known, MINUTES_FIRST, *HOURS_FIRST}
