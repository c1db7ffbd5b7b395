"""What is asked of the whole logbook at once: its statistics.

What only samples tell is worked out once a dive and then kept beside it; all else is read in one go.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from logbook_app.analysis.book_columns import FIGURES_RULES, BookColumns, book_columns, figures_of
from logbook_app.analysis.book_statistics import BookStatistics, Period, book_statistics
from logbook_app.analysis.profile_repair import REPAIR_RULES, mended_copy
from logbook_app.dive.problems import Cancelled
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.language import _
from logbook_app.store.logbook_store import LogbookStore

KEPT_AT_ONCE = 200  # dives a transaction; what is finished outlives a cancel
_IMPERIAL_BAND_M = 30 * 0.3048


class WholeBook:
    """The owner's dives in one logbook file.

    store   the logbook file
    now     the clock; returns an aware instant
    """

    def __init__(self, store: LogbookStore, now: Callable[[], datetime]) -> None:
        self._store = store
        self._now = now
        self._columns: tuple[int, BookColumns] | None = None

    def statistics(
        self,
        period: Period = Period.ALL,
        progress: Callable[[int, int, str], None] = lambda _done, _all, _name: None,
        cancelled: Callable[[], bool] = lambda: False,
        *,
        feet: bool = False,
    ) -> BookStatistics:
        """Return the figures of a period that ends now.

        progress    called with how many dives' samples were read, how many there are and nothing
        cancelled   asked now and then; True ends the work
        feet        bands of 30 ft in place of 10 m

        Raises Cancelled; what was worked out so far is kept.
        """
        book = self._book(progress, cancelled)
        return book_statistics(book, period, self._now(), _IMPERIAL_BAND_M if feet else 10.0)

    def _book(self, progress: Callable[[int, int, str], None], cancelled: Callable[[], bool]) -> BookColumns:
        revision = self._store.revision()
        if self._columns is None or self._columns[0] != revision:
            figures = self._figures(revision, progress, cancelled)
            self._columns = revision, book_columns(self._store.book_rows(), figures)
        return self._columns[1]

    def _figures(
        self, revision: int, progress: Callable[[int, int, str], None], cancelled: Callable[[], bool]
    ) -> dict[str, bytes]:
        key = f"{FIGURES_RULES}, {REPAIR_RULES}"
        kept = self._store.derived(key)
        if all(row[0] in kept for row in self._store.book_rows()):
            return kept
        missing = [dive for dive in self._store.dives(own_only=True) if dive.id not in kept]
        for start in range(0, len(missing), KEPT_AT_ONCE):
            progress(start, len(missing), "")
            if cancelled():
                raise Cancelled(_("The statistics were not finished."))
            part = missing[start : start + KEPT_AT_ONCE]
            fresh = {dive.id: figures_of(dive, self._samples(dive)) for dive in part}
            self._store.save_derived(key, fresh, at_revision=revision)
            kept |= fresh
        return kept

    def _samples(self, dive: Dive) -> Profile | None:
        profile = self._store.profile_of(dive)
        return None if profile is None else mended_copy(profile)[0]
