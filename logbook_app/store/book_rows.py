"""The owner's dives as columns, for what is asked of all of them at once."""

from __future__ import annotations

import sqlite3
from typing import Any

COLUMNS = (
    "dives.id", "substr(began_at, 1, 19)", "utc_offset_min", "duration_min", "max_depth_m",
    "lowest_temperature_c", "sites.id", "sites.name", "latitude_deg", "longitude_deg",
)  # fmt: skip


def book_rows(connection: sqlite3.Connection) -> list[tuple[Any, ...]]:
    """Return the owner's dives in order of their start, without those in the bin, as rows of `COLUMNS`.

    A start is text of UTC to the second. A dive without a site has None in all that is of the site.
    """
    return connection.execute(
        f"SELECT {', '.join(COLUMNS)} FROM dives"  # noqa: S608
        " LEFT JOIN sites ON sites.version = dives.site_version"
        " WHERE binned_at IS NULL AND diver = '' ORDER BY began_at, dives.id"
    ).fetchall()
