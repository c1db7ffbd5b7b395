"""What this device writes, and what its diver sees: the club's word with one's own changes over it.

Nothing a diver does waits for a network. A change is kept, shown at once, and told to the club when
there is one; its verdict comes later. A refused change no longer shows in the record, and stays in the
list of what was not accepted, with all that it holds, until the diver has dealt with it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from logbook_app.dive.problems import RefusedRecord
from logbook_app.language import _
from logbook_app.sync.changes import Change, canonical, name_of, owner_of
from logbook_app.sync.device_store import NO_PLACE, DeviceState, DeviceStore, OwnChange, Standing
from logbook_app.sync.merging import (
    DELETED,
    NO_RECORD,
    Json,
    Record,
    all_merged,
    same_value,
    values_of,
    what_an_edit_sees,
)
from logbook_app.sync.messages import LARGEST_CHANGE, SCHEMA
from logbook_app.sync.wire import to_json


def seen_record(store: DeviceStore, key: str) -> Record:
    """Return a record as its diver sees it, an empty one where there is none to see.

    A record of somebody else's shows for as long as the club shows it.
    """
    state, decided = store.state(), store.decided(key)
    own = owner_of(key) == state.member
    if not own and not decided:
        return NO_RECORD
    changes = store.own_of("" if own else owner_of(key), name_of(key))
    carried = store.carried().get(name_of(key), NO_RECORD) if own else NO_RECORD
    return all_merged([decided, carried, *(_alone(each) for each in changes if _shows(each, state))])


def _shows(own: OwnChange, state: DeviceState) -> bool:
    """Return whether a change is to be laid over what the club decided: it is not in it yet."""
    accepted_later = own.standing == Standing.ACCEPTED and own.seq > state.cursor
    return own.standing == Standing.WAITING or accepted_later


def _alone(own: OwnChange) -> Record:
    return own.change.as_record(own.stamp)


def write(
    store: DeviceStore,
    key: str,
    fields: Mapping[str, Json],
    now_ms: int,
    *,
    chooses: bool = False,
    schema: int = SCHEMA,
) -> Change | None:
    """Keep a change of a record, within the caller's transaction; None where it changes nothing.

    fields    the values that are new; the others may be left out or be given as they are
    now_ms    the device's own clock
    chooses   the diver was shown both sides of a conflict and chose

    Raises RefusedRecord for more than fits into one change.
    """
    record, state = seen_record(store, key), store.state()
    known = values_of(record)
    new = {
        name: value
        for name, value in fields.items()
        if chooses or name not in known or not same_value(known[name], value)
    }
    if not new:
        return None
    clock = state.clock.ticked(now_ms)
    change = Change(
        origin=state.origin,
        number=state.number + 1,
        owner="" if owner_of(key) == state.member else owner_of(key),
        record=name_of(key),
        stamp=clock.stamp,
        fields=new,
        saw={name: seen for name in new if (seen := what_an_edit_sees(record, name, chooses=chooses))},
        schema=schema,
    )
    refuse_too_large(change)
    store.put_state(replace(state, number=change.number, clock=clock))
    store.put_own(OwnChange(change))
    return change


def refuse_too_large(change: Change) -> None:
    """Raise RefusedRecord for a change that no club would take."""
    size = len(canonical(to_json(change)))
    if size > LARGEST_CHANGE:
        raise RefusedRecord(
            _("The change holds {size} characters; {most} can be kept. Shorten its longest text.").format(
                size=size, most=LARGEST_CHANGE
            )
        )


def write_again(store: DeviceStore, refused: OwnChange, record_name: str, now_ms: int) -> Change | None:
    """Keep what a refused change holds as a new record of one's own, within the caller's transaction."""
    key = f"{store.state().member}/{record_name}"
    fields = {name: value for name, value in refused.change.fields.items() if name != DELETED}
    return write(store, key, fields, now_ms)


def begin_anew(store: DeviceStore) -> None:
    """Let the next conversation take a snapshot, as after a device was paired again.

    What waits to be sent waits on, and what the diver sees stays until the snapshot is complete.
    """
    with store.change():
        store.drop_staged()
        store.put_state(replace(store.state(), cursor=NO_PLACE, staging=None))
