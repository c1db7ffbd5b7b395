"""Help: every room has a page, every page can be drawn, and one touch leads there and back."""

from __future__ import annotations

import pytest
from driver import Driver, OpenApp

from logbook_app.screens.help_text import Block, parse_help, read_help
from logbook_app.screens.rooms import DOORWAYS
from logbook_app.shipped_files import shipped_folder

ROOMS = [name for name in DOORWAYS if name != "help"]
FROM_THE_RAIL = [name for name, doorway in DOORWAYS.items() if doorway.on_rail]


@pytest.mark.parametrize("name", ROOMS)
def test_every_room_has_a_page_with_a_caution(name: str) -> None:
    """It begins with a title, and says what to mind before a figure is acted on."""
    blocks = read_help(name)
    assert blocks[0].kind == "title"
    assert [block.kind for block in blocks].count("title") == 1
    assert any(block.words.startswith("[b]Before you act on a figure.[/b]") for block in blocks)


def test_every_page_belongs_to_a_room() -> None:
    """A page that no room opens would grow old unread."""
    pages = {path.stem for path in (shipped_folder("assets") / "help").glob("*.md")}
    assert pages == set(ROOMS)


def test_blocks_and_marks() -> None:
    """Headings, paragraphs over several lines, points, strong and slanted words; brackets are words."""
    blocks = parse_help("# Kit\n\n## Dry\nA *thin*\nsuit [old].\n- **Reel**\n- Lamp\n  and cell\n")
    assert blocks == (
        Block("title", "Kit"),
        Block("heading", "Dry"),
        Block("paragraph", "A [i]thin[/i] suit &bl;old&br;."),
        Block("point", "[b]Reel[/b]"),
        Block("point", "Lamp and cell"),
    )


@pytest.mark.parametrize(
    "form", ["1. first", "| a | b |", "### deep", "> said", "- a\n  - b", "a `b`", "[a](b)"]
)
def test_a_form_that_is_not_drawn_is_refused(form: str) -> None:
    """Better an error for the writer than punctuation for the diver."""
    with pytest.raises(ValueError, match="not drawn"):
        parse_help(f"# Kit\n\n{form}\n")


@pytest.mark.parametrize("name", FROM_THE_RAIL)
def test_one_touch_leads_there_and_back(app: Driver, name: str) -> None:
    """From the room's own header; Back returns to the room, and its entry on the rail stays filled."""
    app.tap(test_id=f"rail-{name}")
    app.idle()
    app.tap(test_id="help")
    app.frames(3)
    assert app.find(test_id="help-title").text == read_help(name)[0].words
    assert app.find(test_id=f"rail-{name}").chosen
    app.tap(test_id="back")
    assert app.app.shell.rooms.current == name


@pytest.mark.parametrize("text_scale", [1.0, 2.0])
def test_a_page_fits(open_app: OpenApp, text_scale: float) -> None:
    """The longest page: nothing clipped, nothing over anything, nothing too small to touch."""
    app = open_app(text_scale=text_scale)
    app.app.open_help("surface")
    for _size in app.at_each_size():
        assert app.misfits() == []
