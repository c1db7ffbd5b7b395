"""A file that is no recording gives one sentence that names it, and nothing else."""

from __future__ import annotations

import io
import os
import time
import zipfile
from pathlib import Path

import pytest
from invented_files import SAMPLES

from logbook_app.dive.problems import Cancelled, RefusedFile
from logbook_app.files import recording_file
from logbook_app.files.recording_file import read_recording


def with_entities(declared: str, used: str) -> bytes:
    document = f"<uddf><generator><name>{used}</name></generator></uddf>"
    return f"<!DOCTYPE uddf [{declared}]>{document}".encode()


LAUGHS = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 10))


def zipped() -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr("dives.uddf", "<uddf/>")
    return stream.getvalue()


REFUSED = {
    "empty": (b"", "is empty"),
    "only spaces": (b"  \n\n ", "neither UDDF nor a table"),
    "a picture": (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + bytes(range(256)), "no picture that can be read"),
    "a zip archive": (zipped(), "neither UDDF nor a table"),
    "noise": (os.urandom(5000) + b"\0", "neither UDDF nor a table"),
    "prose": (b"We dived at the quay today.\nIt was cold, dark and good.\n", "neither UDDF nor a table"),
    "JSON": (b'{"dives": [{"depth": 12, "time": 30}]}', "JSON but no logbook"),
    "a web page": (b"<!DOCTYPE html><html><body>time, depth</body></html>", "outermost element is <html>"),
    "another XML": (b"<?xml version='1.0'?><gpx><trk/></gpx>", "outermost element is <gpx>"),
    "a foreign namespace": (
        b'<uddf xmlns="urn:example:not-uddf" version="3.2.3"/>',
        '"urn:example:not-uddf"',
    ),
    "an old version": (b'<uddf version="2.2.0"><profiledata/></uddf>', 'UDDF version "2.2.0"'),
    "no dives": (b'<uddf version="3.2.3"><generator><name>x</name></generator></uddf>', "holds no dive"),
    "an unknown encoding": (b'<?xml version="1.0" encoding="klingon"?><uddf/>', "encoding"),
    "billion laughs": (with_entities(f'<!ENTITY a0 "ha">{LAUGHS}', "&a9;"), "entities"),
    "quadratic entities": (with_entities(f'<!ENTITY a "{"x" * 100_000}">', "&a;" * 10_000), "entities"),
    "an external entity": (with_entities('<!ENTITY a SYSTEM "file:///etc/hostname">', "&a;"), "entities"),
    "a parameter entity": (with_entities('<!ENTITY % a SYSTEM "http://127.0.0.1:9/x"> %a;', ""), "entities"),
    "a nest without an end": (b"<uddf>" + b"<profiledata>" * 100_000, "nested more than"),
    "a tag without an end": (b"<uddf a='" + b"x" * 9_000_000, "one tag goes on"),
    "a text without an end": (b"<uddf><generator><name>" + b"x" * 9_000_000, "characters"),
    "a line without an end": (b"time,depth " * 500_000, "a line of more than 1 MB"),
}


@pytest.mark.parametrize("kind", REFUSED)
def test_what_is_no_recording_is_refused_in_one_sentence(kind, read, written):
    content, expected = REFUSED[kind]
    began = time.monotonic()
    with pytest.raises(RefusedFile) as refused:
        read(written(content, "thing.uddf"))
    sentence = str(refused.value)
    assert expected in sentence
    assert sentence.startswith("thing.uddf")
    assert sentence.endswith(".")
    assert "\n" not in sentence
    assert time.monotonic() - began < 5.0


def test_the_content_decides_not_the_name(read, written):
    uddf = (SAMPLES / "three_sea_dives_two_cylinders.uddf").read_bytes()
    table = (SAMPLES / "documented_form.csv").read_bytes()
    assert len(read(written(uddf, "a.csv")).dives) == 3
    assert len(read(written(table, "a.uddf")).dives) == 1


def test_a_document_type_without_entities_is_no_harm(read, written, one_dive):
    text = one_dive().replace("<uddf ", '<!DOCTYPE uddf SYSTEM "uddf.dtd"><uddf ')
    assert len(read(written(text)).dives) == 1


def test_a_folder_and_a_missing_file_are_refused_by_name(tmp_path: Path):
    for path, expected in ((tmp_path, "is a folder"), (tmp_path / "gone.uddf", "cannot be opened")):
        with pytest.raises(RefusedFile, match=expected) as refused:
            next(read_recording(path))
        assert str(refused.value).startswith(path.name)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes on this system")
def test_a_pipe_is_refused_rather_than_waited_for(tmp_path: Path):
    os.mkfifo(tmp_path / "pipe.uddf")
    with pytest.raises(RefusedFile, match="not an ordinary file"):
        next(read_recording(tmp_path / "pipe.uddf"))


def test_a_file_beyond_the_limit_is_refused_unread(tmp_path: Path):
    path = tmp_path / "huge.uddf"
    with path.open("wb") as stream:
        stream.truncate(recording_file.LARGEST_FILE_BYTES + 1)
    with pytest.raises(RefusedFile, match="larger than 1 GB"):
        next(read_recording(path))


def test_a_file_that_may_not_be_read_is_refused_by_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    def forbid(self: Path, mode: str) -> None:
        raise PermissionError(13, "Permission denied")

    path = tmp_path / "locked.uddf"
    path.write_text("<uddf/>")
    monkeypatch.setattr(Path, "open", forbid)
    with pytest.raises(RefusedFile, match=r"locked\.uddf cannot be read: Permission denied"):
        next(read_recording(path))


def test_reading_stops_as_soon_as_the_diver_says_so(one_dive, written):
    many = one_dive().replace("</dive>", "</dive>" + " " * 500_000)
    asked: list[int] = []

    def cancelled() -> bool:
        asked.append(1)
        return len(asked) > 3

    with pytest.raises(Cancelled):
        list(read_recording(written(many), cancelled=cancelled))
    assert len(asked) == 4


def test_progress_grows_to_the_size_of_the_file(one_dive, written):
    steps: list[tuple[int, int]] = []
    path = written(one_dive() + " " * 300_000)
    list(read_recording(path, progress=lambda done, of: steps.append((done, of))))
    assert [done for done, _ in steps] == sorted(done for done, _ in steps)
    assert steps[-1] == (path.stat().st_size, path.stat().st_size)
