"""The frame of the app: rail and bar, going and coming back, what is said, what stays light."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from driver import SIZES, Driver, OpenApp
from kivy.uix.label import Label

from logbook_app.dive.problems import LogbookError
from logbook_app.screens import start
from logbook_app.screens.key_walk import ENTER, TAB
from logbook_app.screens.last_look import LastLook
from logbook_app.screens.rooms import AHEAD, DOORWAYS
from logbook_app.screens.theme import BAR_HEIGHT_DP, RAIL_WIDTH_DP, THEMES
from logbook_app.screens.widgets.buttons import FilledButton

ROOMS = tuple(door.name for door in DOORWAYS.values() if door.on_rail)

# Nothing of this may be imported before the first frame is on the screen.
HEAVY = ("numpy", "sqlite3", "sqlite_utils", "plyer", "requests", "logbook_app.logbook", "logbook_app.store")

FIRST_FRAME = """
import sys
from datetime import UTC, datetime
from logbook_app.screens.start import prepare_environment, refuse_without_window
prepare_environment()
refuse_without_window()
from kivy.core.window import Window
from logbook_app.screens.app import LeadlineApp
def open_logbook():
    from logbook_app.logbook import Logbook
    return Logbook.open(sys.argv[1])
class Watched(LeadlineApp):
    def on_start(self):
        super().on_start()
        Window.bind(on_flip=self.look_at_modules)
    def look_at_modules(self, *_):
        Window.unbind(on_flip=self.look_at_modules)
        sys.stdout.write("frame " + " ".join(sorted(sys.modules)))
        self.stop()
Watched(open_logbook, lambda: datetime.now(UTC)).run()
"""


def test_app_opens_at_the_surface(app: Driver) -> None:
    """The first thing a diver sees is the state between dives."""
    assert app.find(test_id="rail-surface").chosen
    assert app.app.shell.rooms.current == "surface"
    assert app.says("At the surface")


def test_rail_becomes_a_bar_on_a_phone(app: Driver) -> None:
    """Rail at the left from 840 dp, bar along the bottom under it."""
    rail = app.find(role="Rail")
    assert (rail.x, rail.width, rail.height) == (0, RAIL_WIDTH_DP, 800)
    app.resize(839, 800)
    assert (rail.x, rail.y, rail.width, rail.height) == (0, 0, 839, BAR_HEIGHT_DP)
    assert all(rail.y <= entry.y and entry.top <= rail.top for entry in app.find_all(role="RailEntry"))
    app.resize(840, 800)
    assert (rail.x, rail.width, rail.height) == (0, RAIL_WIDTH_DP, 800)
    app.tap(test_id="rail-settings")
    assert app.app.shell.rooms.current == "settings"


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_every_room_on_the_rail_opens_with_one_tap(open_app: OpenApp, size: tuple[int, int]) -> None:
    """Each entry leads to its room and is the only one filled there. A bar has a sheet for the rest."""
    app = open_app(size=size)
    shown = [entry.room_name for entry in app.find_all(role="RailEntry") if entry.room_name != "more"]
    assert len(shown) >= 4
    for name in shown:
        app.tap(test_id=f"rail-{name}")
        app.idle()
        assert app.app.shell.rooms.current == name
        assert [entry.room_name for entry in app.find_all(role="RailEntry") if entry.chosen] == [name]


@pytest.fixture
def seven_rooms(monkeypatch: pytest.MonkeyPatch) -> None:
    """The app with more rooms than a bar holds: some that are like the Settings room."""
    for place in range(7 - sum(door.on_rail for door in DOORWAYS.values())):
        name = f"like settings {place}"
        monkeypatch.setitem(DOORWAYS, name, replace(DOORWAYS["settings"], name=name))


@pytest.mark.usefixtures("seven_rooms")
def test_a_bar_holds_five_and_its_sheet_the_rest(open_app: OpenApp) -> None:
    """Four rooms and More; every other room is two taps away, and More is filled while one shows."""
    app = open_app(size=SIZES["phone"])
    doors = [door.name for door in DOORWAYS.values() if door.on_rail]
    entries = [entry.room_name for entry in app.find_all(role="RailEntry")]
    assert entries == [*doors[:4], "more"]
    for name in doors[4:]:
        app.tap(test_id="rail-more")
        assert [entry.room_name for entry in app.find_all(role="SheetEntry")] == doors[4:]
        assert app.misfits() == []
        app.tap(test_id=f"rail-{name}")
        app.idle()
        assert app.app.shell.rooms.current == name
        assert not app.find_all(role="SheetEntry")
        assert [entry.room_name for entry in app.find_all(role="RailEntry") if entry.chosen] == ["more"]
    app.resize(1280, 800)
    assert [entry.room_name for entry in app.find_all(role="RailEntry")] == doors


@pytest.mark.usefixtures("seven_rooms")
def test_the_sheet_goes_with_back_with_more_and_with_any_room(open_app: OpenApp) -> None:
    """Back closes the sheet before it leads anywhere; keys reach what is in it."""
    app = open_app(size=SIZES["phone"])
    app.tap(test_id="rail-logbook")
    app.tap(test_id="rail-more")
    app.press_back()
    assert not app.find_all(role="SheetEntry")
    assert app.app.shell.rooms.current == "logbook"
    app.tap(test_id="rail-more")
    app.tap(test_id="rail-more")
    assert not app.find_all(role="SheetEntry")
    app.tap(test_id="rail-more")
    app.tap(test_id="rail-logbook")
    assert not app.find_all(role="SheetEntry")
    app.tap(test_id="rail-more")
    sheet = app.find_all(role="SheetEntry")
    for _ in range(40):
        app.press_key(TAB)
        if app.app._keys._at is sheet[0]:
            break
    app.press_key(ENTER)
    app.wait(0.3)
    assert app.app.shell.rooms.current == sheet[0].room_name


def test_a_turned_tablet_is_laid_out_again(app: Driver) -> None:
    """From wide to a phone's width and back: rail and bar take their place and their size again."""
    for size in ((360, 640), (1280, 800), (800, 1280), (1280, 800)):
        app.resize(*size)
        rail = app.find(role="Rail")
        wide = size[0] >= 840
        assert (rail.x, rail.y) == (0, 0)
        assert (rail.width, rail.height) == ((RAIL_WIDTH_DP, size[1]) if wide else (size[0], BAR_HEIGHT_DP))
        entries = app.find_all(role="RailEntry")
        assert all(
            rail.y <= entry.y and entry.top <= rail.top and entry.right <= rail.right for entry in entries
        )


def test_back_leads_to_the_surface_and_then_nowhere(app: Driver) -> None:
    """Escape, or the back key of a phone, goes one step; at the surface it changes nothing."""
    app.tap(test_id="rail-settings")
    app.press_back()
    assert app.app.shell.rooms.current == "surface"
    app.press_back()
    assert app.app.shell.rooms.current == "surface"
    assert app.app.back() is False


def test_a_page_leads_back_to_where_it_was_opened(app: Driver) -> None:
    """The import page is no room of the rail: back returns to the room that it was opened from."""
    app.tap(test_id="rail-record")
    app.app.go("import")
    app.idle()
    app.press_back()
    assert app.app.shell.rooms.current == "record"


def test_a_room_is_built_when_first_visited_and_kept(app: Driver) -> None:
    """Parsing and building every room at the start would make the first frame wait."""
    assert not app.find_all(role="SettingsRoom")
    app.tap(test_id="rail-settings")
    first = app.find(role="SettingsRoom")
    app.press_back()
    app.tap(test_id="rail-settings")
    assert app.find(role="SettingsRoom") is first


def test_rooms_are_built_ahead_while_nobody_touches(open_app: OpenApp) -> None:
    """One room a second, so that the first visit is quick; none while a finger is down."""
    app = open_app(builds_ahead=True)
    built = app.app.shell.rooms._built
    finger = app.finger(700, 400)
    finger.down()
    app.wait(5)
    assert set(built) == {"surface"}
    finger.up()
    app.wait(5.5)
    assert set(built) == {"surface", *AHEAD}
    assert not app.find_all(role="SettingsRoom")


def test_a_start_at_night_does_not_flash(open_app: OpenApp, tmp_path: Path) -> None:
    """Theme and size of text are those of the last time, before the logbook has been opened."""
    path = tmp_path / "logbook.leadline"
    app = open_app(path)
    app.app.ask(
        lambda logbook: logbook.change_settings(replace(logbook.settings(), theme="night", text_scale=1.15)),
        then=app.app.changed,
    )
    app.idle()
    app.idle()
    app.stop()
    app = open_app(path, wait=False)
    assert app.app.look.theme.name == "night"
    assert app.app.look.text_scale == pytest.approx(1.15)
    assert tuple(app.window.clearcolor) == pytest.approx(THEMES["night"].paper)


@pytest.mark.parametrize(
    "text", ["", "night", "sepia 1.0", "night 9", "night one", "day 1.0 xx", "\x00 \xff 1 2"]
)
def test_a_damaged_memory_of_the_look_is_no_memory(tmp_path: Path, text: str) -> None:
    """Whatever stands in the small file, the app starts; by day where it says nothing sensible."""
    path = tmp_path / "last-look.txt"
    path.write_text(text, encoding="utf-8")
    assert LastLook(path).read() is None
    LastLook(path).keep("night", 1.3, "de")
    assert LastLook(path).read() == ("night", 1.3, "de")
    LastLook(tmp_path / "no" / "folder.txt").keep("night", 1.3, "de")  # a disk that refuses is borne


def test_a_memory_from_before_there_were_languages_is_read(tmp_path: Path) -> None:
    path = tmp_path / "last-look.txt"
    path.write_text("night 1.3\n", encoding="utf-8")
    assert LastLook(path).read() == ("night", 1.3, "system")


def test_what_is_disabled_keeps_its_colour(app: Driver) -> None:
    """Kivy would draw a disabled label white, unseen on paper; here its words are quiet, without a fill."""
    button = FilledButton(text="Save", disabled=True)
    theme = app.app.look.theme
    assert tuple(button.ground) == tuple(theme.paper)
    assert tuple(button.ids.label.color) == tuple(theme.quiet)
    button.disabled = False
    assert tuple(button.ground) == tuple(theme.ink)
    for label in (widget for widget in button.walk() if isinstance(widget, Label)):
        assert tuple(label.disabled_color) == tuple(label.color)


def test_words_of_a_button_shrink_rather_than_overflow(open_app: OpenApp) -> None:
    """On a phone with text twice as large, a long word stays within its button, and it within the window."""
    app = open_app(size=SIZES["phone"], text_scale=2.0)
    button = FilledButton(text="Bring in the recordings of another diver", icon="plus-circle")
    app.window.add_widget(button)
    app.frames(4)
    label = button.ids.label
    assert button.width <= 360
    assert label.texture_size[0] <= button.width - button.around + 1
    assert label.font_size < 32


def test_what_is_said_goes_by_itself(app: Driver) -> None:
    """A sentence needs no answer; it leaves after some seconds."""
    app.app.say("The dive is kept.")
    app.frames(3)
    assert app.says("The dive is kept.")
    app.wait(7)
    assert app.says("The dive is kept.")
    app.wait(2)
    assert not app.says("The dive is kept.")


def test_undo_is_offered_long_enough_for_a_wet_hand(app: Driver) -> None:
    """A destructive act is undone, not confirmed: its button stays for twenty seconds and works once."""
    undone: list[int] = []
    app.app.say("Dive 214 is in the bin.", undo=lambda: undone.append(214))
    app.wait(18)
    app.tap(test_id="undo")
    assert undone == [214]
    assert not app.says("Dive 214 is in the bin.")


def test_a_bar_with_nothing_to_say_is_not_there(app: Driver) -> None:
    """Hidden buttons would swallow touches of the room below."""
    assert not app.find_all(test_id="undo")
    assert not app.find_all(test_id="close-bar")
    assert not app.find_all(test_id="cancel-work")


def test_long_work_shows_how_far_it_is_and_can_be_stopped(app: Driver) -> None:
    """Progress comes from the worker, and Stop reaches it."""
    ended: list[str] = []

    def work(_logbook: Any, report: Callable[[int, int, str], None], cancelled: Callable[[], bool]) -> str:
        report(1, 4, "season_2026.uddf")
        while not cancelled():
            time.sleep(0.002)
        return "stopped"

    app.app.run_long(work, words="Reading recordings", then=ended.append)
    app.frames(3)
    bar = app.find(test_id="progress-bar")
    app.until(lambda: bar.fraction == 0.25, "a quarter of the work")
    assert app.says("season_2026.uddf")
    app.tap(test_id="cancel-work")
    app.until(lambda: ended, "the end of the work")
    assert ended == ["stopped"]
    app.wait(0.3)
    assert not app.find_all(test_id="cancel-work")


def test_everything_can_be_pressed_by_keys(app: Driver) -> None:
    """Tab walks over what can be pressed, Enter presses it; a touch ends the walk."""
    walked = []
    for _ in ROOMS:
        app.press_key(TAB)
        walked.append(app.app._keys._at.test_id)
    assert walked == [f"rail-{name}" for name in ROOMS]
    app.press_key(ENTER)
    app.idle()
    assert app.app.shell.rooms.current == "settings"
    app.tap(test_id="rail-surface")
    app.press_key(ENTER)
    assert app.app.shell.rooms.current == "surface"


def test_trouble_in_the_worker_is_one_sentence(app: Driver) -> None:
    """An error that Leadline knows says itself, without a traceback."""

    def refuse(_logbook: Any) -> None:
        raise LogbookError("The disk is full. Free some space and try again.")

    app.app.ask(refuse)
    app.until(lambda: app.says("The disk is full."), "the sentence")
    assert not app.says("Traceback")


def test_unexpected_trouble_is_written_down(app: Driver, tmp_path: Path) -> None:
    """What nobody expected is said calmly, and its details are in the trouble log."""
    trouble_log = tmp_path / "trouble.log"

    def fall(_logbook: Any) -> None:
        raise ZeroDivisionError("an error of ours")

    app.app.ask(fall)
    app.until(lambda: app.says("Something went wrong inside Leadline."), "the sentence")
    assert app.says(str(trouble_log))
    assert "ZeroDivisionError: an error of ours" in trouble_log.read_text(encoding="utf-8")
    trouble_log.unlink()


def test_errors_on_the_drawing_thread_are_borne_up_to_a_point(window: Driver) -> None:
    """One is said and the app goes on; a row of them, or an order to stop, ends it."""
    from kivy.base import ExceptionManager

    from logbook_app.screens.trouble import BORNE, Bearing

    said: list[Exception] = []
    bearing = Bearing(said.append)
    error = ValueError("an error of ours")
    assert bearing.handle_exception(error) == ExceptionManager.PASS
    assert said == [error]
    assert bearing.handle_exception(KeyboardInterrupt()) == ExceptionManager.RAISE
    answers = [bearing.handle_exception(error) for _ in range(BORNE)]
    assert answers[0] == ExceptionManager.PASS
    assert answers[-1] == ExceptionManager.RAISE


def test_a_logbook_that_cannot_be_opened_says_why(open_app: OpenApp, tmp_path: Path) -> None:
    """The app stays up with the sentence of the logbook, so that the diver can put the file right."""
    path = tmp_path / "no_logbook.leadline"
    path.write_text("this is a shopping list, not a logbook " * 40, encoding="utf-8")
    app = open_app(path, wait=False)
    app.until(lambda: app.says("no_logbook.leadline"), "a sentence that names the file")
    assert path.read_text(encoding="utf-8").startswith("this is a shopping list")


def test_sleep_stops_the_tick_and_waking_starts_it(app: Driver) -> None:
    """A tablet that sleeps must not be kept awake by a ticking room."""
    room = app.find(role="SurfaceRoom")
    assert app.app.on_pause() is True
    assert not room.present
    app.app.on_resume()
    assert room.present


def test_the_first_frame_waits_for_nothing_heavy(window: Driver, tmp_path: Path) -> None:
    """Only Kivy and the standard library come before the first frame (in a process of its own)."""
    run = subprocess.run(
        [sys.executable, "-c", FIRST_FRAME, str(tmp_path / "logbook.leadline")],
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert run.stdout.startswith("frame"), run.stderr
    assert not set(HEAVY) & set(run.stdout.split())


def test_missing_graphics_library_is_named_with_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    """Kivy would end the process without a word; the sentence names Debian's package."""
    monkeypatch.setattr(start, "LINUX_LIBRARIES", ("libnosuchlibrary.so.1",))
    monkeypatch.setattr(sys, "platform", "linux")
    with pytest.raises(
        start.NoWindow, match=r"libnosuchlibrary\.so\.1 is missing\. On Debian: apt-get install"
    ):
        start.refuse_without_window()


def test_a_double_tap_is_not_felt_by_the_room_that_came_with_its_first_half(app: Driver) -> None:
    """Undo after a save brings the form back, with Save where Undo stood: the dive is not saved again."""
    app.resize(*SIZES["phone"])
    for touched in ("rail-record", "field-max_depth_m", "key-9", "key-next", "key-9", "key-next", "gas-air"):
        app.idle()
        app.tap(app.bring_into_view(app.find(test_id=touched)))
    app.tap(test_id="save")
    app.idle()
    spot = app.middle(app.find(test_id="undo"))
    for _ in range(3):
        finger = app.finger(*spot)
        finger.down()
        app.frames(3)
        finger.up()
        app.frames(3)
    app.idle()
    assert app.app.shell.rooms.current == "record"
    assert app.find(test_id="field-max_depth_m").words == "9 m"
    kept: list[int] = []
    app.app.ask(lambda logbook: len(logbook.dives()), then=kept.append)
    app.idle()
    assert kept == [0]
    app.tap(test_id="save")
    app.idle()
    assert app.app.shell.rooms.current == "surface"
