"""What the owner's dives say toward certificates, and what is known of the owner beside them.

Certificates, dates of examinations and the date of birth stay among the settings of the logbook file; they
are none that travel, so no sync sends them and no export has them. A club's own rules stand there as well,
as their file has them.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import Protocol

from logbook_app.analysis.experience import SetAnswer, progress_toward
from logbook_app.analysis.experience_columns import ExperienceColumns, experience_columns
from logbook_app.analysis.experience_reader import LARGEST_TEXT, parse_requirements
from logbook_app.analysis.experience_rules import RequirementSet
from logbook_app.dive.changes import Changes
from logbook_app.dive.credentials import (
    Certificate,
    Confirmation,
    DiverFacts,
    Examination,
    facts_from_plain,
    facts_to_plain,
)
from logbook_app.dive.problems import RefusedFile, RefusedRecord
from logbook_app.dive.record import Dive
from logbook_app.language import _
from logbook_app.shipped_requirements import shipped_requirements
from logbook_app.store.logbook_store import LogbookStore

_FACTS = "diver's facts"
_UNREAD_FACTS = "diver's facts, unread"
_LOOKED_AT = "requirements looked at"
_OWN_RULES = "own requirements"  # file name -> text
_SETTINGS = Changes(settings=True)


@dataclass(frozen=True, slots=True)
class KeptRules:
    """A club's own file as it was kept."""

    file_name: str
    text: str


def rules_text(path: Path) -> str:
    """Return the text of a club's file. Raises RefusedFile where it cannot be read."""
    try:
        if path.stat().st_size > 4 * LARGEST_TEXT:
            raise RefusedFile(_("{name} is too large to hold requirements.").format(name=path.name))
        return path.read_text(encoding="utf-8-sig")
    except OSError as error:
        reason = error.strerror or str(error)
        raise RefusedFile(
            _("{name} cannot be read: {reason}.").format(name=path.name, reason=reason)
        ) from error
    except UnicodeDecodeError as error:
        raise RefusedFile(
            _("{name} is not a text in UTF-8; save it again as one.").format(name=path.name)
        ) from error


class Signed(Protocol):
    """What somebody signed for the diver, see `signatures.Signature`."""

    @property
    def dive_id(self) -> str: ...
    @property
    def rules(self) -> str: ...
    @property
    def requirement(self) -> str: ...
    @property
    def signer(self) -> str: ...
    @property
    def on(self) -> date | None: ...
    @property
    def changed(self) -> bool: ...
    @property
    def supervised(self) -> bool: ...


class DiversExperience:
    """The owner's experience in one logbook file.

    store       the logbook file
    now         the clock; returns an aware instant
    own_dives   the owner's dives, without those in the bin
    signed      what was signed for the owner
    """

    def __init__(
        self,
        store: LogbookStore,
        now: Callable[[], datetime],
        own_dives: Callable[[], list[Dive]],
        signed: Callable[[], Sequence[Signed]] = list,
    ) -> None:
        self._store, self._now, self._own_dives, self._signed = store, now, own_dives, signed
        self._columns: tuple[object, ExperienceColumns] | None = None

    # Progress

    def sets(self) -> tuple[RequirementSet, ...]:
        """Return every set of requirements: those that ship, then those of the diver's clubs."""
        return self._sets_and_troubles()[0]

    def kept_troubles(self) -> dict[str, str]:
        """Return why a file that was kept gives no sets by now, by its name.

        It may happen where a set that ships has taken an id since, or another program kept the file.
        """
        return self._sets_and_troubles()[1]

    def _sets_and_troubles(self) -> tuple[tuple[RequirementSet, ...], dict[str, str]]:
        sets, troubles = shipped_requirements(), {}
        for kept in self.kept_rules():
            try:
                sets += parse_requirements(kept.text, kept.file_name, sets)
            except RefusedFile as refused:
                troubles[kept.file_name] = str(refused)
        return sets, troubles

    def progress(self, on: date | None = None) -> tuple[SetAnswer, ...]:
        """Return the answer to every set, as on a day; today unless said otherwise."""
        return self.toward(self.sets(), on)

    def toward(self, sets: tuple[RequirementSet, ...], on: date | None = None) -> tuple[SetAnswer, ...]:
        """Return the answers to some sets."""
        signed = self._standing_signatures()
        dives, facts, day = self._dives(signed), _with_signed(self.facts(), signed), on or self.today()
        return tuple(progress_toward(dives, facts, rules, day) for rules in sets)

    def looked_at(self) -> str:
        """Return the id of the set that was looked at last, empty where none was."""
        return self._store.settings().get(_LOOKED_AT, "")

    def look_at(self, rules_id: str) -> None:
        """Remember which set is looked at; nothing has to be read anew for it."""
        self._store.keep_draft(_LOOKED_AT, rules_id)

    def dives(self) -> ExperienceColumns:
        """Return the owner's dives as arrays, made once until something changes."""
        return self._dives(self._standing_signatures())

    def _dives(self, signed: Sequence[Signed]) -> ExperienceColumns:
        supervised = frozenset(each.dive_id for each in signed if each.supervised and each.dive_id)
        made_of = (self._store.revision(), supervised)
        if self._columns is None or self._columns[0] != made_of:
            self._columns = made_of, experience_columns(self._own_dives(), supervised)
        return self._columns[1]

    def _standing_signatures(self) -> list[Signed]:
        """Return what was signed and says the same still."""
        return [each for each in self._signed() if not each.changed]

    def today(self) -> date:
        """Return the day by the clock that was handed in."""
        return self._now().date()

    # The diver

    def facts(self) -> DiverFacts:
        """Return what is known of the owner; what cannot be read is not known."""
        return _facts_in(self._store.settings().get(_FACTS, "")) or DiverFacts()

    def keep_facts(self, facts: DiverFacts) -> Changes:
        """Keep what is known of the owner, all of it anew; what nobody here can read is put beside it."""
        kept = {_FACTS: json.dumps(facts_to_plain(facts), ensure_ascii=False)}
        before = self._store.settings().get(_FACTS, "")
        if _facts_in(before) is None:
            kept[_UNREAD_FACTS] = before
        self._store.set_settings(kept)
        return _SETTINGS

    def keep_certificate(self, certificate: Certificate) -> Changes:
        """Keep a certificate, a new one or one that is there."""
        facts = self.facts()
        others = tuple(each for each in facts.certificates if each.id != certificate.id)
        return self.keep_facts(replace(facts, certificates=(*others, certificate)))

    def drop_certificate(self, certificate_id: str) -> Changes:
        """Take a certificate away.

        Raises RefusedRecord where there is none of this id.
        """
        facts = self.facts()
        left = tuple(each for each in facts.certificates if each.id != certificate_id)
        if len(left) == len(facts.certificates):
            raise RefusedRecord(_("There is no certificate {id}.").format(id=certificate_id))
        return self.keep_facts(replace(facts, certificates=left))

    def keep_examined(self, examination: Examination, on: date | None) -> Changes:
        """Keep the last day of an examination, None for not known.

        Raises RefusedRecord where the day has not come yet.
        """
        if on is not None and on > self.today():
            raise RefusedRecord(_("This day has not come yet; check the date."))
        facts = self.facts()
        examined = {each: day for each, day in facts.examined.items() if each is not examination}
        return self.keep_facts(
            replace(facts, examined=examined if on is None else examined | {examination: on})
        )

    def keep_birth(self, born_on: date | None) -> Changes:
        """Keep the date of birth, None for not known.

        Raises RefusedRecord where it has not come yet.
        """
        if born_on is not None and born_on > self.today():
            raise RefusedRecord(_("This day has not come yet; check the date."))
        return self.keep_facts(replace(self.facts(), born_on=born_on))

    # A club's own rules

    def kept_rules(self) -> tuple[KeptRules, ...]:
        """Return the files that were kept, by their names."""
        text = self._store.settings().get(_OWN_RULES, "")
        try:
            told = json.loads(text) if text else {}
            return tuple(KeptRules(str(name), str(told[name])) for name in sorted(told))
        except (ValueError, TypeError):
            return ()

    def keep_rules(self, file_name: str, text: str) -> tuple[RequirementSet, ...]:
        """Keep a club's own file, in place of one of the same name; return its sets.

        Raises RefusedFile where it is wrong; nothing is then kept.
        """
        others = [kept for kept in self.kept_rules() if kept.file_name != file_name]
        own = {kept.file_name: kept.text for kept in others}
        known = shipped_requirements()
        for name in sorted(own.keys() - self.kept_troubles().keys()):
            known += parse_requirements(own[name], name, known)
        sets = parse_requirements(text, file_name, known)
        self._keep([*others, KeptRules(file_name, text)])
        return sets

    def keep_rules_file(self, path: Path) -> Changes:
        """Keep a club's own file from the disk. Raises as `keep_rules` does."""
        self.keep_rules(path.name, rules_text(path))
        return _SETTINGS

    def drop_rules(self, file_name: str) -> KeptRules:
        """Take a club's own file away; return it, for `keep_rules`.

        Raises RefusedFile where none of this name was kept.
        """
        kept = {each.file_name: each for each in self.kept_rules()}
        if file_name not in kept:
            names = ", ".join(kept) or _("none")
            raise RefusedFile(
                _("No rules were kept as {name}; kept are: {names}.").format(name=file_name, names=names)
            )
        self._keep([each for each in kept.values() if each.file_name != file_name])
        return kept[file_name]

    def _keep(self, files: list[KeptRules]) -> None:
        told = {each.file_name: each.text for each in files}
        self._store.set_settings({_OWN_RULES: json.dumps(told, ensure_ascii=False)})


def _facts_in(text: str) -> DiverFacts | None:
    """Return the facts that were kept, None where nobody here can read them."""
    try:
        return facts_from_plain(json.loads(text)) if text else DiverFacts()
    except (ValueError, RefusedRecord):
        return None


def _with_signed(facts: DiverFacts, signed: Sequence[Signed]) -> DiverFacts:
    """Return the facts with what was signed: certificates, and single requirements."""
    told = [each for each in signed if each.rules and each.on is not None]
    certificates = (Certificate(grade=each.rules, issued_on=each.on) for each in told if not each.requirement)
    confirmed = (
        Confirmation(each.rules, each.requirement, each.signer, each.on)
        for each in told
        if each.requirement and each.on is not None
    )
    return replace(
        facts,
        certificates=(*facts.certificates, *certificates),
        confirmed=(*facts.confirmed, *confirmed),
    )
