"""No word reaches a person that a translator was not given."""

from __future__ import annotations

from tests.language.catalogue import PACKAGE
from tests.language.literals import unwrapped, unwrapped_in_kv

# Modules whose words are for machines, and why.
FOR_MACHINES = {
    "files/csv_columns.py": "names of columns that are recognised",
    "files/dive_list_columns.py": "names of columns that are recognised",
    "files/dive_list_csv.py": "names of columns that are recognised",
    "files/samples_csv.py": "headings that are read back",
    "files/uddf/fields.py": "elements of the standard",
    "files/uddf/word_lists.py": "elements and values of the standard",
    "files/pdf/letters.py": "kinds of characters, as Unicode calls them",
}
FOLDERS_FOR_MACHINES = ("physics/", "sync/")  # no words in it, or other words: see `physics_sentences`

# Single literals that no person is told as they are.
ALLOWED = {
    *("whole recording", "cylinder pressures of the whole recording", "also written: ", "pre-dive card"),
    *("not written", "□ to □", "□\npart □", "cylinder □", "□ stop"),  # kept in the record, whoever reads it
    *("not met", "to confirm", "certified depth", "confined water", "at once", "first aid", "in training"),
    *("scientific work", "low visibility", "cold water", "under ice", "blue water"),  # said elsewhere as well
    *("this year", "most in a day", "safety stop", "not fit", "put back"),  # values, said elsewhere
    *("gas not recorded", "□ in □", "extra.", "cylinder."),
    *(
        "book figures 1",
        "end state 2, □, □, □",
        "kit reminders",
        *("own requirements", "requirements looked at", "diver's facts, unread"),
        "columns of ",
        "substr(began_at, 1, 19)",
    ),
    "id, change, record_kind, record_id, field, before, after, at, why, origin",
    *("The dive was not made on air alone.", "leadline logbook", "leadline backup □", "□ before □"),
    "The dive was made at altitude, or in air as thin; the tables for sea level do not hold there.",
    *("English", "Deutsch", "Leadline", "Download", "Downloads", "Letter", "Regular", "Italic"),
    *("Changes", "Logbook", "Suggestions"),  # names of classes
    "libegl1 libgl1 libgles2 libgl1-mesa-dri libmtdev1",
    "A room did not come to rest in □ s.",  # for whoever draws the portraits
    *('<in path="□">□</in>', '<at time_s="□">□</at>'),
    *("UDDF", "CSV", "JSON", "PDF", "check"),
    *("no plain numbers", "rows of another width"),  # one reader says so to another
    *("tell the offset", "tell the columns", "get what reads picture codes"),  # said by each face in its way
}
DEMONSTRATIONS = {
    "screens/widgets/chart_section.py",
    "screens/widgets/dive_list.py",
    "screens/widgets/going_up.py",
    "screens/widgets/tide_curve.py",
}


def _python() -> list[tuple[str, str]]:
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        name = path.relative_to(PACKAGE).as_posix()
        if not name.startswith(FOLDERS_FOR_MACHINES) and name not in {*FOR_MACHINES, *DEMONSTRATIONS}:
            found += [(f"{name}:{line}", text) for line, text in unwrapped(path)]
    return [(place, text) for place, text in found if text not in ALLOWED and not text.startswith("<?xml")]


def test_every_word_of_the_modules_is_in_the_catalogue():
    assert _python() == [], "Put them through `_`, or say in ALLOWED why nobody is told them."


def test_every_word_of_the_kv_files_is_in_the_catalogue():
    found = [
        (f"{path.name}:{line}", text)
        for path in sorted(PACKAGE.rglob("*.kv"))
        for line, text in unwrapped_in_kv(path.read_text(encoding="utf-8"))
    ]
    assert [(place, text) for place, text in found if text not in ALLOWED] == []


def test_the_search_finds_what_it_looks_for(tmp_path):
    module = tmp_path / "module.py"
    module.write_text(
        'def told(depth, name):\n    """No words."""\n'
        '    if name == "the other one":\n        raise ValueError("Not for divers.")\n'
        '    return f"It was {depth} deep.", _("said"), {"a key here": 1}\n',
        encoding="utf-8",
    )
    assert list(unwrapped(module)) == [(5, "It was □ deep.")]
    rule = "A:\n    text: 'Shown' if x == 'here' else _('said {n}').format(n=1)\n    test_id: 'a name'\n"
    assert list(unwrapped_in_kv(rule)) == [(2, "Shown")]
