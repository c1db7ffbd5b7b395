"""Printing from the command line: pages of dives, and the sheet for an accident."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from pypdf import PdfReader

from logbook_app.commands.command_line import Tools, leadline, run
from logbook_app.logbook import Logbook

ROOT = Path(__file__).parents[2]
AT_THE_DOCK = "2026-11-14T14:07:00+01:00"


class Printer:
    """The command line on a logbook with the two dives of the demo's last weekend."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.tools = Tools(open_logbook=Logbook.open, open_app=lambda _path: None)
        self._start = ["--logbook", str(folder / "a.leadline")]
        assert self("import", str(ROOT / "demo_data" / "last_weekend.uddf")).exit_code == 0

    def __call__(self, *arguments: str) -> Result:
        return CliRunner().invoke(leadline, [*self._start, *arguments], obj=self.tools)

    def status(self, *arguments: str) -> int:
        return run([*self._start, *arguments], self.tools)


@pytest.fixture
def printer(tmp_path: Path) -> Printer:
    return Printer(tmp_path)


def test_export_prints_the_dives_asked_for(printer: Printer) -> None:
    path = printer.folder / "dives.pdf"
    result = printer("export", str(path), "--dives", "#214", "--json")
    assert json.loads(result.stdout) == {"written": 1}
    assert "Dive 214 · Heron Ledge" in PdfReader(path).pages[0].extract_text()


@pytest.mark.parametrize(("arguments", "width_pt"), [((), 595), (("--paper", "letter"), 612)])
def test_the_paper_can_be_chosen(printer: Printer, arguments: tuple[str, ...], width_pt: int) -> None:
    for verb in ("export", "sheet"):
        path = printer.folder / f"{verb}.pdf"
        assert printer(verb, str(path), *arguments).exit_code == 0
        assert round(PdfReader(path).pages[0].mediabox.width) == width_pt


def test_the_sheet_says_what_it_was_made_from(printer: Printer) -> None:
    path = printer.folder / "sheet.pdf"
    made = json.loads(printer("sheet", str(path), "--at", AT_THE_DOCK, "--json").stdout)
    listed = json.loads(printer("dives", "--json").stdout)
    assert made["window_h"] == 72
    assert made["at"] == AT_THE_DOCK
    assert made["dives"] == [dive["id"] for dive in listed]
    assert made["intervals_before_min"][0] is None
    assert len(PdfReader(path).pages) == 1


def test_the_sheet_is_announced_with_what_comes_first(printer: Printer) -> None:
    said = printer("sheet", str(printer.folder / "sheet.pdf"), "--at", AT_THE_DOCK).stdout
    assert "2 dives of the last 72 h" in said
    assert "emergency services" in said


def test_the_sheet_is_a_pdf_or_nothing(printer: Printer, capsys: pytest.CaptureFixture[str]) -> None:
    assert printer.status("sheet", str(printer.folder / "sheet.doc")) == 2
    assert "Name a file that ends in .pdf" in capsys.readouterr().err
    assert printer.status("sheet", str(printer.folder / "nowhere" / "sheet.pdf")) == 2
    assert "cannot be written" in capsys.readouterr().err


def test_the_sheet_is_never_written_over_the_logbook(
    printer: Printer, capsys: pytest.CaptureFixture[str]
) -> None:
    home = printer.folder / "logbook.pdf"
    (printer.folder / "a.leadline").rename(home)
    before = home.read_bytes()
    assert run(["--logbook", str(home), "sheet", str(home)], printer.tools) == 2
    assert "is the logbook itself" in capsys.readouterr().err
    assert home.read_bytes() == before
