"""The logbook file: one SQLite database, its migrations and its care."""
