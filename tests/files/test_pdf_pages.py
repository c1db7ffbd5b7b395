"""Printed pages, read back with another library: they say what the logbook holds, whatever was written."""

from __future__ import annotations

import io
import re
import subprocess
import sys
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from invented_files import DIVE, SAMPLES, UDDF
from pypdf import PdfReader

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.problems import LogbookError
from logbook_app.dive.record import Dive, Site
from logbook_app.files.pdf.letters import STAND_IN, printable, stand_in_words
from logbook_app.files.pdf.paper import Paper, Type
from logbook_app.files.pdf.paper_size import A4, LETTER, PaperSize
from logbook_app.files.pdf.print_look import LAND, WATER
from logbook_app.logbook import Logbook
from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.screens.theme import DAY

THREE_DIVES = SAMPLES / "three_sea_dives_two_cylinders.uddf"
NOW = datetime(2025, 7, 6, 12, 0, tzinfo=UTC)

HOSTILE = {
    "very long word": "Wintergreen" * 900,
    "very many words": "gone over the ledge and back " * 900,
    "right to left": "שלום \u202eمرحبا\u202c",
    "emoji": "🤿🐙 👨‍👩‍👧 ok",
    "new lines": "one\ntwo\r\nthree\u2028four\tfive\x0bsix",
    "controls": "a\x00b\x1b[31mc\x7f",
    "marks without end": "z" + "\u0301" * 4000,
    "markup": "<b>&amp;</b> (paren\\thesis) %PDF",
    "spaces": " " * 3000,
}


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    """An empty logbook on the afternoon after the sample's last dive."""
    opened = Logbook.open(tmp_path / "a.leadline", now=lambda: NOW)
    yield opened
    opened.close()


@pytest.fixture
def three_dives(logbook: Logbook) -> Logbook:
    """The logbook with the three recorded dives of the sample."""
    assert len(logbook.import_files([THREE_DIVES]).added) == 3
    return logbook


def by_hand(ended_hours_ago: float, minutes: float = 20.0, **fields: object) -> Dive:
    """Return a dive without samples that ended so long ago."""
    began_at = NOW - timedelta(hours=ended_hours_ago, minutes=minutes)
    fields = {"max_depth_m": 12.0, "estimate": True} | fields
    return Dive(began_at=began_at, duration_min=minutes, **fields)


def straight_up(folder: Path) -> Path:
    """Write a recording of 30 min at 40 m on air, and 40 m up in 2 min, 20 m/min, past every stop."""
    points = ((0, 0), (120, 40), (1800, 40), (1920, 0))
    waypoints = "".join(
        f"<waypoint><depth>{depth_m}</depth><divetime>{time_s}</divetime></waypoint>"
        for time_s, depth_m in points
    )
    dive = DIVE.format(id="d", before="", tankdata="", waypoints=waypoints, after="")
    text = UDDF.format(dives=dive.replace("2025-06-01T10:00:00Z", "2025-07-06T09:00:00Z"))
    path = folder / "straight_up.uddf"
    path.write_text(text.replace("12.0", "40.0").replace("1200", "1920"), encoding="utf-8")
    return path


def read(path: Path) -> PdfReader:
    return PdfReader(io.BytesIO(path.read_bytes()), strict=True)


def words_of(page) -> str:
    return " ".join(page.extract_text().split())


def pages_of(logbook: Logbook, path: Path, paper: PaperSize | None = None) -> list[str]:
    logbook.export(path, paper=paper)
    return [words_of(page) for page in read(path).pages]


def sheet_of(logbook: Logbook, path: Path, paper: PaperSize | None = None, at: datetime | None = None) -> str:
    logbook.accident_sheet(path, at, paper)
    pages = read(path).pages
    assert len(pages) == 1
    return words_of(pages[0])


# The logbook


@pytest.mark.derived
def test_the_pages_say_what_the_file_holds(three_dives: Logbook, tmp_path: Path) -> None:
    """Every expected figure is typed in the sample; 1740 s are 29 min, 293.15 K are 20 C."""
    first, third, index = pages_of(three_dives, tmp_path / "a.pdf", A4)
    for words in ("Dive 61 · Gannet Ledge", "Sat 5 Jul 2025, 10:00 (UTC+2)", "Odile Marsh, Rune Holt"):
        assert words in first
    for words in ("26.5 m", "29 min", "20 °C", "8 kg", "205 bar to 110 bar", "nitrox 80", "wreck", "9 m"):
        assert words in first
    for words in ("Counted urchins along the ledge.", "The line came loose once.", "7 of 10"):
        assert words in first
    assert "Dive 62 · Gannet Ledge" in first + third
    assert "Dive 63 · Gannet Ledge" in third
    assert "61 2025-07-05 10:00 Gannet Ledge 26.5 m 29 min" in index
    assert re.search(r"63 2025-07-06 .*Rune Holt 2$", index.split("Ceilings")[0].strip())


@pytest.mark.law
def test_each_dive_can_be_signed_and_each_page_warns_and_is_numbered(
    three_dives: Logbook, tmp_path: Path
) -> None:
    pages = pages_of(three_dives, tmp_path / "a.pdf")
    whole = " ".join(pages)
    assert whole.count("Buddy (Odile Marsh, Rune Holt): name, signature, date") == 1
    assert whole.count("Buddy: name, signature, date") == 1
    assert whole.count("Dive leader: name, signature, date") == 3
    for number, page in enumerate(pages, 1):
        assert "your training, local rules and a hyperbaric physician come before them" in page
        assert f"Page {number}" in page


@pytest.mark.law
def test_the_chart_says_in_words_what_it_draws(three_dives: Logbook, tmp_path: Path) -> None:
    """What tints and hatching show is also said: a black-and-white printer loses nothing.

    The stop by hand: 6 m is passed at 1452 s, 3 m at 1668 s, 216 s between them.
    """
    three_dives.export(tmp_path / "a.pdf")
    page = read(tmp_path / "a.pdf").pages[0]
    sounded = [part.strip() for part in _texts_in(page, "Italic")]
    assert sounded[:2] == ["26", "5"]
    for said in ("0 m", "20 min", "safety stop 3 min 36 s", "alarm: ascent", "bookmark wreck", "nitrox 80"):
        assert said in words_of(page)


@pytest.mark.law
def test_a_ceiling_is_hatched_and_named(logbook: Logbook, tmp_path: Path) -> None:
    logbook.import_files([straight_up(tmp_path)])
    page, _ = pages_of(logbook, tmp_path / "a.pdf")
    assert re.search(r"ceiling \d+\.\d m", page)
    assert "Stops were required." in page


@pytest.mark.law
def test_two_short_dives_share_a_page_and_the_index_leads_to_it(logbook: Logbook, tmp_path: Path) -> None:
    logbook.keep_dives([by_hand(hours, number=number) for number, hours in ((1, 50), (2, 40), (3, 30))])
    pages = pages_of(logbook, tmp_path / "a.pdf", A4)
    assert [page.count("Dive leader") for page in pages] == [2, 1, 0]
    assert re.search(r"\b1 2025-07-04 .* 1 2 2025-07-04 .* 1 3 2025-07-05 .* 2\b", pages[-1])
    reader = read(tmp_path / "a.pdf")
    assert [entry.title for entry in reader.outline][-1] == "Index of dives"
    assert len(reader.pages[-1]["/Annots"]) == 3


@pytest.mark.law
def test_an_estimate_is_marked_on_its_page_and_in_the_index(logbook: Logbook, tmp_path: Path) -> None:
    logbook.keep_dives([by_hand(5, number=9)])
    page, index = pages_of(logbook, tmp_path / "a.pdf")
    assert "An estimate: no samples" in page
    assert "estimate: square profile" in page
    assert "20 min est." in index


def test_only_the_dives_asked_for_are_printed(three_dives: Logbook, tmp_path: Path) -> None:
    wanted = three_dives.dives()[1].id
    assert three_dives.export(tmp_path / "a.pdf", [wanted]) == 1
    text = [words_of(page) for page in read(tmp_path / "a.pdf").pages]
    assert len(text) == 2
    assert "Dive 62" in text[0]


def test_an_empty_logbook_is_one_page_that_says_so(logbook: Logbook, tmp_path: Path) -> None:
    (page,) = pages_of(logbook, tmp_path / "a.pdf")
    assert "No dives." in page


@pytest.mark.law
def test_notes_that_need_more_than_a_page_go_on_with_the_name_of_the_dive(
    logbook: Logbook, tmp_path: Path
) -> None:
    notes = " ".join(f"word{number}" for number in range(6000))
    logbook.keep_dives([by_hand(5, number=9, notes=notes)])
    pages = pages_of(logbook, tmp_path / "a.pdf")
    assert len(pages) > 3
    assert all("Dive 9, continued" in page for page in pages[1:-1])
    assert all(f"word{number}" in " ".join(pages) for number in (0, 2999, 5999))


def test_the_dives_of_others_are_told_apart(logbook: Logbook, tmp_path: Path) -> None:
    logbook.keep_dives([by_hand(5, number=9), by_hand(8, diver="Odile Marsh")])
    index = pages_of(logbook, tmp_path / "a.pdf")[-1]
    assert "1 dive, 0 h 20 min under water" in index
    assert "1 dive of other divers." in index
    assert "(dive of Odile Marsh)" in index


# The sheet for an accident


@pytest.mark.derived
def test_the_sheet_tells_dives_intervals_gases_and_ascents(three_dives: Logbook, tmp_path: Path) -> None:
    """The intervals are stated in the sample: 3600 s, and 79200 s or 22 h. The oxygen pressure is highest
    at the change to 80 % at 7.5 m: 0.8 * (1.009 + 0.75) = 1.407 bar, at EN 13319's tenth of a bar a metre.
    """
    text = sheet_of(three_dives, tmp_path / "s.pdf")
    assert "3 dives in the 72 h before now" in text
    for number in (61, 62, 63):
        assert f"Dive {number} · " in text
    assert "in 10:00, out 10:29 (UTC+2)" in text
    assert "Surface interval before it 1 h 00 min" in text
    assert "Surface interval before it 22 h 00 min" in text
    assert "26.5 m (87 ft)" in text
    assert "nitrox 80 (80 % O₂), 5.7 L, 180 to 155 bar" in text
    assert "to nitrox 80 at 23:00 min, 7.5 m (25 ft)" in text
    assert "highest ppO₂ 1.41 bar" in text
    assert "no stretch faster than 10 m/min (33 ft/min)" in text
    assert "alarm: ascent" in text
    assert "Now: Sun 6 Jul 2025, 12:00 (UTC)" in text


@pytest.mark.derived
def test_the_sheet_tells_a_fast_ascent_and_missed_stops(logbook: Logbook, tmp_path: Path) -> None:
    """40 m in 120 s are 20 m/min, or 65.6 ft/min. By any table 28 min at 40 m on air need stops."""
    logbook.import_files([straight_up(tmp_path)])
    text = sheet_of(logbook, tmp_path / "s.pdf")
    assert "FAST: 20 m/min (66 ft/min) from 40.0 m (131 ft) to 0.0 m (0 ft) at 30:00 min" in text
    assert "the model's ceiling came to" in text
    assert "MISSED: " in text
    assert re.search(r"surfaced under a ceiling of \d+\.\d m", text)


@pytest.mark.law
def test_the_sheet_asks_for_what_no_logbook_knows_and_names_help_first(
    three_dives: Logbook, tmp_path: Path
) -> None:
    text = sheet_of(three_dives, tmp_path / "s.pdf")
    assert "Not recorded: write by hand" in text
    for asked in (
        "Call-back number",
        "Symptom",
        "Min after surfacing",
        "Oxygen began at",
        "Allergies",
        "Balance",
    ):
        assert asked in text
    for help_first in ("the local emergency services", "Oxygen:", "a diving medicine centre"):
        assert text.index(help_first) < text.index("Recorded dives")
    assert "the physician decides" in text


@pytest.mark.law
def test_the_window_is_72_h_from_surfacing(logbook: Logbook, tmp_path: Path) -> None:
    logbook.keep_dives([by_hand(71, number=2), by_hand(73, number=1)])
    text = sheet_of(logbook, tmp_path / "s.pdf")
    assert "1 dive in the 72 h before now" in text
    assert "Dive 2 · " in text
    assert "Dive 1 · " not in text


@pytest.mark.law
def test_dives_after_the_instant_and_dives_of_others_are_not_on_the_sheet(
    logbook: Logbook, tmp_path: Path
) -> None:
    logbook.keep_dives(
        [by_hand(9, number=1), by_hand(1, number=2), by_hand(3, diver="Odile Marsh", number=3)]
    )
    text = sheet_of(logbook, tmp_path / "s.pdf", at=NOW - timedelta(hours=2))
    assert "1 dive in the 72 h before now" in text
    assert "Dive 1 · " in text


@pytest.mark.law
@pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda paper: paper.name)
@pytest.mark.parametrize("count", [0, 1, 3, 12, 30, 80])
def test_the_sheet_is_one_page_however_many_dives(
    logbook: Logbook, tmp_path: Path, count: int, paper: PaperSize
) -> None:
    hours = [60 * (number + 1) / max(count, 1) for number in range(count)]
    logbook.keep_dives([by_hand(ago, minutes=15, number=1000 + n) for n, ago in enumerate(hours)])
    text = sheet_of(logbook, tmp_path / "s.pdf", paper)
    told = len(set(re.findall(r"\b10\d\d(?= · )", text)))
    left_out = re.search(r"and (\d+) earlier dives in the window", text)
    assert told + (int(left_out[1]) if left_out else 0) == count
    assert left_out is None or count > 30
    assert "Dive 1000 · " in text or not count
    assert "the physician decides" in text


@pytest.mark.law
def test_the_sheet_is_black_and_white(three_dives: Logbook, tmp_path: Path) -> None:
    three_dives.accident_sheet(tmp_path / "s.pdf")
    shades = _colours(read(tmp_path / "s.pdf").pages[0])
    assert len(shades) > 3
    assert all(red == green == blue for red, green, blue in shades)


# What holds for both


@pytest.mark.law
@pytest.mark.parametrize("name", HOSTILE)
def test_nothing_that_somebody_wrote_breaks_a_page(logbook: Logbook, tmp_path: Path, name: str) -> None:
    odd = HOSTILE[name]
    site = Site(id="odd", name=odd, region=odd, elevation_m=100.0)
    logbook.keep_dives(
        [
            by_hand(
                hours,
                site=site,
                buddies=(odd, odd),
                notes=odd,
                suit=odd,
                current=odd,
                tags=(odd,),
                cylinders=(Cylinder(BreathingGas(0.32), name=odd),),
                extra={odd: odd},
            )
            for hours in (5, 10, 15)
        ]
    )
    pages = pages_of(logbook, tmp_path / "a.pdf")
    assert sum(page.count("Dive leader") for page in pages) == 3
    text = sheet_of(logbook, tmp_path / "s.pdf")
    assert "the physician decides" in text


@pytest.mark.law
@pytest.mark.parametrize("name", HOSTILE)
def test_nothing_is_drawn_off_the_page(
    logbook: Logbook, tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The right end of each line is taken from the width that the page's own letters have."""
    drawn: list[tuple[float, float, float]] = []
    text = Paper.text

    def noted(self: Paper, x: float, y: float, words: str, look: Type, *, share: float = 0.0) -> None:
        left = x - share * self.width(words, look)
        drawn.append((left, left + self.width(words, look), y))
        text(self, x, y, words, look, share=share)

    monkeypatch.setattr(Paper, "text", noted)
    odd = HOSTILE[name]
    logbook.keep_dives(
        [by_hand(5, site=Site(id="odd", name=odd), notes=odd, buddies=(odd,), suit=odd, tags=(odd,))]
    )
    logbook.export(tmp_path / "a.pdf", paper=A4)
    logbook.accident_sheet(tmp_path / "s.pdf", paper=A4)
    assert len(drawn) > 100
    assert min(left for left, _, _ in drawn) >= 20
    assert max(right for _, right, _ in drawn) <= A4.width - 20
    assert min(y for _, _, y in drawn) >= 20
    assert max(y for _, _, y in drawn) <= A4.height - 20


@pytest.mark.law
def test_letters_that_the_typeface_lacks_are_counted_out_and_explained(
    logbook: Logbook, tmp_path: Path
) -> None:
    logbook.keep_dives([by_hand(5, site=Site.named("海 Łąka Ωκεανός Озеро"))])
    page, index = pages_of(logbook, tmp_path / "a.pdf")
    assert f"{STAND_IN} Łąka Ωκεανός Озеро" in page
    assert stand_in_words() in page
    assert stand_in_words() in index
    assert stand_in_words() in sheet_of(logbook, tmp_path / "s.pdf")


def test_pages_without_such_letters_do_not_speak_of_them(three_dives: Logbook, tmp_path: Path) -> None:
    assert all(STAND_IN not in page for page in pages_of(three_dives, tmp_path / "a.pdf"))


@pytest.mark.law
def test_the_same_dives_give_the_same_bytes(three_dives: Logbook, tmp_path: Path) -> None:
    for name in ("a", "b"):
        three_dives.export(tmp_path / f"{name}.pdf")
        three_dives.accident_sheet(tmp_path / f"{name}-sheet.pdf")
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()
    assert (tmp_path / "a-sheet.pdf").read_bytes() == (tmp_path / "b-sheet.pdf").read_bytes()


@pytest.mark.published
@pytest.mark.parametrize(
    ("paper", "width_mm", "height_mm"),
    [
        (A4, 210.0, 297.0),  # ISO 216:2007, A series (from memory)
        (LETTER, 215.9, 279.4),  # ANSI/ASME Y14.1, size A, 8.5 x 11 in (from memory)
    ],
)
def test_the_paper_has_its_size(
    three_dives: Logbook, tmp_path: Path, paper: PaperSize, width_mm: float, height_mm: float
) -> None:
    three_dives.export(tmp_path / "a.pdf", paper=paper)
    three_dives.accident_sheet(tmp_path / "s.pdf", paper=paper)
    for page in (*read(tmp_path / "a.pdf").pages, *read(tmp_path / "s.pdf").pages):
        box = page.mediabox
        size_mm = float(box.width) / 72 * 25.4, float(box.height) / 72 * 25.4
        assert size_mm == pytest.approx((width_mm, height_mm), abs=0.05)


@pytest.mark.law
def test_the_typeface_is_in_the_file(three_dives: Logbook, tmp_path: Path) -> None:
    three_dives.export(tmp_path / "a.pdf")
    fonts = [font.get_object() for font in read(tmp_path / "a.pdf").pages[0]["/Resources"]["/Font"].values()]
    embedded = {str(font["/BaseFont"]) for font in fonts if "/FontFile2" in font.get("/FontDescriptor", {})}
    for style in ("IBMPlexSans", "IBMPlexSans-SemiBold", "IBMPlexSans-Italic"):
        assert any(style in name for name in embedded), embedded


def test_the_water_has_the_tints_of_the_day_theme() -> None:
    """Files may not know the screens, so the printed tints are written down twice."""
    assert [shade[:3] for shade in DAY.water] == list(WATER)
    assert DAY.land[:3] == LAND


def test_a_page_that_cannot_be_written_leaves_what_was_there(three_dives: Logbook, tmp_path: Path) -> None:
    with pytest.raises(LogbookError, match="cannot be written"):
        three_dives.accident_sheet(tmp_path / "no folder" / "s.pdf")
    (tmp_path / "taken.pdf").mkdir()
    with pytest.raises(LogbookError, match="cannot be written"):
        three_dives.export(tmp_path / "taken.pdf")
    assert not list(tmp_path.glob("*.unfinished"))


def test_the_pdf_library_is_loaded_only_to_print() -> None:
    """The app's first frame and every other command do without it."""
    code = "import sys, logbook_app.logbook, logbook_app.commands.verbs; print('reportlab' in sys.modules)"
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "False"


# Setting type


@pytest.mark.law
@given(words=st.text(max_size=300), width=st.floats(30, 400))
def test_lines_keep_the_width_and_every_letter(words: str, width: float) -> None:
    paper, look = Paper(A4, "test"), Type(8.0)
    lines = paper.lines(words, look, width)
    assert all(paper.width(line, look) <= width + 1e-6 for line in lines)
    shown = printable(words, paper.letters)
    assert "".join("".join(lines).split()) == "".join(shown.split())


@pytest.mark.law
@given(words=st.text(max_size=300), width=st.floats(20, 400))
def test_what_is_shortened_fits_and_begins_the_same(words: str, width: float) -> None:
    paper, look = Paper(A4, "test"), Type(8.0)
    short = paper.shortened(words, look, width)
    assert paper.width(short, look) <= width + 1e-6
    assert printable(words, paper.letters).startswith(short.removesuffix("…"))


@pytest.mark.parametrize(
    ("written", "shown"),
    [
        ("e\u0301", "é"),  # one letter by composition, Unicode normalization form C
        ("a\nb", "a b"),
        ("\u200fabc\u200e", "abc"),
        ("山川", STAND_IN * 2),
        ("☃\ufe0f", STAND_IN),
        ("\ud800", ""),
        ("a\u3000b", "a b"),
    ],
)
def test_what_is_printed_for_a_letter(written: str, shown: str) -> None:
    assert printable(written, Paper(A4, "test").letters) == shown


def _texts_in(page, style: str) -> Sequence[str]:
    found: list[str] = []

    def note(text: str, _cm: object, _tm: object, font: dict | None, _size: float) -> None:
        if text.strip() and font is not None and style in str(font.get("/BaseFont", "")):
            found.append(text)

    page.extract_text(visitor_text=note)
    return found


def _colours(page) -> set[tuple[float, ...]]:
    stream = page.get_contents().get_data().decode("latin-1")
    number = r"([\d.]+)"
    return {
        tuple(map(float, found)) for found in re.findall(rf"{number} {number} {number} (?:rg|RG)\b", stream)
    }
