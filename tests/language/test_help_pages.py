"""Every help page stands in every language, point for point."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from logbook_app.catalogues import use_language
from logbook_app.language import LANGUAGES
from logbook_app.screens.help_text import Block, parse_help, read_help
from logbook_app.shipped_files import shipped_folder

PAGES = sorted(path.stem for path in (shipped_folder("assets") / "help").glob("*.md"))


@pytest.fixture(params=[name for name in LANGUAGES if name != "en"])
def spoken(request: pytest.FixtureRequest) -> Iterator[str]:
    use_language(request.param)
    yield request.param
    use_language("en")


def _shape(blocks: tuple[Block, ...]) -> list[tuple[str, int]]:
    """What a reader would miss if it were not there: each block, and its strong words."""
    return [(block.kind, block.words.count("[b]")) for block in blocks]


@pytest.mark.parametrize("name", PAGES)
def test_a_page_says_as_much_in_every_language(spoken: str, name: str) -> None:
    english = parse_help((shipped_folder("assets") / "help" / f"{name}.md").read_text(encoding="utf-8"))
    said = read_help(name)
    assert said != english
    assert _shape(said) == _shape(english)


def test_there_is_no_page_without_its_english(spoken: str) -> None:
    pages = {path.stem for path in (shipped_folder("assets") / "help" / spoken).glob("*.md")}
    assert pages == set(PAGES)
