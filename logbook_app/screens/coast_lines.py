"""The shores of the world as they ship with Leadline, read once, in the background."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

from logbook_app.analysis.site_chart import shore_lines
from logbook_app.shipped_files import shipped_folder


@cache
def coast_lines() -> list[Any]:
    """Return every shore as an array of longitude and latitude; none where the file is missing or spoilt."""
    try:
        text = (shipped_folder("assets") / "coast" / "coast.json").read_text(encoding="utf-8")
        shore = json.loads(text)
        return shore_lines(shore["scale"], shore["lines"])
    except (OSError, ValueError, KeyError):
        return []  # a map without shores still shows its sites and its grid
