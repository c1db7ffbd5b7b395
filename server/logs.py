"""What the server writes down: one JSON object a line, of what happened and never of whom.

A line has a route and not its path, the first letters of a device's id, no address, no name, no message.
Of an exception it has the kind and where it was raised; its words may hold what a member wrote.
"""

from __future__ import annotations

import json
import logging
import traceback
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

LOG: Final = logging.getLogger("leadline.club")


class JsonLine(logging.Formatter):
    """A record of the log as one JSON object; what a caller tells beside its words stands in it as fields."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the line."""
        at = datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds")
        told: dict[str, Any] = {"time": at, "level": record.levelname.lower(), "event": record.getMessage()}
        told |= getattr(record, "told", {})
        if record.exc_info and (error := record.exc_info[1]):
            told |= {"error": type(error).__name__, "raised": _raised(error)}
        return json.dumps(told, ensure_ascii=False)


def _raised(error: BaseException) -> list[str]:
    frames = traceback.extract_tb(error.__traceback__)
    return [f"{Path(frame.filename).name}:{frame.lineno} {frame.name}" for frame in frames]


def log_config() -> dict[str, Any]:
    """Return the configuration of `logging`: the club's lines and the web server's, to standard error."""
    way = {"handlers": ["lines"], "level": "INFO", "propagate": False}
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"json": {"()": JsonLine}},
        "handlers": {"lines": {"class": "logging.StreamHandler", "formatter": "json"}},
        "loggers": {LOG.name: way, "uvicorn": way},
    }
