"""Which database is meant: by its address, or the file that a club's folder has."""

from __future__ import annotations

from logbook_app.dive.problems import LeadlineError
from server.database import Database


def database_at(address: str | None) -> Database | None:
    """Return the PostgreSQL database of this address, None for none.

    Raises LeadlineError where packages are missing or it does not answer.
    """
    if not address:
        return None
    try:
        from server.postgresql_database import PostgresqlDatabase
    except ImportError as error:
        words = f"PostgreSQL needs more packages ({error}): pip install 'leadline[server,postgresql]'"
        raise LeadlineError(words) from error
    return PostgresqlDatabase(address)
