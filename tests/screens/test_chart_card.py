"""The chart with its controls on a page: chips, map of loads, zoom by button, key and wheel, photos."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from driver import SIZES, Driver
from test_chart_section import section_of

from logbook_app.analysis.load_map import greatest_by_column
from logbook_app.analysis.sampled import Sampled
from logbook_app.analysis.section_of_dive import Section

ALL = ["temperature", "pressure", "ppo2", "load"]


def loaded_dive() -> Section:
    """Return an hour's dive whose fast compartments pass the limit, with two cylinders."""
    time_s = np.arange(0.0, 3601, 5)
    depth_m = np.round(np.interp(time_s, [0, 180, 1500, 2400, 3300, 3600], [0, 38, 32, 12, 5, 0]), 1)
    section = section_of(
        time_s,
        depth_m,
        temperature=Sampled(time_s, np.interp(depth_m, [0, 38], [18, 7])),
    )
    rise = np.sin(np.pi * time_s / 4200)[:, None]
    section.series.loads = rise * np.linspace(1.25, 0.2, 16)
    section.series.load = section.series.loads.max(axis=1)
    tanks = tuple(
        Sampled(time_s, np.linspace(begin, end, len(time_s)), words)
        for begin, end, words in ((200, 90, "tank 1 air"), (190, 140, "tank 2 nitrox 50"))
    )
    return Section(
        section.time_s, section.depth_m, section.series, section.units, section.remarks,
        temperature=section.temperature, tanks=tanks,
    )  # fmt: skip


@pytest.fixture
def page(window: Driver) -> Iterator[Driver]:
    """A page with the card and something to scroll to under it."""
    from kivy.uix.boxlayout import BoxLayout
    from kivy.uix.widget import Widget

    from logbook_app.screens.widgets.alone import app_around
    from logbook_app.screens.widgets.chart_card import ChartCard
    from logbook_app.screens.widgets.chart_page import ChartPage

    def build() -> Any:
        page, box = ChartPage(), BoxLayout(orientation="vertical", size_hint_y=None)
        card = ChartCard(section=loaded_dive())
        box.bind(minimum_height=box.setter("height"))
        box.add_widget(card)
        box.add_widget(Widget(size_hint_y=None, height=1500))
        page.add_widget(box)
        page.chart = card.chart
        return page

    yield window.start(app_around(build), (1000, 800))
    window.stop()


def chart(page: Driver) -> Any:
    return page.find(test_id="chart")


def card(page: Driver) -> Any:
    return page.find(role="ChartCard")


def choose(page: Driver, *names: str) -> None:
    """Tap the chips with these names."""
    for name in names:
        page.tap(page.bring_into_view(page.find(test_id=f"show-{name}")))
    page.frames(3)


def roll(page: Driver, button: str, x: float, y: float) -> None:
    """Turn the wheel by one notch over a point."""
    notch = page.finger(x, y)
    notch.profile, notch.button = ["pos", "button"], button
    notch.down()
    page.frames(1)
    notch.up()
    page.frames(1)


def over_chart(page: Driver, time_s: float) -> tuple[float, float]:
    """Return the point of the window over an instant, in the middle of the water."""
    widget = chart(page)
    frame = widget.frame
    return widget.to_window(float(frame.x(time_s)), frame.bottom + frame.height / 2)


# Zoom


def test_buttons_zoom_about_the_scrub_line(page: Driver) -> None:
    """In keeps the instant that is looked at where it is; what would do nothing is faded."""
    widget = chart(page)
    assert page.find(test_id="zoom-out").disabled
    assert page.find(test_id="whole-dive").disabled
    widget.scrub_s = 900.0
    x = float(widget.frame.x(900.0))
    page.tap(test_id="zoom-in")
    assert widget.to_s - widget.from_s == pytest.approx(3600 * 1.03 / 1.6)
    assert float(widget.frame.x(900.0)) == pytest.approx(x, abs=1)
    page.tap(test_id="zoom-out")
    assert widget.is_whole
    for _ in range(9):
        page.tap(test_id="zoom-in")
    assert page.find(test_id="zoom-in").disabled
    assert widget.to_s - widget.from_s == pytest.approx(60)
    page.tap(test_id="whole-dive")
    assert (widget.from_s, widget.is_whole) == (0.0, True)


def test_keys_zoom_and_move(page: Driver) -> None:
    """Plus, minus, nought; Shift and an arrow move along; a plain arrow takes the view with it."""
    widget = chart(page)
    assert widget.key(43, "+", [])
    closer = widget.view
    assert not closer.is_whole
    assert widget.key(275, None, ["shift"])
    assert widget.from_s > closer.from_s
    assert widget.key(276, None, ["shift"])
    assert widget.from_s == pytest.approx(closer.from_s)
    widget.scrub_s = widget.to_s
    assert widget.key(275, None, [])
    assert widget.scrub_s == pytest.approx(widget.to_s)
    assert widget.to_s > closer.to_s
    assert widget.key(45, "-", [])
    assert widget.key(48, "0", [])
    assert widget.is_whole
    assert not widget.key(97, "a", [])


def test_wheel_zooms_about_the_pointer(page: Driver) -> None:
    """Up is closer, down wider; sideways moves along."""
    widget = chart(page)
    x, y = over_chart(page, 1200.0)
    roll(page, "scrolldown", x, y)
    assert widget.to_s - widget.from_s == pytest.approx(3600 * 1.03 / 1.25)
    assert over_chart(page, 1200.0)[0] == pytest.approx(x, abs=1)
    before = widget.from_s
    roll(page, "scrollleft", x, y)
    assert widget.from_s > before
    roll(page, "scrollup", x, y)
    assert widget.is_whole
    assert page.find(test_id="page").scroll_y == 1


def test_wheel_that_reads_on_is_not_caught(page: Driver) -> None:
    """At the whole dive a notch down scrolls the page; the roll that began so goes on so, up as well."""
    widget, scrolled = chart(page), page.find(test_id="page")
    x, y = over_chart(page, 1200.0)
    roll(page, "scrollup", x, y)
    page.wait(0.2)
    assert scrolled.scroll_y < 1
    roll(page, "scrolldown", x, y)
    assert widget.is_whole
    page.wait(1.0)
    roll(page, "scrolldown", *over_chart(page, 1200.0))
    assert not widget.is_whole


# What is shown


def test_chips_choose_what_is_shown(page: Driver) -> None:
    """The chart grows by what is chosen and shrinks again; the section keeps its height."""
    widget = chart(page)
    height, section_height = widget.height, widget.frame.height
    heights = []
    for name in ALL:
        choose(page, name)
        heights.append(widget.height)
    assert heights == sorted(heights)
    assert heights[0] > height
    assert widget.frame.height == section_height
    choose(page, *ALL)
    assert widget.height == height


@pytest.mark.law
def test_map_has_the_colour_of_the_greatest_load_in_every_column(page: Driver) -> None:
    """Read back from the window, whole and zoomed: the shade of each row and column, hatching apart."""
    from logbook_app.screens.theme import DAY
    from logbook_app.screens.widgets.load_map import places, shades

    choose(page, "load")
    widget = chart(page)
    page.bring_into_view(widget)
    for view_s in ((0.0, 3708.0), (600.0, 1500.0)):
        widget.show_span(*view_s)
        page.wait(0.6)
        frame, band = widget.frame, widget._bands.map
        loads = greatest_by_column(
            widget.section.series.time_s,
            widget.section.series.loads,
            frame.from_s,
            frame.to_s,
            int(frame.width),
        )
        for compartment in (0, 7, 15):
            row = band.top - (compartment + 0.5) * band.height / 16
            for share in (0.1, 0.35, 0.8):
                column = int(share * frame.width)
                x, y = widget.to_window(frame.left + column, widget._bottom + row)
                shown = np.array(page.colour_at(int(x), int(y))[:3])
                load = loads[compartment, column]
                if load <= 1:
                    assert shown == pytest.approx(
                        shades(DAY)[places(np.array([load]))[0]][:3] / 255, abs=0.02
                    )


def test_load_beyond_the_limit_is_hatched(page: Driver) -> None:
    """It does not rest on colour: along the row, strokes of the card's colour alternate with blue."""
    choose(page, "load")
    widget = chart(page)
    page.bring_into_view(widget)
    frame, band = widget.frame, widget._bands.map
    x, y = widget.to_window(float(frame.x(2000.0)), widget._bottom + band.top - 0.5 * band.height / 16)
    reds = [page.colour_at(int(x) + step, int(y))[0] for step in range(12)]
    assert max(reds) > 0.6
    assert min(reds) < 0.3


def test_touched_compartment_shows_its_curve(page: Driver) -> None:
    """A tap on its row, or the buttons; touched again the curve goes away, and with the map as well."""
    choose(page, "load")
    widget, shown = chart(page), card(page)
    page.bring_into_view(widget)
    height, band = widget.height, widget._bands.map

    def tap_row(number: int) -> None:
        place = widget._bottom + band.top - (number + 0.5) * band.height / 16
        finger = page.finger(*widget.to_window(widget.center_x, place))
        finger.down()
        page.frames(2)
        finger.up()
        page.frames(3)

    tap_row(4)
    assert shown.compartment == 4
    assert widget.height > height
    at = int(np.argmin(np.abs(widget.section.series.time_s - widget.scrub_s)))
    assert widget.readout[-1] == f"compartment 5: {widget.section.series.loads[at, 4] * 100:.0f} %"
    band = widget._bands.map
    page.bring_into_view(page.find(test_id="slower-compartment"))
    page.tap(test_id="slower-compartment")
    assert shown.compartment == 5
    page.tap(test_id="faster-compartment")
    page.bring_into_view(widget)
    tap_row(4)
    assert shown.compartment is None
    page.bring_into_view(page.find(test_id="slower-compartment"))
    page.tap(test_id="slower-compartment")
    assert shown.compartment == 0  # the one that ends with the most
    choose(page, "load")
    assert shown.compartment is None


def test_scrub_line_crosses_all_that_is_shown(page: Driver) -> None:
    """A finger on the map reads the instant as one on the water does."""
    choose(page, "load")
    widget = chart(page)
    page.bring_into_view(widget)
    frame, band = widget.frame, widget._bands.map
    finger = page.finger(*widget.to_window(float(frame.x(1500.0)), widget._bottom + band.bottom + 40))
    finger.down()
    page.frames(2)
    finger.move(*widget.to_window(float(frame.x(1800.0)), widget._bottom + band.bottom + 40))
    page.frames(2)
    finger.up()
    assert widget.scrub_s == pytest.approx(1800.0, abs=4)
    assert card(page).compartment is None  # it moved: no tap
    assert any(line.startswith("tank 1 air ") for line in widget.readout)


def test_photo_is_marked_and_answers_a_wet_finger(page: Driver) -> None:
    """Anywhere within 48 dp of its frame; the scrub line goes to it, and the card says what it is."""
    shown, widget, touched = card(page), chart(page), []
    shown.photos = [(900.0, "one", "old anchor"), (2700.0, "two", "")]
    shown.bind(on_photo=lambda _card, photo_id: touched.append(photo_id))
    page.frames(3)
    frame = widget.frame
    for dx, dy in ((0, 14), (20, 30), (-20, 2)):
        finger = page.finger(*widget.to_window(float(frame.x(900.0)) + dx, frame.bottom + dy))
        finger.down()
        page.frames(1)
        finger.up()
        page.wait(0.6)  # or it would be a double tap
    assert touched == ["one"] * 3
    assert widget.scrub_s == 900.0
    assert widget.readout[-1] == "old anchor"
    finger = page.finger(*widget.to_window(float(frame.x(900.0)), frame.bottom + 120))
    finger.down()
    page.frames(1)
    finger.up()
    assert touched == ["one"] * 3


# How it fits


@pytest.mark.parametrize("text_scale", [1.0, 2.0])
@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES.keys())
def test_words_around_the_chart_stay_on_it_and_apart(
    page: Driver, size: tuple[int, int], text_scale: float
) -> None:
    """With everything shown: no figure or name leaves the chart, none lies over another."""
    page.app.look.scale_text(text_scale)
    page.resize(*size)
    card(page).ids.chips.chosen = ALL
    card(page).compartment = 3
    page.frames(4)
    widget = chart(page)
    sides = widget._sides
    height = sides._case.height
    boxes = [(x, y, x + sides._case.width(words), y + height, words) for words, x, y in sides._words if words]
    assert len(boxes) > 20
    for left, bottom, right, top, words in boxes:
        assert left >= widget.x - 1, f"{words} begins left of the chart"
        assert right <= widget.right + 1, f"{words} ends right of the chart"
        assert bottom >= widget._bottom - 1, f"{words} hangs under the chart"
        assert top <= widget.top + height, f"{words} stands above the chart"
    for at, one in enumerate(boxes):
        for other in boxes[at + 1 :]:
            across, up = (
                min(one[2], other[2]) - max(one[0], other[0]),
                min(one[3], other[3]) - max(one[1], other[1]),
            )
            assert across < 1 or up < 4, f"{one[4]} lies over {other[4]}"
    assert page.misfits() == []
    page.app.look.scale_text(1.0)
