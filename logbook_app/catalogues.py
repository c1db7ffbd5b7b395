"""Finds the words of a language among the shipped files, and the language of the system.

`assets/languages` has one catalogue a language, `de.po`, and beside it `de.mo`, the same in the
form that is read in a few milliseconds. `python -m tests.language.catalogue` makes both.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from functools import cache
from gettext import GNUTranslations

from logbook_app.language import LANGUAGES, SYSTEM, Language, use
from logbook_app.shipped_files import shipped_folder

DECIMAL_COMMA = frozenset({"de"})
_SYSTEM_SAYS = ("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG")  # the first that is set, as in POSIX


def use_language(choice: str, system: str = "") -> None:
    """Speak the diver's choice: `en`, `de`, or `system` for what the system speaks.

    system   what a device says it speaks, `de-AT`; empty to look at the environment
    """
    name = (system[:2].lower() or system_language()) if choice == SYSTEM else choice
    use(language_named(name))


def system_language(environment: Mapping[str, str] = os.environ, platform: str = sys.platform) -> str:
    """Return the two letters of the language that the system speaks, `en` where it does not say."""
    said = next((environment[name] for name in _SYSTEM_SAYS if environment.get(name)), "")
    if not said and platform == "win32":
        said = _windows_language()
    letters = said[:2].lower()
    return letters if letters.isalpha() and len(letters) == 2 else "en"


@cache
def language_named(name: str) -> Language:
    """Return a language, English where there is no catalogue of this name."""
    if name == "en" or name not in LANGUAGES:
        return Language()
    catalogue = shipped_folder("assets") / "languages" / f"{name}.mo"
    with catalogue.open("rb") as opened:
        words = GNUTranslations(opened)
    return Language(name, words, "," if name in DECIMAL_COMMA else ".")


def _windows_language() -> str:
    from locale import getlocale  # only there does it ask the system and not the environment

    return getlocale()[0] or ""
