"""Backing up, putting back and looking through at the command line."""

from __future__ import annotations

from at_the_command_line import ROOT, CommandLine


def test_a_backup_into_a_folder_is_named_after_the_day(weekend: CommandLine) -> None:
    told = weekend.json("backup", str(weekend.folder))
    assert isinstance(told, dict)
    assert (told["ok"], told["problems"], told["dives"]) == (True, [], 2)
    assert "leadline backup 20" in told["path"]
    assert told["path"].endswith(".leadline")


def test_a_backup_put_back_undoes_an_import_and_can_be_undone(weekend: CommandLine) -> None:
    kept = weekend.folder / "kept.leadline"
    assert weekend("backup", str(kept)).output == f"Wrote 2 dives to {kept}.\n"
    weekend("import", str(ROOT / "demo_data" / "one_dive.csv"))
    told = weekend.json("restore", str(kept))
    assert isinstance(told, dict)
    assert len(weekend.json("dives")) == 2
    weekend("restore", told["kept_aside"])
    assert len(weekend.json("dives")) == 3


def test_a_logbook_that_is_no_logbook_any_more_can_be_put_back(weekend: CommandLine) -> None:
    kept = weekend.folder / "kept.leadline"
    weekend("backup", str(kept))
    weekend.path.write_bytes(b"a failing disk left this")
    told = weekend.json("check")
    assert isinstance(told, dict)
    assert not told["ok"]
    assert "is not a logbook" in told["problems"][0]["what"]
    assert weekend.status("restore", str(kept)) == 0
    assert weekend.json("check") == {"ok": True, "problems": []}
    assert len(weekend.json("dives")) == 2


def test_a_sound_logbook_is_called_so(weekend: CommandLine) -> None:
    result = weekend("check")
    assert (result.exit_code, result.output) == (0, "The logbook is sound.\n")


def test_what_is_no_backup_is_refused_and_changes_nothing(weekend: CommandLine) -> None:
    assert weekend.status("restore", str(ROOT / "README.md")) == 2
    assert weekend.status("restore", str(weekend.folder / "nothing")) == 2
    assert weekend.status("backup", str(ROOT / "README.md")) == 2
    assert len(weekend.json("dives")) == 2


def test_the_last_backup_is_remembered_and_outlives_a_restore(weekend: CommandLine) -> None:
    from logbook_app.logbook import Logbook

    first, second = weekend.folder / "first.leadline", weekend.folder / "second.leadline"
    weekend("backup", str(first))
    weekend("backup", str(second))
    weekend("restore", str(first))
    logbook = Logbook.open(weekend.path)
    last = logbook.last_backup()
    logbook.close()
    assert last is not None
    assert last.path == second


def test_what_can_be_read_is_saved(weekend: CommandLine) -> None:
    new = weekend.folder / "new.leadline"
    result = weekend("salvage", str(new))
    assert result.output == f"Saved 2 dives in {new}, with the samples of 2 recordings.\n"
    assert weekend.status("salvage", str(new)) == 2  # nothing is written over
    data = bytearray(weekend.path.read_bytes())
    data[4096:] = bytes(len(data) - 4096)
    weekend.path.write_bytes(data)
    assert weekend.status("salvage", str(weekend.folder / "another.leadline")) in (1, 2)
    assert weekend.path.read_bytes() == data
