"""A file in somebody's format becomes dives and a list of what was odd in it."""
