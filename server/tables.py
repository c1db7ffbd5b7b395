"""The tables that keep clubs, the same in both databases, and how older files become them.

*Every table leads with the club, in its key and in every index.* A club's rows lie together, no query
looks at another club's, and a PostgreSQL that is spread over many machines can be cut along that column.
The club's number is drawn by lot, so that a club can move from one database to another as it is.

*The club's row is its lock and gives out the numbers of its log.* They are never taken from a sequence:
numbers of a sequence become visible in another order than they were given out, and whoever has read up
to one of them never sees a smaller one that comes later.

SQLite lays short rows out by their key. Long ones stand by themselves, because of a long row within a tree
of keys most goes onto a page of its own: a dive took twice its bytes.

What can be worked out is not kept. The owner begins every key, so the owner's records are a stretch of
the keys, and owners stand in no audience; an accepted change is named by its origin, number and digest.
"""

from __future__ import annotations

import re
import secrets
from typing import Final

from server.database import Database

_TABLES: Final = """
CREATE TABLE clubs (
    club BIGINT NOT NULL, epoch BIGINT NOT NULL, seq BIGINT NOT NULL, floor BIGINT NOT NULL,
    aged BIGINT NOT NULL, clock_ms BIGINT NOT NULL, clock_count BIGINT NOT NULL,
    least_schema BIGINT NOT NULL, restored_ms BIGINT NOT NULL, PRIMARY KEY (club)){by_key};
CREATE TABLE records (
    club BIGINT NOT NULL, deleted_ms BIGINT, key {text} NOT NULL, digest {text} NOT NULL,
    content {text} NOT NULL, PRIMARY KEY (club, key));
CREATE INDEX records_deleted ON records (club, deleted_ms) WHERE deleted_ms IS NOT NULL;
CREATE TABLE audiences (
    club BIGINT NOT NULL, member {text} NOT NULL, key {text} NOT NULL,
    PRIMARY KEY (club, member, key)){by_key};
CREATE INDEX audiences_of_key ON audiences (club, key);
CREATE TABLE named (
    club BIGINT NOT NULL, name {text} NOT NULL, key {text} NOT NULL, PRIMARY KEY (club, name, key)){by_key};
CREATE TABLE seen (
    club BIGINT NOT NULL, number BIGINT NOT NULL, seq BIGINT NOT NULL, origin {text} NOT NULL,
    digest {text} NOT NULL, verdict {text} NOT NULL, stamp {text} NOT NULL,
    PRIMARY KEY (club, origin, number, digest)){by_key};
CREATE TABLE log (
    club BIGINT NOT NULL, seq BIGINT NOT NULL, key {text} NOT NULL, change {text} NOT NULL,
    author {text} NOT NULL, stamp {text} NOT NULL, content {text} NOT NULL, audience {text} NOT NULL,
    PRIMARY KEY (club, seq));
CREATE INDEX log_of_key ON log (club, key);
CREATE TABLE devices (
    club BIGINT NOT NULL, seen_ms BIGINT NOT NULL, id {text} NOT NULL, member {text} NOT NULL,
    standing {text} NOT NULL, PRIMARY KEY (club, id)){by_key};
CREATE TABLE blobs (
    club BIGINT NOT NULL, size BIGINT NOT NULL, name {text} NOT NULL, PRIMARY KEY (club, name)){by_key};
CREATE TABLE parts (
    club BIGINT NOT NULL, at BIGINT NOT NULL, name {text} NOT NULL, data {bytes} NOT NULL,
    PRIMARY KEY (club, name, at));
CREATE TABLE members (
    club BIGINT NOT NULL, instructor BIGINT NOT NULL, id {text} NOT NULL, name {text} NOT NULL,
    PRIMARY KEY (club, id)){by_key};
CREATE TABLE invitations (
    club BIGINT NOT NULL, until_ms BIGINT NOT NULL, code {text} NOT NULL, member {text} NOT NULL,
    token {text}, PRIMARY KEY (club, code)){by_key};
CREATE TABLE tokens (
    club BIGINT NOT NULL, token {text} NOT NULL, member {text} NOT NULL, name {text} NOT NULL,
    PRIMARY KEY (club, token)){by_key};
"""

# Changes of the tables since, for both databases; only ever added to. Each is one form later.
_LATER: Final[tuple[str, ...]] = (
    """
ALTER TABLE members ADD COLUMN left_ms BIGINT NOT NULL DEFAULT 0;
ALTER TABLE members ADD COLUMN role {text} NOT NULL DEFAULT 'member';
ALTER TABLE members ADD COLUMN signs_as {text} NOT NULL DEFAULT '';
ALTER TABLE members ADD COLUMN signs_for {text} NOT NULL DEFAULT '';
UPDATE members SET signs_as = 'instructor', signs_for = '*' WHERE instructor = 1;
ALTER TABLE members DROP COLUMN instructor;
CREATE TABLE passwords (
    club BIGINT NOT NULL, member {text} NOT NULL, digest {text} NOT NULL, PRIMARY KEY (club, member)){by_key};
CREATE TABLE sessions (
    club BIGINT NOT NULL, until_ms BIGINT NOT NULL, token {text} NOT NULL, member {text} NOT NULL,
    PRIMARY KEY (club, token)){by_key};
CREATE INDEX sessions_of_member ON sessions (club, member);
CREATE TABLE tries (
    club BIGINT NOT NULL, at_ms BIGINT NOT NULL, who {text} NOT NULL, id {text} NOT NULL,
    PRIMARY KEY (club, who, at_ms, id)){by_key};
CREATE TABLE trail (
    club BIGINT NOT NULL, number BIGINT NOT NULL, at_ms BIGINT NOT NULL, actor {text} NOT NULL,
    what {text} NOT NULL, whom {text} NOT NULL, detail {text} NOT NULL, digest {text} NOT NULL,
    PRIMARY KEY (club, number)){by_key};
""",
    """
ALTER TABLE clubs ADD COLUMN host {text} NOT NULL DEFAULT '';
ALTER TABLE clubs ADD COLUMN name {text} NOT NULL DEFAULT '';
""",
    """
CREATE TABLE register (
    club BIGINT NOT NULL, began_ms BIGINT NOT NULL, everybody BIGINT NOT NULL, key {text} NOT NULL,
    kind {text} NOT NULL, owner {text} NOT NULL, whom {text} NOT NULL, day {text} NOT NULL,
    PRIMARY KEY (club, key)){by_key};
CREATE INDEX register_of_owner ON register (club, kind, owner, began_ms);
CREATE INDEX register_of_whom ON register (club, kind, whom, began_ms);
CREATE INDEX register_of_day ON register (club, kind, day);
CREATE TABLE registered (
    club BIGINT NOT NULL, epoch BIGINT NOT NULL, seq BIGINT NOT NULL, PRIMARY KEY (club)){by_key};
CREATE TABLE moved (
    club BIGINT NOT NULL, seq BIGINT NOT NULL, member {text} NOT NULL, PRIMARY KEY (club, member)){by_key};
CREATE TABLE kept_answers (
    club BIGINT NOT NULL, seq BIGINT NOT NULL, member {text} NOT NULL, about {text} NOT NULL,
    day {text} NOT NULL, content {text} NOT NULL, PRIMARY KEY (club, member, about)){by_key};
CREATE TABLE kept_findings (
    club BIGINT NOT NULL, key {text} NOT NULL, digest {text} NOT NULL, content {text} NOT NULL,
    PRIMARY KEY (club, key)){by_key};
CREATE TABLE club_rules (
    club BIGINT NOT NULL, name {text} NOT NULL, content {text} NOT NULL, PRIMARY KEY (club, name)){by_key};
""",
)

# What is kept of a club beside its row; that one is changed and never taken away, because it is the lock.
TABLES: Final = tuple(
    name for name in re.findall(r"CREATE TABLE (\w+)", "".join((_TABLES, *_LATER))) if name != "clubs"
)

_FIRST: Final = 2
FORM: Final = _FIRST + len(_LATER)  # a database of a later one is left alone

# A SQLite file of form 1 held one club, whose number it did not say.
_BEFORE: Final = "records audiences named seen log devices blobs parts members invitations tokens"
_INDEXES_BEFORE: Final = (
    "records_of_owner records_deleted audiences_of_key named_by_key seen_numbers log_of_key"
)
_FROM_ONE_CLUB: Final = """
INSERT INTO clubs SELECT {club}, epoch, seq, floor, aged, clock_ms, clock_count, least_schema, restored_ms
    FROM state;
INSERT INTO records SELECT {club}, deleted_ms, key, digest, content FROM old_records;
INSERT INTO audiences SELECT {club}, member, key FROM old_audiences
    WHERE substr(key, 1, length(member) + 1) <> member || '/';
INSERT INTO named SELECT {club}, name, key FROM old_named;
INSERT INTO seen SELECT {club}, number, seq, origin, substr(change, -16), verdict, stamp FROM old_seen;
INSERT INTO log SELECT {club}, seq, key, change, author, stamp, content, audience FROM old_log;
INSERT INTO devices SELECT {club}, seen_ms, id, member, standing FROM old_devices;
INSERT INTO blobs SELECT {club}, size, name FROM old_blobs;
INSERT INTO parts SELECT {club}, at, name, data FROM old_parts;
INSERT INTO members SELECT {club}, instructor, id, name FROM old_members;
INSERT INTO invitations SELECT {club}, until_ms, code, member, token FROM old_invitations;
INSERT INTO tokens SELECT {club}, token, member, name FROM old_tokens;
DROP TABLE state;
"""


def prepare(database: Database) -> None:
    """Make the tables, or bring them to the present form. Raises ValueError for a later one."""
    with database.alone():
        form = database.form()
        if form > FORM:
            raise ValueError("The club's database was written by a newer program; update this one.")
        if form == 0:
            _run(database, _TABLES)
        if form == 1:
            _take_over_one_club(database)
        for script in _LATER[max(form - _FIRST, 0) :]:
            _run(database, script)
        if form < FORM:
            database.put_form(FORM)


def new_number() -> int:
    """Return a number for a club, drawn by lot."""
    return secrets.randbelow(2**48 - 1) + 1


def _take_over_one_club(database: Database) -> None:
    for index in _INDEXES_BEFORE.split():
        database.run(f"DROP INDEX {index}")
    for table in _BEFORE.split():
        database.run(f"ALTER TABLE {table} RENAME TO old_{table}")
    _run(database, _TABLES)
    _run(database, _FROM_ONE_CLUB.replace("{club}", str(new_number())))
    for table in _BEFORE.split():
        database.run(f"DROP TABLE old_{table}")


def _run(database: Database, script: str) -> None:
    for word, meaning in database.words.items():
        script = script.replace(f"{{{word}}}", meaning)
    for statement in filter(str.strip, script.split(";")):
        database.run(statement)
