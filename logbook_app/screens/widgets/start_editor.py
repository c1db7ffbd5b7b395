"""When a dive began: the day, the time by the clock on the dock, and how far that clock was ahead of UTC."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta, timezone
from typing import Any

from kivy.properties import BooleanProperty, ObjectProperty

from logbook_app.dive.record import on_the_dock
from logbook_app.screens.record_questions import record_questions
from logbook_app.screens.widgets.date_time_entry import BEGAN_AT
from logbook_app.screens.widgets.field_panel import Editor
from logbook_app.screens.widgets.numbers_of import NumbersOf


class StartEditor(Editor):
    """Holds day, time and offset until they are saved together."""

    today = ObjectProperty(None, allownone=True)
    """The day by the clock on the dock."""

    day = ObjectProperty(None, allownone=True)
    """The day of the dive; None is today."""

    recorded = BooleanProperty(False)
    """True where every recorder of the dive moves along."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        dive = self.editing.dive
        self._began = dive.began_local
        self._typed = BEGAN_AT.text(self._began.time())
        self.today = on_the_dock(self.editing.now, dive.utc_offset_min).date()
        self.day = self._began.date()
        self.recorded = dive.profile_sha256 is not None
        questions = record_questions(self.editing.units)
        self._numbers = NumbersOf(
            self, {"utc_offset_min": questions["utc_offset_min"]}, {"utc_offset_min": dive.utc_offset_min}
        )
        clock = self.ids.when.ids.clock
        clock.text = self._typed
        clock.bind(on_ask=lambda _clock: self.dispatch("on_ask", BEGAN_AT, self._typed, self._take, None))

    def take_day(self, day: date | None) -> None:
        """Take the day; None is today."""
        self.day = day or self.today

    def save(self) -> None:
        """Keep the start, unless the pad says what is the matter with it."""
        typed, offset_min = BEGAN_AT.value(self._typed), self._numbers.values["utc_offset_min"]
        if typed is None or offset_min is None or self._numbers.in_trouble:
            return
        began_at = self._given(typed, offset_min)
        self.dispatch("on_save", {"began_at": began_at, "utc_offset_min": round(offset_min)})

    def _given(self, typed: time, offset_min: float) -> datetime:
        """Return the instant; seconds that nobody touched stay."""
        same = typed.replace(second=0) == self._began.time().replace(second=0, microsecond=0)
        zone = timezone(timedelta(minutes=round(offset_min)))
        return datetime.combine(self.day, self._began.time() if same else typed, tzinfo=zone)

    def _take(self, text: str) -> None:
        self._typed = self.ids.when.ids.clock.text = text
        self.ids.when.ids.clock.trouble = BEGAN_AT.trouble(text)
