"""How the logbook file came to have the tables it has.

Each migration is a named function, run once, in order, in a transaction of its own that also
writes its name into the table `migrations`. Migrations are only ever added: what is written in one
must stay true of every file it has already run on, so it names its columns itself and takes
nothing from the modules that move on. A name this program does not know means that a newer program
has been at work, and the file is left alone.

A future migration that rebuilds a table runs with foreign keys already on; it must create the new
table, copy, drop and rename, and check with `PRAGMA foreign_key_check` before it ends.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable

from sqlite_utils import Database

Columns = dict[str, type]


def first_logbook(database: Database) -> None:
    """Dives and what belongs to each, profiles, sites, settings and the cache of derived figures.

    Tables are made through the database, not the table object: in sqlite-utils 3 the latter commits.
    """
    database.create_table("logbook", {"id": int, "revision": int}, pk="id", not_null={"revision"})
    database.execute("INSERT INTO logbook (id, revision) VALUES (1, 0)")
    database.create_table("settings", {"name": str, "value": str}, pk="name", not_null={"value"})
    database.create_table("profiles", {"sha256": str, "samples": bytes}, pk="sha256", not_null={"samples"})
    _make_sites(database)
    _make_dives(database)
    _make_parts_of_dives(database)
    database.create_table(
        "derived",
        {"key": str, "dive_id": str, "figures": bytes},
        pk=("key", "dive_id"),
        not_null={"figures"},
        foreign_keys=[("dive_id", "dives", "id")],
    )
    database.execute("CREATE INDEX derived_of_dive ON derived (dive_id)")


def _make_sites(database: Database) -> None:
    columns = {
        "version": str,
        "id": str,
        "name": str,
        "elevation_m": float,
        "latitude_deg": float,
        "longitude_deg": float,
        "water": str,
        "region": str,
    }
    database.create_table("sites", columns, pk="version", not_null={"id", "name", "region"})


def _make_dives(database: Database) -> None:
    columns = {
        "id": str,
        "began_at": str,
        "utc_offset_min": int,
        "duration_min": float,
        "max_depth_m": float,
        "mean_depth_m": float,
        "number": int,
        "diver": str,
        "site_version": str,
        "surface_bar": float,
        "elevation_m": float,
        "water": str,
        "weights_kg": float,
        "suit": str,
        "air_temperature_c": float,
        "lowest_temperature_c": float,
        "visibility_m": float,
        "current": str,
        "conditions": str,
        "purpose": str,
        "notes": str,
        "rating": int,
        "estimate": int,
        "extra": str,
        "binned_at": str,
    }
    always = {"began_at", "utc_offset_min", "duration_min", "max_depth_m", "diver", "water", "estimate"}
    words = {"suit", "current", "conditions", "purpose", "notes", "extra"}
    database.create_table(
        "dives",
        columns,
        pk="id",
        not_null=always | words,
        foreign_keys=[("site_version", "sites", "version")],
    )
    database.execute("CREATE INDEX dives_by_start ON dives (began_at)")
    database.execute("CREATE INDEX dives_by_site ON dives (site_version)")


def _make_parts_of_dives(database: Database) -> None:
    """Make what a dive has several of; `place` keeps the order the diver or the file gave."""
    cylinder: Columns = {
        "oxygen": float,
        "helium": float,
        "volume_l": float,
        "start_bar": float,
        "end_bar": float,
    }
    recording: Columns = {"fingerprint": str, "profile_sha256": str, "recorder": str, "file_name": str}
    parts: dict[str, tuple[Columns, set[str]]] = {
        "cylinders": ({**cylinder, "name": str}, {"name"}),
        "buddies": ({"name": str}, {"name"}),
        "tags": ({"name": str}, {"name"}),
        "recordings": (recording, {"fingerprint", "recorder", "file_name"}),
    }
    for table, (columns, always) in parts.items():
        keys = [("dive_id", "dives", "id")]
        if "profile_sha256" in columns:
            keys.append(("profile_sha256", "profiles", "sha256"))
        database.create_table(
            table,
            {"dive_id": str, "place": int, **columns},
            pk=("dive_id", "place"),
            not_null=always,
            foreign_keys=keys,
        )
    database.execute("CREATE INDEX recordings_by_fingerprint ON recordings (fingerprint)")


def changes_that_can_be_undone(database: Database) -> None:
    """What an import, a join or a shift of clocks did, and what each recorder said of its dive."""
    database.create_table(
        "imports",
        {"id": int, "kind": str, "at": str, "undone_at": str, "report": str, "dives": str},
        pk="id",
        not_null={"kind", "at", "report", "dives"},
    )
    database.execute("ALTER TABLE recordings ADD COLUMN account TEXT")


def trips_of_dives(database: Database) -> None:
    """The journey that a dive was a part of."""
    database.execute("ALTER TABLE dives ADD COLUMN trip TEXT NOT NULL DEFAULT ''")


def kit_and_its_care(database: Database) -> None:
    """Pieces of kit, what was done for them, sets of them, and which of them a dive used.

    A dive keeps the name beside the id: a piece may be gone, or never have been in this file.
    """
    item: Columns = {
        "id": str,
        "name": str,
        "kind": str,
        "maker": str,
        "model": str,
        "serial": str,
        "bought_on": str,
        "price": float,
        "currency": str,
        "notes": str,
        "retired": int,
        "dives_before": int,
        "hours_before": float,
        "intervals": str,
        "binned_at": str,
    }
    may_lack = {"id", "bought_on", "price", "binned_at"}
    database.create_table("kit_items", item, pk="id", not_null=set(item) - may_lack)
    care: Columns = {
        "id": str,
        "item_id": str,
        "kind": str,
        "done_on": str,
        "note": str,
        "taken_back_at": str,
    }
    database.create_table("kit_care", care, pk="id", not_null=set(care) - {"id", "taken_back_at"})
    sets: Columns = {"id": str, "name": str, "item_ids": str, "binned_at": str}
    database.create_table("kit_sets", sets, pk="id", not_null={"name", "item_ids"})
    database.create_table(
        "kit",
        {"dive_id": str, "place": int, "item_id": str, "name": str},
        pk=("dive_id", "place"),
        not_null={"item_id", "name"},
        foreign_keys=[("dive_id", "dives", "id")],
    )
    database.execute("CREATE INDEX kit_by_item ON kit (item_id)")


def words_to_search(database: Database) -> None:
    """The words of each dive; see `search_index`, which fills the table when the file is opened."""
    database.create_table(
        "dive_words",
        {"place": int, "dive_id": str, "words": str},
        pk="place",
        not_null={"dive_id", "words"},
        foreign_keys=[("dive_id", "dives", "id")],
    )
    database.execute("CREATE UNIQUE INDEX words_of_dive ON dive_words (dive_id)")
    database.execute("ALTER TABLE logbook ADD COLUMN words_version INTEGER NOT NULL DEFAULT 0")
    database.execute("ALTER TABLE logbook ADD COLUMN words_indexed INTEGER NOT NULL DEFAULT 0")


def what_became_of_each_record(database: Database) -> None:
    """Every change of a record by field. SQLite itself refuses to change or take away a line of it.

    `origin` is the device that a change was made on, empty for this one: a line with its instant and origin
    is a stamp on one field, which is what two devices need to tell each other.
    """
    columns = {
        "id": int,
        "change": int,
        "record_kind": str,
        "record_id": str,
        "field": str,
        "before": str,
        "after": str,
        "at": str,
        "why": str,
        "origin": str,
    }
    database.create_table("history", columns, pk="id", not_null=set(columns) - {"id"})
    database.execute("CREATE INDEX history_of_record ON history (record_kind, record_id)")
    database.execute("CREATE INDEX history_by_change ON history (change)")
    for deed in ("UPDATE", "DELETE"):
        database.execute(
            f"CREATE TRIGGER history_refuses_{deed.lower()} BEFORE {deed} ON history"
            " BEGIN SELECT RAISE(ABORT, 'the history is only added to'); END"
        )


def pre_dive_cards(database: Database) -> None:
    """What was checked before a dive, as JSON; a card that waits for its dive is among the settings."""
    database.execute("ALTER TABLE dives ADD COLUMN pre_dive TEXT")


def photos_of_dives(database: Database) -> None:
    """Pictures by what is in them, each with a small one; a dive names its pictures as JSON.

    They lie in the file itself: a copy of it, a backup and what is put back have all of them.
    """
    columns: Columns = {"sha256": str, "image": bytes, "thumbnail": bytes}
    database.create_table("pictures", columns, pk="sha256", not_null={"image", "thumbnail"})
    database.execute("ALTER TABLE dives ADD COLUMN photos TEXT NOT NULL DEFAULT '[]'")
    database.execute("ALTER TABLE dives ADD COLUMN camera_ahead_s INTEGER NOT NULL DEFAULT 0")


def what_other_devices_are_told(database: Database) -> None:
    """What a sync keeps, see `sync.device_store`. The row of `sync_state` is there once a diver shares.

    `sync_blobs` holds bytes on their way, and whole ones that no other table has taken over; what names
    them stands in `sync_named`, so that nothing has to be unpacked to find what is missing.
    """
    for table in (
        "CREATE TABLE sync_state (id INTEGER PRIMARY KEY CHECK (id = 1), origin TEXT NOT NULL,"
        " number INTEGER NOT NULL, member TEXT NOT NULL, clock_ms INTEGER NOT NULL,"
        " clock_count INTEGER NOT NULL, epoch INTEGER NOT NULL, cursor INTEGER NOT NULL,"
        " staging_epoch INTEGER, staging_seq INTEGER, staging_after TEXT)",
        "CREATE TABLE sync_changes (place INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, owner TEXT NOT NULL,"
        " record TEXT NOT NULL, origin TEXT NOT NULL, number INTEGER NOT NULL, content TEXT NOT NULL,"
        " standing TEXT NOT NULL, stamp TEXT NOT NULL, seq INTEGER NOT NULL)",
        "CREATE TABLE sync_records (key TEXT PRIMARY KEY, content TEXT NOT NULL, digest TEXT NOT NULL)"
        " WITHOUT ROWID",
        "CREATE TABLE sync_staged (key TEXT PRIMARY KEY, content TEXT NOT NULL) WITHOUT ROWID",
        "CREATE TABLE sync_carried (record TEXT PRIMARY KEY, content TEXT NOT NULL) WITHOUT ROWID",
        "CREATE TABLE sync_blobs (sha256 TEXT PRIMARY KEY, at_club INTEGER NOT NULL DEFAULT 0, part BLOB,"
        " whole INTEGER NOT NULL DEFAULT 0)",
        "CREATE TABLE sync_named (key TEXT NOT NULL, sha256 TEXT NOT NULL, PRIMARY KEY (key, sha256))"
        " WITHOUT ROWID",
        "CREATE TABLE sync_conflicts (key TEXT PRIMARY KEY) WITHOUT ROWID",
        "CREATE TABLE sync_log (id INTEGER PRIMARY KEY, at TEXT NOT NULL, told TEXT NOT NULL)",
    ):
        database.execute(table)
    database.execute("CREATE INDEX sync_changes_of_record ON sync_changes (owner, record)")
    database.execute("CREATE INDEX sync_changes_standing ON sync_changes (standing, place)")
    database.execute("CREATE INDEX sync_named_by ON sync_named (sha256)")


def what_a_dive_counts_for(database: Database) -> None:
    """Who supervised a dive, what the diver was there for, and its environments as JSON."""
    database.execute("ALTER TABLE dives ADD COLUMN supervised_by TEXT NOT NULL DEFAULT ''")
    database.execute("ALTER TABLE dives ADD COLUMN role TEXT")
    database.execute("ALTER TABLE dives ADD COLUMN environments TEXT NOT NULL DEFAULT '[]'")


MIGRATIONS: tuple[Callable[[Database], None], ...] = (
    first_logbook,
    changes_that_can_be_undone,
    trips_of_dives,
    kit_and_its_care,
    words_to_search,
    what_became_of_each_record,
    pre_dive_cards,
    photos_of_dives,
    what_other_devices_are_told,
    what_a_dive_counts_for,
)


def names_from_a_newer_program(connection: sqlite3.Connection) -> set[str]:
    """Return the migrations in this file that this program does not know; writes nothing."""
    return _applied(connection) - {migration.__name__ for migration in MIGRATIONS}


def lacks_migrations(connection: sqlite3.Connection) -> bool:
    """Return whether an earlier program made this file; writes nothing. A new file lacks none."""
    applied = _applied(connection)
    return bool(applied) and any(migration.__name__ not in applied for migration in MIGRATIONS)


def migrate(connection: sqlite3.Connection) -> None:
    """Run the migrations that this file still lacks, each in its own transaction.

    connection   with `isolation_level=None`, outside any transaction

    Raises sqlite3.Error; migrations that were finished before it stay.
    """
    database = Database(connection, recursive_triggers=False, execute_plugins=False)
    for migration in MIGRATIONS:
        if migration.__name__ not in _applied(connection):
            _run(migration, database)


def _run(migration: Callable[[Database], None], database: Database) -> None:
    """Run one migration, unless another process has run it while this one waited for the lock."""
    connection = database.conn
    connection.execute("BEGIN IMMEDIATE")
    try:
        if migration.__name__ not in _applied(connection):
            connection.execute(
                "CREATE TABLE IF NOT EXISTS migrations (place INTEGER PRIMARY KEY, name TEXT UNIQUE NOT NULL)"
            )
            migration(database)
            connection.execute("INSERT INTO migrations (name) VALUES (?)", [migration.__name__])
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def _applied(connection: sqlite3.Connection) -> set[str]:
    there = connection.execute("SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = 'migrations'")
    if there.fetchone() is None:
        return set()
    return {name for (name,) in connection.execute("SELECT name FROM migrations")}
