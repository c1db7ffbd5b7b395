"""One table of a requirements file, asked for its values; what is wrong is refused with its place."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from enum import StrEnum
from typing import Any, Final, TypeVar

from logbook_app.analysis.experience_rules import OWN_LANGUAGE, DepthUnit, SaidIn
from logbook_app.dive.problems import RefusedFile
from logbook_app.language import LANGUAGES, _

Word = TypeVar("Word", bound=StrEnum)
LONGEST_TEXT: Final = 500
_ID: Final = re.compile("[a-z0-9][a-z0-9-]{0,39}")


def refused(file_name: str, where: str, what: str) -> RefusedFile:
    """Return the refusal of a file: its name, the place in it, what is wrong and what to do."""
    place = f"{file_name}, {where}" if where else file_name
    return RefusedFile(f"{place}: {what}")


@dataclass(frozen=True, slots=True)
class Table:
    """One table.

    where   the place in the file, in words
    unit    that depths here are in
    """

    told: dict[str, Any]
    file_name: str
    where: str
    unit: DepthUnit = DepthUnit.METRES

    def __contains__(self, key: str) -> bool:
        return key in self.told

    @property
    def keys(self) -> tuple[str, ...]:
        """The keys in the order of the file."""
        return tuple(self.told)

    def named(self, where: str) -> Table:
        """Return the table under the place that it stands in."""
        return replace(self, where=", ".join(part for part in (self.where, where) if part))

    def in_unit(self, unit: DepthUnit) -> Table:
        """Return the table with its depths in this unit."""
        return replace(self, unit=unit)

    def refused(self, what: str) -> RefusedFile:
        """Return the refusal of what stands here."""
        return refused(self.file_name, self.where, what)

    def inherit(self, other: Table, key: str) -> None:
        """Take over what another table says, where this one says nothing of it."""
        if key not in self.told and key in other.told:
            self.told[key] = other.told[key]

    def refuse_unknown(self, keys: Sequence[str]) -> None:
        """Refuse a key that there is not; a wrong unit at its end is one."""
        for key in self.told:
            if key not in keys:
                like = get_close_matches(key, keys, n=1)
                hint = _("write {key} instead").format(key=like[0]) if like else _("leave it out")
                raise self.refused(_("“{key}” is no key here; {hint}.").format(key=key, hint=hint))

    # Values

    def text(self, key: str, otherwise: str | None = None) -> str:
        """Return a text; refused where it is missing and nothing stands for it."""
        if key not in self.told and otherwise is not None:
            return otherwise
        return self._whole(key, self._needed(key))

    def word(self, key: str) -> str:
        """Return an id: small letters, digits and hyphens."""
        text = self.text(key)
        if not _ID.fullmatch(text):
            raise self.refused(
                _("{key} “{text}” is no id; write up to 40 small letters, digits and hyphens.").format(
                    key=key, text=text[:40]
                )
            )
        return text

    def said(self, key: str) -> SaidIn:
        """Return a text, in one language or in several."""
        value = self._needed(key)
        if not isinstance(value, dict):
            return {OWN_LANGUAGE: self._whole(key, value)}
        for language in value:
            if language not in LANGUAGES:
                raise self.refused(
                    _("{key} is in the language “{language}”; write one of {languages}.").format(
                        key=key, language=language, languages=", ".join(LANGUAGES)
                    )
                )
        if not value:
            raise self.refused(_("{key} says nothing; write a text.").format(key=key))
        return {language: self._whole(key, text) for language, text in value.items()}

    def texts(self, key: str) -> tuple[str, ...]:
        """Return texts; a single one may stand alone, none is none."""
        value = self.told.get(key, [])
        return tuple(self._whole(key, each) for each in (value if isinstance(value, list) else [value]))

    def count(self, key: str, most: int, least: int = 1) -> int:
        """Return a whole number within bounds."""
        value = self._needed(key)
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            raise self._not_between(key, value, least, most, _("a whole number"))
        return value

    def amount(self, key: str, most: float, least: float | None = None) -> float:
        """Return a number up to `most`; above nothing, or from `least` on."""
        value = self._needed(key)
        number = isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
        if not number or not (value > 0 if least is None else value >= least) or value > most:
            raise self._not_between(key, value, least or 0, most, _("a number"))
        return float(value)

    def yes(self, key: str) -> bool:
        """Return whether something is asked; it is not where nothing is said."""
        value = self.told.get(key, False)
        if not isinstance(value, bool):
            raise self.refused(
                _("{key} is {value}; write true or false.").format(key=key, value=_shown(value))
            )
        return value

    def one_of(self, key: str, kind: type[Word], otherwise: Word | None) -> Any:
        """Return one word of those there are; refused where it is missing and nothing stands for it."""
        if key not in self.told:
            return otherwise
        return self._word_of(key, self.told[key], kind)

    def several(self, key: str, kind: type[Word]) -> tuple[Word, ...]:
        """Return some of the words there are; a single one may stand alone."""
        return tuple(self._word_of(key, each, kind) for each in self.texts(key))

    def table(self, key: str) -> Table | None:
        """Return a table within this one, None where there is none."""
        if key not in self.told:
            return None
        return self._table(key, self.told[key])

    def tables(self, key: str) -> list[Table]:
        """Return the tables of an array within this one."""
        value = self.told.get(key, [])
        if not isinstance(value, list):
            raise self.refused(
                _("{key} is no list of tables; write it in [[ ]] or as [{{ ... }}].").format(key=key)
            )
        return [self._table(key, each) for each in value]

    # Inside

    def _table(self, key: str, value: Any) -> Table:
        if not isinstance(value, dict):
            raise self.refused(_("{key} is {value}; write a table.").format(key=key, value=_shown(value)))
        return replace(self, told=dict(value))

    def _needed(self, key: str) -> Any:
        if key not in self.told:
            raise self.refused(_("{key} is missing; write it.").format(key=key))
        return self.told[key]

    def _whole(self, key: str, value: Any) -> str:
        if not isinstance(value, str) or not value.strip() or len(value) > LONGEST_TEXT:
            raise self.refused(
                _("{key} is {value}; write a text of up to {most} letters in quotes.").format(
                    key=key, value=_shown(value), most=LONGEST_TEXT
                )
            )
        return " ".join(value.split())

    def _word_of(self, key: str, value: Any, kind: type[Word]) -> Word:
        words: Iterable[str] = [each.value for each in kind]
        if value not in words:
            raise self.refused(
                _("{key} is {value}; write one of {words}.").format(
                    key=key, value=_shown(value), words=", ".join(words)
                )
            )
        return kind(value)

    def _not_between(self, key: str, value: Any, least: float, most: float, what: str) -> RefusedFile:
        return self.refused(
            _("{key} is {value}; write {what} from {least} to {most}.").format(
                key=key, value=_shown(value), what=what, least=f"{least:g}", most=f"{most:g}"
            )
        )


def _shown(value: Any) -> str:
    """Return a value as the file has it, as far as it helps to find it."""
    text = f"“{value}”" if isinstance(value, str) else str(value)
    return text if len(text) <= 40 else text[:39] + "…"
