"""What the physics says, in the language that is spoken.

Physics knows no languages: it names a gas and gives its reasons in English sentences with figures in
them. Each is listed here with a name in place of each figure; a sentence is recognised by its form
and said again in the diver's language. A test finds a sentence of the physics that is not listed.
"""

from __future__ import annotations

import re
from functools import cache
from string import Formatter

from logbook_app.dive.record import Dive
from logbook_app.language import _, later
from logbook_app.physics.breathing_gas import BreathingGas

FORMS = (
    later("The tables end at {feet} ft."),
    later("A dive within 48 h is outside the tables. {reason}"),
    later("The dive was deeper than the last row, {deepest} fsw."),
    later("The table's time of {time} min is over the no-stop limit of {limit} min at {row} fsw."),
    later("The table gives no residual nitrogen time for group {group} at {row} fsw."),
    later("Less than 24 h before it there was a dive outside the tables."),
    later("The dive was not made on air alone."),
    later("The dive was made at altitude, or in air as thin; the tables for sea level do not hold there."),
    later("The low gradient factor of {factor} % is outside 10 to 100 %; choose one in between."),
    later("The high gradient factor of {factor} % is outside 10 to 100 %; choose one in between."),
    later(
        "The low gradient factor, {low} %, is above the high one, {high} %; "
        "choose a low factor that is not above the high one."
    ),
    later("The oxygen share {share} is not between 0 and 1; give it as a fraction, as in 0.32."),
    later("The helium share {share} is not between 0 and 1; give it as a fraction, as in 0.45."),
    later("Oxygen {oxygen} and helium {helium} together are more than the whole gas; check the two shares."),
    later(
        '"{text}" is not a gas; write air, oxygen, the oxygen percentage as in 32, '
        "or oxygen and helium as in 18/45."
    ),
    later("nitrox {percent}"),
    later("trimix {shares}"),
    later("heliox {shares}"),
    later("air"),
    later("oxygen"),
    later("one dive without required stops"),
    later("several dives in a day, or dives on several days, without required stops"),
    later("a dive with required stops"),
    later("any dive, to go above 8,000 ft"),
)


def said(sentence: str) -> str:
    """Return a sentence of the physics in the language that is spoken; one that is not listed as it is."""
    for form in FORMS:
        if found := _pattern(form).fullmatch(sentence):
            return _(form).format(**{name: said(text) for name, text in found.groupdict().items()})
    return sentence


def gas_words(gas: BreathingGas) -> str:
    """Return what a gas is called: `air`, `nitrox 32`, `trimix 18/45`."""
    return said(gas.name)


def gas_title(gas: BreathingGas) -> str:
    """Return what a gas is called at the beginning of a line: `Air`, `Nitrox 32`."""
    words = gas_words(gas)
    return words[0].upper() + words[1:]


def gases_of(dive: Dive) -> str:
    """Return the gases of a dive, each once: `air, nitrox 50`."""
    names = [gas_words(each.gas) if each.gas else _("gas not recorded") for each in dive.cylinders]
    return ", ".join(dict.fromkeys(names)) or _("gas not recorded")


@cache
def _pattern(form: str) -> re.Pattern[str]:
    parts = Formatter().parse(form)
    return re.compile(
        "".join(re.escape(words) + (f"(?P<{name}>.+)" if name else "") for words, name, _form, _how in parts)
    )
