"""Breathing gases: what may be breathed, what it is called, how it is read."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.physics.breathing_gas import AIR, OXYGEN, BreathingGas, parse_gas


@pytest.mark.law
@pytest.mark.parametrize(
    ("text", "oxygen", "helium"),
    [
        ("air", 0.21, 0.0),
        (" Air ", 0.21, 0.0),
        ("oxygen", 1.0, 0.0),
        ("32", 0.32, 0.0),
        ("32%", 0.32, 0.0),
        ("32 %", 0.32, 0.0),
        ("32.5", 0.325, 0.0),
        ("32,5", 0.325, 0.0),
        ("0.32", 0.32, 0.0),
        ("100", 1.0, 0.0),
        ("1.0", 1.0, 0.0),
        ("0.5", 0.5, 0.0),
        ("0.18/0.45", 0.18, 0.45),
        ("21/1", 0.21, 0.01),
        ("nitrox 32", 0.32, 0.0),
        ("Nitrox36", 0.36, 0.0),
        ("18/45", 0.18, 0.45),
        ("trimix 18/45", 0.18, 0.45),
        ("21/0", 0.21, 0.0),
        ("heliox 20", 0.20, 0.80),
        ("heliox 20/80", 0.20, 0.80),
    ],
)
def test_reads_what_divers_write(text, oxygen, helium):
    gas = parse_gas(text)
    assert (gas.oxygen, gas.helium) == pytest.approx((oxygen, helium), abs=1e-12)


@pytest.mark.law
@pytest.mark.parametrize(
    "text", ["", "water", "-32", "32/", "120", "60/60", "0", "0/50", "nan", "1e3", "18/45/3"]
)
def test_refuses_what_is_no_gas_in_a_sentence(text):
    with pytest.raises(ValueError, match=r"^[^\n]*[.;] ?.*\.$"):
        parse_gas(text)


@pytest.mark.law
@pytest.mark.parametrize(
    ("oxygen", "helium", "name"),
    [
        (0.21, 0.0, "air"),
        (0.209, 0.0, "air"),
        (0.32, 0.0, "nitrox 32"),
        (0.325, 0.0, "nitrox 32.5"),
        (0.17, 0.0, "nitrox 17"),
        (1.0, 0.0, "oxygen"),
        (0.18, 0.45, "trimix 18/45"),
        (0.21, 0.35, "trimix 21/35"),
        (0.2, 0.8, "heliox 20"),
    ],
)
def test_names_a_gas(oxygen, helium, name):
    assert BreathingGas(oxygen, helium).name == name


@pytest.mark.law
@pytest.mark.parametrize(
    ("oxygen", "helium"),
    [(0.0, 0.0), (-0.1, 0.0), (1.1, 0.0), (32.0, 0.0), (0.5, 0.6), (0.2, -0.1), (float("nan"), 0)],
)
def test_refuses_shares_that_cannot_be(oxygen, helium):
    with pytest.raises(ValueError, match=r"\.$"):
        BreathingGas(oxygen, helium)


@pytest.mark.law
@given(st.integers(1, 100).flatmap(lambda o: st.tuples(st.just(o), st.integers(0, min(99, 100 - o)))))
def test_a_name_is_read_back_as_the_same_gas(shares):
    gas = BreathingGas(shares[0] / 100, shares[1] / 100)
    again = parse_gas(gas.name)
    assert (again.oxygen, again.helium) == pytest.approx((gas.oxygen, gas.helium), abs=1e-12)
    assert gas.oxygen + gas.helium + gas.nitrogen == pytest.approx(1.0, abs=1e-15)


@pytest.mark.law
def test_air_and_oxygen():
    assert AIR.nitrogen == pytest.approx(0.79, abs=1e-15)
    assert OXYGEN.nitrogen == 0.0
