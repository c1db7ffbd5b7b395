"""What is counted of a running club, as text for a program that collects such figures."""

from __future__ import annotations

from typing import Final

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, ProcessCollector, generate_latest

_SECONDS: Final = (0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30)


class Figures:
    """The figures of one process."""

    def __init__(self) -> None:
        self._all = CollectorRegistry()
        ProcessCollector(registry=self._all)
        self._answers = Counter("leadline_answers", "Answers given.", ["route", "status"], registry=self._all)
        self._seconds = Histogram(
            "leadline_answer_seconds", "Time to answer.", ["route"], registry=self._all, buckets=_SECONDS
        )
        self._bytes = Counter("leadline_bytes", "Bodies, as they travel.", ["way"], registry=self._all)
        self._members = Gauge("leadline_members", "Members of the club.", registry=self._all)
        self._log = Gauge("leadline_log_lines", "Lines of the club's log since it began.", registry=self._all)

    def count(self, route: str, status: int, seconds: float, arrived: int, sent: int) -> None:
        """Count one answer."""
        self._answers.labels(route, str(status)).inc()
        self._seconds.labels(route).observe(seconds)
        self._bytes.labels("in").inc(arrived)
        self._bytes.labels("out").inc(sent)

    def text(self, members: int, log_lines: int) -> bytes:
        """Return all figures in the plain text exposition format."""
        self._members.set(members)
        self._log.set(log_lines)
        return generate_latest(self._all)
