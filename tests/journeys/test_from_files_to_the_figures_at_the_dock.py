"""From recorder files to the figures at the dock, held against a calculation that shares nothing with ours.

The files are read with the standard library's XML parser, the chain of dives is integrated with
mpmath at 30 digits by Schreiner's equation in its textbook form, and limits are found by walking
forward in time or by halving. Sources: the model of A. A. Buehlmann (coefficients in
tests/sources/buehlmann_2002_table_25.toml), the equation of H. R. Schreiner, the flying guideline of
2002 (tests/sources/dan_2004_flying_guideline.toml), ISO 2533 for the cabin.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner
from mpmath import exp, log, mp, mpf

from logbook_app.commands.command_line import Tools, leadline
from logbook_app.logbook import Logbook

ROOT = Path(__file__).parents[2]
FILES = [ROOT / "demo_data" / name for name in ("season_2026.uddf", "last_weekend.uddf")]
AT = datetime.fromisoformat("2026-11-14T14:07:00+01:00")
WATER_VAPOUR = mpf("0.0627")
CABIN_BAR = mpf("0.752624")  # ISO 2533 at 8,000 ft, 2,438.4 m, worked with its formula to six figures

pytestmark = pytest.mark.derived


@dataclass
class PlainDive:
    began: datetime
    surface: mpf
    samples: list[tuple[mpf, mpf, mpf, mpf]]  # minutes, ambient bar, nitrogen, helium from here on

    @property
    def ended(self) -> datetime:
        return self.began + timedelta(minutes=float(self.samples[-1][0]))


@pytest.fixture(scope="module")
def leadline_json(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., object]:
    path = tmp_path_factory.mktemp("journey") / "a.leadline"
    tools = Tools(open_logbook=Logbook.open, open_app=lambda _path: None)

    def ask(*arguments: str) -> object:
        result = CliRunner().invoke(leadline, ["--logbook", str(path), *arguments, "--json"], obj=tools)
        assert result.exit_code == 0, result.output
        return json.loads(result.stdout)

    report = ask("import", *map(str, FILES))
    assert report["problems"] == []
    assert len(report["added"]) == 58
    return ask


@pytest.fixture(scope="module")
def chain() -> list[PlainDive]:
    mp.dps = 30
    return sorted((dive for path in FILES for dive in _plainly_read(path)), key=lambda dive: dive.began)


@pytest.fixture(scope="module")
def surfaced(chain: list[PlainDive]) -> list[tuple[mpf, mpf]]:
    return _tensions_after(chain)


@pytest.fixture(scope="module")
def tensions_now(chain: list[PlainDive], surfaced: list[tuple[mpf, mpf]]) -> list[tuple[mpf, mpf]]:
    return _after(surfaced, chain[-1].surface, _minutes(AT - chain[-1].ended))


def test_tensions_agree_within_a_millionth_of_a_bar(leadline_json, tensions_now):
    compartments = leadline_json("surface", "--at", AT.isoformat())["compartments"]
    for ours, (n2, he) in zip(compartments, tensions_now, strict=True):
        assert ours["n2_bar"] == pytest.approx(float(n2), abs=1e-6)
        assert ours["he_bar"] == pytest.approx(float(he), abs=1e-6)


def test_no_stop_times_agree_within_a_tenth_of_a_minute(leadline_json, chain, tensions_now):
    surface = chain[-1].surface
    for row in leadline_json("limits", "--at", AT.isoformat(), "--depths", "12,18,24,30,40"):
        ambient = surface + mpf(row["depth_m"]) / 10
        expected = _first_minute_over(tensions_now, ambient, surface)
        assert row["no_stop_min"] == pytest.approx(expected, abs=0.1), row["depth_m"]


def test_time_to_fly_agrees_within_a_minute(leadline_json, chain, surfaced):
    fly = leadline_json("surface", "--at", AT.isoformat())["fly"]
    guideline = chain[-1].ended + timedelta(hours=18)  # several dives, no required stops
    assert abs(datetime.fromisoformat(fly["guideline_at"]) - guideline) < timedelta(minutes=1)
    minutes = _last_minute_over_in_cabin(surfaced, chain[-1].surface)
    model = chain[-1].ended + timedelta(minutes=minutes)
    assert abs(datetime.fromisoformat(fly["model_at"]) - model) < timedelta(minutes=1)
    assert fly["governed_by"] == "guideline"


def test_clear_time_agrees_within_a_minute(leadline_json, chain, surfaced):
    surface = chain[-1].surface
    rest = (surface - WATER_VAPOUR) * mpf("0.79")
    waits = []
    for (n2, he), (half_time, _, a, b) in zip(surfaced, COMPARTMENTS, strict=True):
        assert he < 1e-12, "the trimix dive of spring is long gone"
        threshold = mpf("0.05") * (_limit(a, b, surface, mpf("0.85")) - rest)
        waits.append(log((n2 - rest) / threshold) * half_time / log(2) if n2 - rest > threshold else mpf(0))
    expected = chain[-1].ended + timedelta(minutes=float(max(waits)))
    clear = datetime.fromisoformat(leadline_json("surface", "--at", AT.isoformat())["clear_at"])
    assert abs(clear - expected) < timedelta(minutes=1)


# The plain calculation


def _coefficients() -> list[tuple[mpf, mpf, mpf, mpf]]:
    """Nitrogen and helium half-time, a and b of nitrogen, for each compartment."""
    table = tomllib.loads((ROOT / "tests/sources/buehlmann_2002_table_25.toml").read_text(encoding="utf-8"))
    rows = [row for row in table["rows"] if row["id"] != "1"]
    assert len(rows) == 16
    columns = ("n2_min", "he_min", "n2_a_set_c", "n2_b")
    return [tuple(mpf(str(row[column])) for column in columns) for row in rows]


COMPARTMENTS = _coefficients()


def _plainly_read(path: Path) -> list[PlainDive]:
    root = ElementTree.parse(path).getroot()  # noqa: S314 (our own file)
    name = "{http://www.streit.cc/uddf/3.2/}"
    helium = {mix.get("id"): mpf(mix.findtext(f"{name}he") or 0) for mix in root.iter(f"{name}mix")}
    nitrogen = {
        mix.get("id"): 1 - mpf(mix.findtext(f"{name}o2")) - helium[mix.get("id")]
        for mix in root.iter(f"{name}mix")
    }
    altitude = {
        site.get("id"): mpf(site.findtext(f"{name}geography/{name}altitude") or 0)
        for site in root.iter(f"{name}site")
    }
    dives = []
    for dive in root.iter(f"{name}dive"):
        before = dive.find(f"{name}informationbeforedive")
        recorded = before.findtext(f"{name}surfacepressure")
        height = before.findtext(f"{name}altitude")
        if height is None:
            height = next((altitude[k.get("ref")] for k in before if k.get("ref") in altitude), mpf(0))
        surface = mpf(recorded) / 100000 if recorded else _iso_2533_bar(mpf(height))
        samples, gas = [], None
        for point in dive.iter(f"{name}waypoint"):
            switch = point.find(f"{name}switchmix")
            gas = switch.get("ref") if switch is not None else gas
            minutes = mpf(point.findtext(f"{name}divetime")) / 60
            ambient = surface + mpf(point.findtext(f"{name}depth")) / 10
            samples.append((minutes, ambient, nitrogen[gas], helium[gas]))
        dives.append(PlainDive(datetime.fromisoformat(before.findtext(f"{name}datetime")), surface, samples))
    return dives


def _iso_2533_bar(height: mpf) -> mpf:
    return mpf("1.01325") * (1 - mpf("0.0065") * height / mpf("288.15")) ** (
        mpf("9.80665") / (mpf("287.05287") * mpf("0.0065"))
    )


def _tensions_after(chain: list[PlainDive]) -> list[tuple[mpf, mpf]]:
    surface = chain[0].surface
    state = [((surface - WATER_VAPOUR) * mpf("0.79"), mpf(0))] * 16
    ended = chain[0].began
    for dive in chain:
        gap = dive.began - ended
        if gap > timedelta(days=20):
            state = [((dive.surface - WATER_VAPOUR) * mpf("0.79"), mpf(0))] * 16
        else:
            state = _after(state, surface, _minutes(gap))
        surface, ended = dive.surface, dive.ended
        for (t0, p0, n2, he), (t1, p1, _, _) in zip(dive.samples, dive.samples[1:], strict=False):
            state = [
                (_schreiner(n, p0, p1, n2, t1 - t0, t_n2), _schreiner(h, p0, p1, he, t1 - t0, t_he))
                for (n, h), (t_n2, t_he, _, _) in zip(state, COMPARTMENTS, strict=True)
            ]
    return state


_EXP: dict[tuple[mpf, mpf], mpf] = {}


def _schreiner(start: mpf, p0: mpf, p1: mpf, fraction: mpf, minutes: mpf, half_time: mpf) -> mpf:
    """Textbook form: p = q0 + R (t - 1/k) - (q0 - p0 - R/k) exp(-k t)."""
    k = log(2) / half_time
    rate = fraction * (p1 - p0) / minutes
    inspired = (p0 - WATER_VAPOUR) * fraction
    decay = _EXP.setdefault((minutes, half_time), exp(-k * minutes))
    return inspired + rate * (minutes - 1 / k) - (inspired - start - rate / k) * decay


def _after(state: list[tuple[mpf, mpf]], surface: mpf, minutes: mpf) -> list[tuple[mpf, mpf]]:
    rest = (surface - WATER_VAPOUR) * mpf("0.79")
    return [
        (rest + (n - rest) * mpf(2) ** (-minutes / t_n2), h * mpf(2) ** (-minutes / t_he))
        for (n, h), (t_n2, t_he, _, _) in zip(state, COMPARTMENTS, strict=True)
    ]


def _limit(a: mpf, b: mpf, ambient: mpf, factor: mpf) -> mpf:
    return ambient + factor * (a + ambient / b - ambient)


def _first_minute_over(state: list[tuple[mpf, mpf]], ambient: mpf, surface: mpf) -> float:
    """Walk in steps of 0.01 min until some compartment is over its surfacing limit at 85 %."""
    inspired = (ambient - WATER_VAPOUR) * mpf("0.79")
    values = [float(n) for n, _ in state]
    limits = [float(_limit(a, b, surface, mpf("0.85"))) for _, _, a, b in COMPARTMENTS]
    keep = [float(mpf(2) ** (mpf("-0.01") / half_time)) for half_time, _, _, _ in COMPARTMENTS]
    for step in range(24 * 60 * 100):
        if any(value > limit for value, limit in zip(values, limits, strict=True)):
            return step * 0.01
        values = [float(inspired) + (v - float(inspired)) * e for v, e in zip(values, keep, strict=True)]
    raise AssertionError("no limit within a day")


def _last_minute_over_in_cabin(state: list[tuple[mpf, mpf]], surface: mpf) -> float:
    """Walk back from a day in steps of 0.1 min to the last instant that the cabin is not tolerated."""
    limits = [_limit(a, b, CABIN_BAR, mpf("0.40")) for _, _, a, b in COMPARTMENTS]
    rest = (surface - WATER_VAPOUR) * mpf("0.79")
    for step in range(24 * 60 * 10, -1, -1):
        minutes = mpf(step) / 10
        for (n, _), (half_time, _, _, _), limit in zip(state, COMPARTMENTS, limits, strict=True):
            if rest + (n - rest) * mpf(2) ** (-minutes / half_time) > limit:
                return float(minutes)
    return 0.0


def _minutes(span: timedelta) -> mpf:
    return mpf(span.total_seconds()) / 60
