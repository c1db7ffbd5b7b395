"""Where the app puts what it prints."""

from __future__ import annotations

from pathlib import Path

import platformdirs
import pytest

from logbook_app.screens.printed_files import free_path, papers_folder


def test_a_logbook_somewhere_of_its_own_has_its_papers_beside_it(tmp_path: Path) -> None:
    assert papers_folder(tmp_path / "a.leadline") == tmp_path


@pytest.mark.parametrize("there", [True, False])
def test_a_logbook_in_the_data_folder_prints_into_the_documents(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, there: bool
) -> None:
    """Where there are no documents, or they cannot be written to, the data folder serves."""
    data, documents = tmp_path / "data", tmp_path / "documents"
    if there:
        documents.mkdir()
    monkeypatch.setattr(platformdirs, "user_data_path", lambda *_args, **_kwargs: data)
    monkeypatch.setattr(platformdirs, "user_documents_path", lambda: documents)
    assert papers_folder(data / "logbook.leadline") == (documents if there else data)


def test_nothing_printed_earlier_is_overwritten(tmp_path: Path) -> None:
    for expected in ("dive 214.pdf", "dive 214 (2).pdf", "dive 214 (3).pdf"):
        path = free_path(tmp_path, "dive 214")
        assert path.name == expected
        path.touch()
