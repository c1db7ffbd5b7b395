"""Every sentence has its translation, and the catalogues are those of today's sentences."""

from __future__ import annotations

from string import Formatter

import pytest
from babel.messages.catalog import Message

from tests.language.catalogue import (
    LANGUAGES,
    MAKE,
    brought_up_to_date,
    calls_in_kv,
    mo_bytes,
    po_bytes,
    read_catalogue,
    strings,
    untranslated,
)

CATALOGUES = sorted(LANGUAGES.glob("*.po"))
DATE_PARTS = {"weekday", "day", "month", "month_number", "year"}  # a language takes what it needs of them


def _placeholders(text: str) -> set[str]:
    return {name for _text, name, _form, _how in Formatter().parse(text) if name is not None}


def _ids(message: Message) -> tuple[str, ...]:
    return (message.id,) if isinstance(message.id, str) else tuple(message.id)


def _differs(message: Message) -> bool:
    """Whether a translation asks for other figures than the English sentence."""
    if message.context == "date":
        return any(not _placeholders(each) <= DATE_PARTS for each in strings(message))
    wanted = _placeholders(_ids(message)[-1])
    return any(_placeholders(each) != wanted for each in strings(message)[-1:])


@pytest.fixture(params=CATALOGUES, ids=lambda path: path.stem)
def catalogue(request):
    return read_catalogue(request.param)


def test_there_is_a_catalogue_for_every_language_but_the_source():
    from logbook_app.language import LANGUAGES as OFFERED

    assert {path.stem for path in CATALOGUES} == set(OFFERED) - {"en"}


def test_every_sentence_is_translated(catalogue):
    assert untranslated(brought_up_to_date(catalogue)) == [], f"Run {MAKE} and translate them."


def test_translations_ask_for_the_same_figures(catalogue):
    assert [each.id for each in catalogue if each.id and _differs(each)] == []


@pytest.mark.parametrize("path", CATALOGUES, ids=lambda path: path.stem)
def test_the_catalogue_and_its_quick_form_are_of_today(path):
    now = brought_up_to_date(read_catalogue(path))
    assert path.read_bytes() == po_bytes(now), f"Run {MAKE}."
    assert path.with_suffix(".mo").read_bytes() == mo_bytes(now), f"Run {MAKE}."


def test_calls_are_found_in_kv():
    rule = "Words:\n    text: _('It’s (so)') if root.x else ngettext('{n} a', '{n} b', f(1)).format(n=1)\n"
    assert list(calls_in_kv(rule)) == ["_('It’s (so)')", "ngettext('{n} a', '{n} b', f(1))"]
