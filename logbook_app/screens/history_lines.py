"""The history of a dive as its page lists it: an entry a change, each with what can be put back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from logbook_app.analysis.history_words import ToldHistory
from logbook_app.language import _


@dataclass(frozen=True, slots=True)
class HistoryLine:
    """What one touch puts back: the words of one field, or of all that belongs to a recording.

    heading   when and what did it; empty where it is that of the line above
    ids       of the lines of the history, empty where nothing can be put back
    """

    heading: str
    words: tuple[str, ...]
    ids: tuple[int, ...]


def history_lines(told: tuple[ToldHistory, ...]) -> tuple[HistoryLine, ...]:
    """Return the lines of a history, the newest first."""
    return tuple(line for one in told for line in _lines(one))


def _lines(told: ToldHistory) -> Iterator[HistoryLine]:
    heading = f"{told.why} · {told.at}"
    by_ids: dict[tuple[int, ...], list[str]] = {}
    can_return = {}
    for change in told.changes:
        words = _("{field}: {before} → {after}").format(
            field=change.label, before=_short(change.before), after=_short(change.after)
        )
        by_ids.setdefault(change.ids, []).append(words)
        can_return[change.ids] = change.can_return
    for ids, words_of in by_ids.items():
        yield HistoryLine(heading, tuple(words_of), ids if can_return[ids] else ())
        heading = ""


def _short(text: str) -> str:
    """Return a long text by its beginning; the whole of it comes back when it is put back."""
    return text if len(text) <= 160 else f"{text[:150].rstrip()} …"
