"""A report can be kept and read again."""

from __future__ import annotations

import pytest

from logbook_app.analysis.clock_shift import ShiftOffer
from logbook_app.analysis.import_report import ImportReport, report_from_text, report_to_text
from logbook_app.analysis.same_dive import JoinOffer
from logbook_app.dive.problems import Problem


@pytest.mark.law
def test_a_report_comes_back_equal():
    report = ImportReport(
        added=("a", "b"),
        already_there=("c",),
        joined=("d",),
        problems=(Problem("f.uddf", "line 3", "is \u201codd\u201d \udce9."),),
        cancelled=True,
        notes=(Problem("f.uddf", "", "was joined."),),
        offers=(JoinOffer("a", "e", "Same?"), ShiftOffer(("a", "b"), -60, "An hour?")),
        import_id=7,
    )
    assert report_from_text(report_to_text(report)) == report
    assert report_from_text(report_to_text(ImportReport())) == ImportReport()


def test_a_report_says_what_to_show_anew_and_how_to_undo_it():
    changes = ImportReport(joined=("d",), import_id=7).changes
    assert (changes.dives, changes.totals, changes.undo_id) == (frozenset("d"), True, 7)
    assert not ImportReport(already_there=("c",)).changes.totals
