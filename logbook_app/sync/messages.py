"""What a device and its club say to each other, and nothing else that they may.

Each message is one JSON object: which version of these rules, which message, its values, and at the
very end `"end": true`. An HTTP library may take an answer that was cut inside its headers for a
complete and empty one; without its end mark an answer is torn, and the device asks again.

A conversation, as conversation.py holds it:

    join       once: an invitation, and the secret that the device will speak with
    hello      who speaks, by which schema         -> the club's time, epoch and limits; and whether a
               device with nothing to send has missed nothing, which ends it
    known      only where the club came back from a backup: which of these changes it still has
    snapshot   everything the member may see, page by page; where there is no place to go on from
    push       changes                             -> a verdict for each
    give_back  records that the club may have lost, their owner's own
    pull       what happened since a place in the club's log
    compare    count and digest of all records     -> the same, or where to look
    buckets, listing, fetch    where they differ, down to the record
    blobs      which of these does the club want, of the bytes that records name by their SHA-256
    put_blobs, get_blobs   many small ones in one message
    put_blob, get_blob     a large one, part by part

Apart from a conversation, whenever the diver wants to know:

    devices    which devices speak for the member  -> each with its name and when it was last heard
    revoke_device  one of them speaks for nobody any more: one that was lost, or the asking one itself

Every message may be sent again after any trouble: what it asks has then been done, or is done now.
A place in the log is an epoch and a number. A club that was restored from a backup begins a new epoch;
a place of the old one means nothing in it, and nobody goes on from there in silence.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Final, TypeAlias

from logbook_app.dive.problems import RefusedMessage
from logbook_app.language import _
from logbook_app.sync.changes import MEMBER, ORIGIN, SHA256, Change, ChangeId, FieldName, Key
from logbook_app.sync.merging import Field
from logbook_app.sync.stamps import STAMP
from logbook_app.sync.wire import Matching, Whole, Within, Words, parsed_json, reader_of, to_json

VERSION: Final = 1
SCHEMA: Final = 1  # of the fields that this program writes; raised when a field changes its meaning

MOST_CHANGES: Final = 500  # in one message
MOST_RECORDS: Final = 500
MOST_BLOBS: Final = 500
LARGEST_REQUEST: Final = 2 * 2**20
LARGEST_REPLY: Final = 16 * 2**20
LARGEST_CHANGE: Final = 256 * 2**10
LARGEST_PART: Final = 256 * 2**10
LARGEST_BLOB: Final = 20 * 2**20

DEVICE: Final = re.compile("[0-9a-f]{16}")  # the beginning of what the club keeps of a device's secret
_BRIEF: Final = json.JSONEncoder(separators=(",", ":"), ensure_ascii=False, allow_nan=False)

BlobName = Annotated[str, Matching(SHA256)]
Epoch = Annotated[int, Within(0, 2**31)]
Fields = Annotated[Mapping[FieldName, Field], Within(0, 500)]
Digest = Annotated[str, Within(0, 64)]
MaybeStamp = Annotated[str, Matching(re.compile(f"(?:{STAMP.pattern})?"))]


class Verdict:
    """What the club says of a change."""

    ACCEPTED = "accepted"
    DENIED = "denied"  # the record's owner has not allowed it
    GONE = "gone"  # the record was removed for good
    INVALID = "invalid"  # too large, or no field
    LATER = "later"  # the owner has not brought the record back yet; ask again

    REFUSED: Final = frozenset({DENIED, GONE, INVALID})


_VERDICT: Final = re.compile("accepted|denied|gone|invalid|later")


class Code:
    """Why the club does not answer what it was asked."""

    OTHER_EPOCH = "other_epoch"  # the club was restored since; say hello again
    RESYNC = "resync"  # the log no longer reaches back that far: take a snapshot
    MOVED = "moved"  # somebody changed something in between; ask again
    TOO_OLD = "too_old"  # this program must be updated before it may push
    REVOKED = "revoked"
    RETIRED = "retired"  # not seen for longer than deletions are remembered: pair again
    ACCOUNT_GONE = "account_gone"
    MISSING = "missing"  # no such blob that this member may see
    UNREADABLE = "unreadable"
    UNKNOWN_DEVICE = "unknown_device"  # no member speaks with this secret
    BAD_INVITATION = "bad_invitation"  # used, too old, or never made
    BUSY = "busy"  # asked too much of the club; it says when to come back
    TROUBLE = "trouble"  # the club failed at it, and has written down why


@dataclass(frozen=True, slots=True)
class Join:
    """A device joins a club, by an invitation that is good for one device.

    token   that the device made itself and speaks with from then on: where the answer is lost, the same
            message brings it again
    """

    code: Annotated[str, Within(1, 80)]
    token: Annotated[str, Matching(re.compile("[0-9a-f]{64}"))]
    name: Annotated[str, Within(0, 80)] = ""


@dataclass(frozen=True, slots=True)
class Hello:
    """The first question of every conversation; often the only one.

    at   where a device stands that has nothing to send and lacks nothing that it knows of
    """

    schema: Annotated[int, Within(1, 10**6)]
    at: Compare | None = None


@dataclass(frozen=True, slots=True)
class Push:
    """Changes, each with the stamp that a club had already given it, if one had."""

    epoch: Epoch
    schema: Annotated[int, Within(1, 10**6)]
    changes: Annotated[tuple[SentChange, ...], Within(1, MOST_CHANGES)]


@dataclass(frozen=True, slots=True)
class SentChange:
    """A change on its way to the club."""

    change: Change
    settled: MaybeStamp = ""


@dataclass(frozen=True, slots=True)
class Pull:
    """What happened since this place?"""

    epoch: Epoch
    since: Whole
    limit: Annotated[int, Within(1, MOST_CHANGES)] = MOST_CHANGES


@dataclass(frozen=True, slots=True)
class Snapshot:
    """Everything, in the order of the keys, after this key."""

    epoch: Epoch
    after: Annotated[str, Within(0, 200)] = ""
    limit: Annotated[int, Within(1, MOST_RECORDS)] = MOST_RECORDS


@dataclass(frozen=True, slots=True)
class Known:
    """Which of these changes does the club have?"""

    epoch: Epoch
    changes: Annotated[tuple[ChangeId, ...], Within(0, 2000)]


@dataclass(frozen=True, slots=True)
class GiveBack:
    """Records of the sender's own that the club lacks, or lacks a part of."""

    epoch: Epoch
    records: Annotated[Mapping[Key, Fields], Within(1, MOST_RECORDS)]


@dataclass(frozen=True, slots=True)
class Compare:
    """Do both sides hold the same at this place?

    count, root      of the records that the device holds, see hash_tree.py
    origin, number   the latest number that this device gave to a change
    sent             how many of its changes the club has accepted, as far as it knows
    """

    epoch: Epoch
    seq: Whole
    count: Whole
    root: Digest
    origin: Annotated[str, Matching(ORIGIN)]
    number: Whole
    sent: Whole


@dataclass(frozen=True, slots=True)
class Buckets:
    """The digests of all parts of the tree."""

    epoch: Epoch
    seq: Whole


@dataclass(frozen=True, slots=True)
class Listing:
    """The records of these parts, each with its digest."""

    epoch: Epoch
    seq: Whole
    buckets: Annotated[tuple[Whole, ...], Within(1, 256)]


@dataclass(frozen=True, slots=True)
class Fetch:
    """These records as they are now."""

    epoch: Epoch
    keys: Annotated[tuple[Key, ...], Within(1, MOST_RECORDS)]


@dataclass(frozen=True, slots=True)
class Blobs:
    """Which of these does the club want?"""

    names: Annotated[tuple[BlobName, ...], Within(1, 1000)]


@dataclass(frozen=True, slots=True)
class PutBlob:
    """A part of the bytes of this name, from this place on, of so many in all."""

    name: BlobName
    at: Whole
    size: Annotated[int, Within(0, LARGEST_BLOB)]
    data: Annotated[bytes, Within(0, LARGEST_PART)]


@dataclass(frozen=True, slots=True)
class GetBlob:
    """The bytes of this name, from this place on."""

    name: BlobName
    at: Whole


@dataclass(frozen=True, slots=True)
class PutBlobs:
    """The beginnings of many blobs, or all of them."""

    parts: Annotated[tuple[PutBlob, ...], Within(1, MOST_BLOBS)]


@dataclass(frozen=True, slots=True)
class GetBlobs:
    """The beginnings of these blobs, of as many as one answer takes."""

    names: Annotated[tuple[BlobName, ...], Within(1, MOST_BLOBS)]


@dataclass(frozen=True, slots=True)
class Devices:
    """Which devices speak for this member?"""


@dataclass(frozen=True, slots=True)
class RevokeDevice:
    """Let a device of the member's own speak for nobody any more; no name means the one that asks."""

    device: Annotated[str, Matching(re.compile(f"(?:{DEVICE.pattern})?"))] = ""


@dataclass(frozen=True, slots=True)
class Joined:
    """Who the device speaks for now, in which club, and what the club calls that member."""

    member: Annotated[str, Matching(MEMBER)]
    club: Words
    name: Words = ""


@dataclass(frozen=True, slots=True)
class Welcome:
    """The club's answer to hello.

    same   the device stands where the club stands, and both hold the same: there is nothing to talk about
    """

    now_ms: Whole
    epoch: Epoch
    least_schema: Whole
    member: Annotated[str, Matching(MEMBER)]
    same: bool = False


@dataclass(frozen=True, slots=True)
class Judged:
    """The verdict on one change: the stamp and the place in the log where it was accepted."""

    change: ChangeId
    verdict: Annotated[str, Matching(_VERDICT)]
    stamp: MaybeStamp = ""
    seq: Whole = 0


@dataclass(frozen=True, slots=True)
class Pushed:
    """A verdict for each change, in the order of the push.

    twin   another device counts on from the same origin: one was set up from the other's backup
    """

    epoch: Epoch
    verdicts: Annotated[tuple[Judged, ...], Within(0, MOST_CHANGES)]
    twin: bool = False


@dataclass(frozen=True, slots=True)
class Event:
    """One line of the log for this member: a change, a whole record, or a key to forget."""

    key: Key
    change: Change | None = None
    stamp: MaybeStamp = ""
    record: Fields | None = None


@dataclass(frozen=True, slots=True)
class Pulled:
    """What happened; `next` is the place to go on from, past lines that are not for this member."""

    epoch: Epoch
    events: Annotated[tuple[Event, ...], Within(0, MOST_CHANGES)]
    next: Whole
    more: bool


@dataclass(frozen=True, slots=True)
class Records:
    """Whole records, for a snapshot, for a fetch and for what was given back.

    seq      the place in the log that holds at least all of this
    more     there are records after the last of these
    """

    epoch: Epoch
    seq: Whole
    records: Annotated[Mapping[Key, Fields], Within(0, MOST_RECORDS)]
    more: bool = False


@dataclass(frozen=True, slots=True)
class Remembered:
    """Verdicts on the changes that the club has, and the ids of those it has not."""

    epoch: Epoch
    verdicts: Annotated[tuple[Judged, ...], Within(0, 2000)]
    unknown: Annotated[tuple[ChangeId, ...], Within(0, 2000)]


@dataclass(frozen=True, slots=True)
class Compared:
    """Whether both hold the same, and whether the club lacks changes that had a verdict."""

    same: bool
    count: Whole
    gap: bool = False


@dataclass(frozen=True, slots=True)
class BucketDigests:
    """The digest of each part of the tree, where it has records."""

    digests: Annotated[Mapping[Annotated[str, Matching(re.compile("[0-9]{1,3}"))], Digest], Within(0, 256)]


@dataclass(frozen=True, slots=True)
class Listed:
    """Each record of the parts asked for, with its digest."""

    digests: Annotated[Mapping[Key, Digest], Within(0, 200_000)]


@dataclass(frozen=True, slots=True)
class Wanted:
    """The blobs that the club wants, and from which byte on, and those that it has.

    One that is in neither is named by no record that this member may see or write: not yet, or no more.
    """

    names: Annotated[Mapping[BlobName, Whole], Within(0, 1000)]
    there: Annotated[frozenset[BlobName], Within(0, 1000)] = frozenset()


@dataclass(frozen=True, slots=True)
class BlobPart:
    """A part of a blob, from this place on, of so many bytes in all; an answer to both directions.

    Put into the club, `at` is where the next part begins, and `data` is empty.
    """

    name: BlobName
    at: Whole
    size: Annotated[int, Within(0, LARGEST_BLOB)]
    data: Annotated[bytes, Within(0, LARGEST_PART)] = b""


@dataclass(frozen=True, slots=True)
class BlobParts:
    """Parts of many blobs, in the order asked for; one that this member may not see or write is left out.

    done   of how many this is the answer; what is left is asked for again
    """

    parts: Annotated[tuple[BlobPart, ...], Within(0, MOST_BLOBS)]
    done: Annotated[int, Within(1, MOST_BLOBS)]


@dataclass(frozen=True, slots=True)
class KnownDevice:
    """A device that speaks for a member, or did.

    id        by which it can be shut out
    name      that it gave itself when it joined
    seen_ms   when it was last heard, to the hour; 0 where it never was
    here      it is the one that asks
    standing  "" where it may speak, else the code of the refusal that it gets
    """

    id: Annotated[str, Matching(DEVICE)]
    name: Words
    seen_ms: Whole = 0
    here: bool = False
    standing: Annotated[str, Matching(re.compile("[a-z_]{0,40}"))] = ""


@dataclass(frozen=True, slots=True)
class DeviceList:
    """The devices of a member."""

    devices: Annotated[tuple[KnownDevice, ...], Within(0, 1000)]


@dataclass(frozen=True, slots=True)
class Refusal:
    """The club does not do what it was asked."""

    code: Annotated[str, Matching(re.compile("[a-z_]{1,40}"))]
    words: Words = ""


Request: TypeAlias = (
    Join | Hello | Push | Pull | Snapshot | Known | GiveBack | Compare | Buckets | Listing | Fetch
    | Blobs | PutBlob | GetBlob | PutBlobs | GetBlobs | Devices | RevokeDevice
)  # fmt: skip
Reply: TypeAlias = (
    Joined | Welcome | Pushed | Pulled | Records | Remembered | Compared | BucketDigests | Listed | Wanted
    | BlobPart | BlobParts | DeviceList | Refusal
)  # fmt: skip

_REQUESTS: Final[dict[str, type[Any]]] = {
    "join": Join, "hello": Hello, "push": Push, "pull": Pull, "snapshot": Snapshot, "known": Known,
    "give_back": GiveBack, "compare": Compare, "buckets": Buckets, "listing": Listing, "fetch": Fetch,
    "blobs": Blobs, "put_blob": PutBlob, "get_blob": GetBlob, "put_blobs": PutBlobs,
    "get_blobs": GetBlobs, "devices": Devices, "revoke_device": RevokeDevice,
}  # fmt: skip
_REPLIES: Final[dict[str, type[Any]]] = {
    "joined": Joined, "welcome": Welcome, "pushed": Pushed, "pulled": Pulled, "records": Records,
    "remembered": Remembered, "compared": Compared, "bucket_digests": BucketDigests, "listed": Listed,
    "wanted": Wanted, "blob_part": BlobPart, "blob_parts": BlobParts,
    "device_list": DeviceList, "refusal": Refusal,
}  # fmt: skip
_NAMES: Final = {kind: name for name, kind in (_REQUESTS | _REPLIES).items()}


def message_kinds() -> dict[str, type[Any]]:
    """Return every request and reply by its name on the wire."""
    return _REQUESTS | _REPLIES


def message_name(message: Request | Reply) -> str:
    """Return the name of a message on the wire, and of its route."""
    return _NAMES[type(message)]


def to_wire(message: Request | Reply) -> bytes:
    """Return a message as the bytes that travel, its end mark last."""
    told = {"leadline": VERSION, "say": message_name(message), **to_json(message), "end": True}
    return canonical_bytes(told)


def canonical_bytes(told: Any) -> bytes:
    """Return JSON as UTF-8 without a space, in the order given."""
    return _BRIEF.encode(told).encode("utf-8")


def parse_request(data: bytes) -> Request:
    """Return the request that a device sent. Raises RefusedMessage for anything else."""
    request: Request = _parsed(data, _REQUESTS, LARGEST_REQUEST)
    return request


def parse_reply(data: bytes) -> Reply:
    """Return the answer that a club sent. Raises RefusedMessage for anything else, a torn one included."""
    reply: Reply = _parsed(data, _REPLIES, LARGEST_REPLY)
    return reply


def _parsed(data: bytes, kinds: Mapping[str, type[Any]], largest: int) -> Any:
    told = parsed_json(data, largest)
    if not isinstance(told, dict) or told.get("end") is not True:
        raise RefusedMessage(_("A message has no end mark: it was cut off on the way; try again."))
    if told.get("leadline") != VERSION or isinstance(told["leadline"], bool):
        raise RefusedMessage(
            _(
                "A message of version {version} cannot be read, only version {ours}; update the older of the"
                " two programs."
            ).format(version=str(told.get("leadline"))[:20], ours=VERSION)
        )
    kind: Any = kinds.get(told["say"]) if isinstance(told.get("say"), str) else None
    if kind is None:
        raise RefusedMessage(f"A message {str(told.get('say'))[:40]!r} is not known here.")
    return reader_of(kind)(told, kind.__name__)
