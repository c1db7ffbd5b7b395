"""The dives that are chosen in the Logbook room, and what is done with all of them at once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any

from logbook_app.analysis.spoken_units import spoken_dives
from logbook_app.dive.search_words import same_name
from logbook_app.language import _
from logbook_app.screens.printed_files import export_dives

if TYPE_CHECKING:
    from logbook_app.logbook import Changes, DiveRow, Logbook


class ChosenDives:
    """Ids of the chosen dives; they stay chosen while others are listed."""

    def __init__(self) -> None:
        self.ids: set[str] = set()

    def __len__(self) -> int:
        return len(self.ids)

    def touch(self, ids: Sequence[str]) -> None:
        """Choose dives, or let go of them where all of them are chosen."""
        if self.ids.issuperset(ids):
            self.ids.difference_update(ids)
        else:
            self.ids.update(ids)

    def are_all(self, listed: Sequence[str]) -> bool:
        """Tell whether every listed dive is chosen."""
        return bool(listed) and self.ids.issuperset(listed)

    def in_order(self, rows: Iterable[DiveRow]) -> list[str]:
        """Return the ids in the order of the rows."""
        return [row.id for row in rows if row.id in self.ids]

    def tags(self, dives: Sequence[Any]) -> tuple[list[str], Counter[str], int]:
        """Return all tags of a logbook's dives, how many chosen dives have each, and how many are chosen.

        A tag is one tag whatever its case; those of the chosen dives come first.
        """
        spellings: dict[str, str] = {}
        for tag in (tag for dive in dives for tag in dive.tags):
            spellings.setdefault(same_name(tag), tag)
        chosen = [dive for dive in dives if dive.id in self.ids]
        held = Counter(spellings[key] for dive in chosen for key in {same_name(tag) for tag in dive.tags})
        tags = sorted(spellings.values(), key=lambda tag: (-held[tag], tag.casefold()))
        return tags, held, len(chosen)


def export_together(app: Any, dive_ids: Sequence[str], ending: str) -> None:
    """Write dives to a file, and say where it lies."""
    now, dives = app.now(), spoken_dives(len(dive_ids))
    app.run_long(
        lambda logbook, report, cancelled: export_dives(logbook, dive_ids, ending, now, report, cancelled),
        words=_("Writing {dives}").format(dives=dives),
        then=lambda path: app.say(_("{dives} written to {path}").format(dives=dives, path=path)),
    )


def change_together(app: Any, work: Callable[[Logbook], Changes], done: str, undone: str) -> None:
    """Change dives together, say so, and offer to take it back as a whole.

    done, undone   sentences with a place for `dives`
    """

    def take_back(changes: Changes) -> None:
        dives = spoken_dives(len(changes.dives))
        app.ask(
            lambda logbook: logbook.undo_import(changes.undo_id),
            then=lambda back: (app.changed(back), app.say(undone.format(dives=dives))),
        )

    def tell(changes: Changes) -> None:
        app.changed(changes)
        words = done.format(dives=spoken_dives(len(changes.dives)))
        app.say(words, undo=(lambda: take_back(changes)) if changes.undo_id else None)

    app.ask(work, then=tell)


def show_together(app: Any, dive_ids: Sequence[str], *, shown: bool) -> None:
    """Let the club see dives, or see them no more, and offer to take it back."""

    def put_back(done: Any) -> None:
        app.ask(lambda logbook: logbook.for_others.put_back(done), then=app.changed)

    def tell(done: Any) -> None:
        app.changed(done.changes)
        dives = spoken_dives(len(done.before))
        words = _("Shown to the club with the next sync: {dives}") if shown else _("Withdrawn: {dives}")
        app.say(words.format(dives=dives), undo=(lambda: put_back(done)) if done.before else None)

    def work(logbook: Logbook) -> Any:
        return logbook.for_others.show(dive_ids) if shown else logbook.for_others.withdraw(dive_ids)

    app.ask(work, then=tell)
