"""One text in any encoding is one recording."""

from __future__ import annotations

import codecs

import pytest
from invented_files import SAMPLES

WHOLE = (SAMPLES / "three_sea_dives_two_cylinders.uddf").read_text(encoding="utf-8")
NAMED = WHOLE.replace("Gannet Ledge", "Gannet Öre Ledge").replace("Odile", "Zoë")


def in_encoding(encoding: str) -> bytes:
    return NAMED.replace('encoding="UTF-8"', f'encoding="{encoding}"').encode(encoding)


VARIANTS = {
    "utf-8 with a mark": codecs.BOM_UTF8 + NAMED.encode(),
    "utf-16 with a mark": in_encoding("utf-16"),
    "utf-16 big endian": codecs.BOM_UTF16_BE + NAMED.replace("UTF-8", "UTF-16").encode("utf-16-be"),
    "latin 1": in_encoding("ISO-8859-1"),
    "windows 1252": in_encoding("windows-1252"),
    "no declaration": NAMED.partition("?>")[2].lstrip().encode(),
    "carriage returns": NAMED.replace("\n", "\r\n").encode(),
}


@pytest.mark.parametrize("variant", VARIANTS)
def test_any_encoding_gives_equal_dives(variant, read, written):
    plain = read(written(NAMED, "plain.uddf"))
    other = read(written(VARIANTS[variant], "plain.uddf"))
    assert other == plain
    assert plain.dives[0].buddies[0] == "Zoë Marsh"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_a_table_in_any_encoding_gives_equal_dives(encoding, read, written):
    text = (SAMPLES / "documented_form.csv").read_text(encoding="utf-8").replace("Cinder", "Zinnköpfle")
    plain = read(written(text.encode(), "table.csv"))
    assert read(written(text.encode(encoding), "table.csv")) == plain
    assert plain.dives[0].site.name == "Zinnköpfle Quay"
