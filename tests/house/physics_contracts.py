"""Reads the docstrings of the physics as the contracts they are."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from types import ModuleType
from typing import Any

import logbook_app.physics

# What a name that ends so must say in brackets. Longer endings first.
UNITS = {
    "_kg_m3": "kg/m3",
    "_g_l": "g/L",
    "_l_min": "L/min",
    "_m_min": "m/min",
    "_rate_per_min": "/min",
    "_per_min": "1/min",
    "_fraction": "fraction",
    "_fsw": "fsw",
    "_cubic_feet": "cu ft",
    "_feet": "ft",
    "_metres": "m",
    "_psi": "psi",
    "_pascals": "Pa",
    "_fahrenheit": "deg F",
    "_celsius": "deg C",
    "_kelvin": "K",
    "_litres": "L",
    "_kilograms": "kg",
    "_pounds": "lb",
    "_otu": "OTU",
    "_bar": "bar",
    "_min": "min",
    "_deg": "degree",
    "_kg": "kg",
    "_m": "m",
    "_s": "s",
    "_c": "deg C",
    "_l": "L",
}
OTHER_WORDS_FOR = {"deg C": ("°C", "degree Celsius"), "ft": ("feet",), "fsw": ("feet of sea water",)}


def physics_modules() -> list[ModuleType]:
    """Every module of the physics, imported."""
    package = logbook_app.physics
    names = [found.name for found in pkgutil.iter_modules(package.__path__)]
    return [importlib.import_module(f"{package.__name__}.{name}") for name in names]


def public_functions() -> Iterator[tuple[str, Callable[..., Any]]]:
    """Every public function that a physics module defines, with its name."""
    for module in physics_modules():
        for name, function in vars(module).items():
            if name.startswith("_") or not inspect.isfunction(function):
                continue
            if function.__module__ == module.__name__:
                yield f"{module.__name__.rpartition('.')[2]}.{name}", function


def described_arguments(docstring: str) -> dict[str, str]:
    """Arguments that a docstring describes: name -> what it says, continuation lines included."""
    found: dict[str, str] = {}
    current: list[str] = []
    for line in docstring.splitlines():
        match = re.match(r"^\s{0,8}((?:\w+, )*\w+)\s{2,}(\S.*)$", line)
        if match and not line.lstrip().startswith(">>>"):
            current = match.group(1).split(", ")
            found |= dict.fromkeys(current, match.group(2))
        elif current and line.startswith(" " * 8) and line.strip():
            for name in current:
                found[name] += " " + line.strip()
        else:
            current = []
    return found


def unit_of(name: str) -> str | None:
    """The unit that a name promises, None where it promises none. `feet_from_metres` promises feet."""
    promised = name.rpartition(".")[2].partition("_from_")[0]
    return next((unit for ending, unit in UNITS.items() if f"_{promised}".endswith(ending)), None)


def says_unit(words: str, unit: str) -> bool:
    """Whether a description gives the unit in brackets, alone or after other words."""
    brackets = re.findall(r"\[([^\]]*)\]", words)
    spellings = (unit, *OTHER_WORDS_FOR.get(unit, ()))
    return any(spelling in inside for inside in brackets for spelling in spellings)
