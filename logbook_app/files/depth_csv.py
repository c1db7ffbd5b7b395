"""A table of times and depths: one file, one dive.

The form that Leadline documents:

    # began: 2026-06-14T10:05+02:00
    # site: Cinder Quay
    # gas: 32, 50
    # cylinder: 12 L, 7 L
    time (s),depth (m),temperature (C),pressure (bar),gas
    0,0.0,18.2,210,32
    10,2.4,,,
    1680,21.0,8.1,95,50

Lines that begin with "#" stand before the table. `began` is needed; it is an ISO 8601 date and
time, best with its offset from UTC. The others may be left out:

    began               start of the dive
    number              the diver's number of the dive
    site                name of the place
    elevation           of the water's surface above sea level, m or ft
    surface pressure    bar
    gas                 one for each cylinder, parted by commas: air, 32, 18/45, oxygen
    cylinder            water volume of each, parted by commas, L
    buddies             names parted by commas
    weights             kg or lb
    notes               any words
    id                  what Leadline called the dive, where it wrote the file (samples_csv.py); the
                        logbook that it came from does not add it again

A gas or a volume that is not known is left empty between its commas.

The table has a header that names its columns and their units (csv_columns.py says how), columns
in any order, parted by comma, semicolon or tab, with a decimal point or comma. Times are seconds,
minutes or hours since the start, mm:ss, hh:mm:ss, the time of day as hh:mm:ss, or ISO 8601
instants, which also say when the dive began. An empty cell is no value. A gas in the `gas` column
holds from its row on; `pressure` is that of the first cylinder, `pressure 2` of the second.

A row that cannot be read is left out, counted and named by its number, the last one as well where
a file breaks off.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import timedelta
from typing import Final

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.problems import TELL_COLUMNS, TELL_OFFSET, Problem, RefusedFile, RefusedRecord
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive, Site
from logbook_app.files.csv_columns import Columns, columns_in_header, parse_columns
from logbook_app.files.csv_heading import Heading, Odd
from logbook_app.files.read_dive import ReadDive, ReadOptions, recorded
from logbook_app.files.sample_table import SampleTable
from logbook_app.files.start_time import Precision, StartTime, Zone, parse_start
from logbook_app.files.table_lines import DELIMITERS, blocks_of, cells_of, text_of
from logbook_app.language import _

FEWEST_SAMPLES: Final = 2
_HEADER_WITHIN_ROWS: Final = 50
_LEAST_TOGETHER_BYTES: Final = 300


def parse_depth_csv(
    chunks: Iterable[bytes], file_name: str, options: ReadOptions
) -> Iterator[ReadDive | Problem]:
    """Yield the dive of a table of samples, then what was odd in it.

    Raises RefusedFile where the text is no such table, names no start or holds no dive.
    """
    odd: dict[str, None] = {}
    table = _Table(file_name, options, odd.setdefault)
    row = 1
    for block in blocks_of(chunks, file_name):
        row += table.take(row, block)
    try:
        yield table.dive()
    except RefusedRecord as error:
        raise RefusedFile(
            _("{file_name} holds no dive that can be: {error}").format(file_name=file_name, error=error)
        ) from error
    for what in odd:
        yield Problem(file_name, "", what)
    if table.zoneless:
        yield Problem(file_name, "", _("the start has no time zone and was taken as UTC"), TELL_OFFSET)


class _Table:
    """One table on its way through: first its heading, then its header, then its samples."""

    def __init__(self, file_name: str, options: ReadOptions, odd: Odd) -> None:
        self._file_name = file_name
        self._options = options
        self._odd = odd
        self._heading = Heading()
        self._told = parse_columns(options.csv_columns) if options.csv_columns else None
        self._delimiter = ""
        self._columns: Columns | None = None
        self._samples: SampleTable | None = None
        self.zoneless = False

    def take(self, row: int, block: bytes) -> int:
        """Take in whole lines, the first of which has this number; return how many they are."""
        lines = block.splitlines(keepends=True) if self._samples is None else []
        above = self._take_head(row, lines)
        return above + self._take_rows(row + above, b"".join(lines[above:]) if lines else block)

    def _take_head(self, row: int, lines: Sequence[bytes]) -> int:
        """Take in what stands above the samples; return how many lines that are."""
        for place, line in enumerate(lines):
            if self._take_line(row + place, text_of(line.rstrip(b"\r\n"))):
                return place + 1
        return len(lines)

    def _take_line(self, row: int, line: str) -> bool:
        """Take in a line above the samples, and tell whether they come next."""
        if not line.strip():
            return False
        if line.lstrip().startswith("#"):
            self._heading = self._heading.with_line(line.strip(), self._odd)
            return False
        begun = self._begin(row, line)
        if not begun and row > _HEADER_WITHIN_ROWS:
            raise self._no_table()
        return begun

    def _take_rows(self, row: int, block: bytes) -> int:
        """Take in rows together; where something among them is odd, half of them, until it stands alone."""
        if self._samples is None or not block:
            return 0
        if taken := self._samples.add_together(row, block, self._delimiter):
            return taken
        middle = block.find(b"\n", len(block) // 2) + 1
        if len(block) > _LEAST_TOGETHER_BYTES and 0 < middle < len(block):
            taken = self._take_rows(row, block[:middle])
            return taken + self._take_rows(row + taken, block[middle:])
        lines = block.splitlines()
        for place, line in enumerate(lines):
            if (text := text_of(line)).strip():
                self._samples.add(row + place, cells_of(text, self._delimiter), self._file_name)
        return len(lines)

    def _begin(self, row: int, line: str) -> bool:
        """Begin with the samples if this line is the header, or the first row of a told list."""
        for delimiter in DELIMITERS:
            cells = cells_of(line, delimiter)
            columns = self._told or columns_in_header(cells)
            if columns is None or columns.least_width > len(cells):
                continue
            samples = SampleTable(columns, self._heading.gases, self._options.utc_offset_min)
            if self._told:
                samples.add(row, cells, self._file_name)
                if not len(samples):
                    continue
            self._columns, self._samples, self._delimiter = columns, samples, delimiter
            return True
        return False

    def _report_columns(self, columns: Columns, samples: SampleTable) -> None:
        if columns.unread:
            self._odd(_("columns not read: {unread}").format(unread=", ".join(columns.unread)))
        assumed = [
            words for quantity, words in columns.assumed.items() if quantity != "time" or samples.plain
        ]
        if assumed:
            self._odd(
                _("the header does not tell every unit; taken as {assumed}").format(
                    assumed=", ".join(assumed)
                )
            )

    def dive(self) -> ReadDive:
        if self._samples is None or self._columns is None:
            raise self._no_table()
        if len(self._samples) < FEWEST_SAMPLES:
            raise RefusedFile(
                _("{file_name} holds no dive: fewer than two rows have a time and a depth.").format(
                    file_name=self._file_name
                )
            )
        start = self._start(self._samples)
        self._report_columns(self._columns, self._samples)
        self._samples.report(self._odd)
        profile = self._samples.profile()
        dive = _dive(self._heading, profile, start, self._samples, self._options.diver)
        read = recorded(dive, profile, recorder="", file_name=self._file_name)
        return read if self._options.diver else replace(read, known_as=self._heading.known_as)

    def _start(self, samples: SampleTable) -> StartTime:
        began = self._told.began if self._told and self._told.began else self._heading.began
        start = samples.first
        if start is None:
            if not began:
                raise RefusedFile(
                    _(
                        '{file_name} does not say when the dive began; add a first line such as "# began: '
                        '2026-06-14T10:05+02:00".'
                    ).format(file_name=self._file_name)
                )
            start = self._parsed_start(began, samples.clock_s)
        if start.precision is not Precision.TIME:
            self._odd(
                _('the start is only told as "{began}"; it was kept at noon, please correct it').format(
                    began=began
                )
            )
        if start.zone is Zone.NONE:
            self.zoneless = True
        return start

    def _parsed_start(self, began: str, clock_s: float | None) -> StartTime:
        try:
            start = parse_start(began, self._options.utc_offset_min)
        except ValueError as error:
            raise RefusedFile(
                _("{file_name} has a start that cannot be read: {error}.").format(
                    file_name=self._file_name, error=error
                )
            ) from error
        if start.precision is not Precision.DAY or clock_s is None:
            return start
        midnight = start.at.replace(hour=0)
        return replace(start, at=midnight + timedelta(seconds=clock_s), precision=Precision.TIME)

    def _no_table(self) -> RefusedFile:
        return RefusedFile(
            _(
                "{file_name} is neither UDDF nor a table with columns named time and depth; a table needs a "
                'header such as "time (s),depth (m)".'
            ).format(file_name=self._file_name),
            TELL_COLUMNS,
        )


def _dive(heading: Heading, profile: Profile, start: StartTime, samples: SampleTable, diver: str) -> Dive:
    site = Site.named(heading.site, elevation_m=heading.elevation_m) if heading.site else None
    return Dive(
        began_at=start.at,
        utc_offset_min=start.utc_offset_min,
        duration_min=float(profile.time_s[-1]) / 60.0,
        max_depth_m=float(profile.depth_m.max()),
        number=heading.number,
        diver=diver,
        site=site,
        surface_bar=heading.surface_bar,
        elevation_m=None if site else heading.elevation_m,
        cylinders=_cylinders(heading, samples, profile),
        weights_kg=heading.weights_kg,
        buddies=heading.buddies,
        notes=heading.notes,
    )


def _cylinders(heading: Heading, samples: SampleTable, profile: Profile) -> tuple[Cylinder, ...]:
    """Return the cylinders that gases, volumes or pressures tell of, in that order."""
    pressures = [
        int(name.rpartition("_")[2]) + 1 for name in profile.channels if name.startswith("pressure_")
    ]
    count = max(len(samples.gases), len(heading.volumes_l), *pressures, 0)
    gases = [*samples.gases, *[None] * count]
    volumes = [*heading.volumes_l, *[None] * count]
    return tuple(Cylinder(gases[place], volumes[place]) for place in range(count))
