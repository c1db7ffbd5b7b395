"""The coefficients digit for digit, and the rules by which most of them can be confirmed."""

import dataclasses

import numpy as np
import pytest
from printed import rows

from logbook_app.physics.compartments import COMPARTMENT_COUNT, ZHL16C

TABLE = "buehlmann_2002_table_25"
ORDER = ["1b", *(str(number) for number in range(2, 17))]
ROWS = rows(TABLE)
PRODUCT_ROWS = [row for row in ROWS if row.id in ORDER]


@pytest.mark.published
@pytest.mark.parametrize("row", PRODUCT_ROWS)
def test_row_digit_for_digit(row):
    at = ORDER.index(row["id"])
    assert ZHL16C.n2_half_time_min[at] == row["n2_min"]
    assert ZHL16C.n2_a_bar[at] == row["n2_a_set_c"]
    assert ZHL16C.n2_b[at] == row["n2_b"]
    assert ZHL16C.he_half_time_min[at] == row["he_min"]
    assert ZHL16C.he_a_bar[at] == row["he_a"]
    assert ZHL16C.he_b[at] == row["he_b"]


@pytest.mark.published
def test_there_are_sixteen_and_no_compartment_1():
    assert len(PRODUCT_ROWS) == COMPARTMENT_COUNT == ZHL16C.n2_half_time_min.size
    assert 4.0 not in ZHL16C.n2_half_time_min


@pytest.mark.derived
@pytest.mark.parametrize("row", ROWS)
def test_nitrogen_b_follows_its_formula(row):
    # b = 1.005 - t^(-1/2); compartment 4 is the exception, compartment 5 sits on the edge of rounding.
    formula = 1.005 - row["n2_min"] ** -0.5
    if row["id"] == "4":
        assert row["n2_b"] == 0.7825
        assert formula == pytest.approx(0.7725, abs=5e-5)
    else:
        assert row["n2_b"] == pytest.approx(formula, abs=5.5e-5)


@pytest.mark.derived
@pytest.mark.parametrize("row", ROWS)
def test_unmodified_nitrogen_a_follows_its_formula(row):
    # a = 2 t^(-1/3) for set A; the product's set C never allows more.
    assert row["n2_a_set_a"] == pytest.approx(2.0 * row["n2_min"] ** (-1 / 3), abs=5.5e-5)
    assert row["n2_a_set_c"] <= row["n2_a_set_b"] <= row["n2_a_set_a"]


@pytest.mark.derived
@pytest.mark.parametrize("identity", ["1b", "2", "3", "4", "16"])
def test_set_c_equals_the_formula_where_it_was_not_modified(identity):
    at = ORDER.index(identity)
    assert ZHL16C.n2_a_bar[at] == pytest.approx(2.0 * ZHL16C.n2_half_time_min[at] ** (-1 / 3), abs=5.5e-5)


@pytest.mark.derived
@pytest.mark.parametrize(("half_time_min", "a_bar", "b"), [(8.0, 1.0, 0.65145), (54.3, 0.52816, 0.86929)])
def test_formulas_by_hand(half_time_min, a_bar, b):
    assert 2.0 * half_time_min ** (-1 / 3) == pytest.approx(a_bar, abs=1e-5)
    assert 1.005 - half_time_min**-0.5 == pytest.approx(b, abs=1e-5)


@pytest.mark.derived
@pytest.mark.parametrize("row", ROWS)
def test_helium_half_time_is_nitrogens_over_2_645(row):
    assert row["he_min"] == pytest.approx(row["n2_min"] / 2.645, abs=0.05)


@pytest.mark.derived
@pytest.mark.parametrize("row", [row for row in ROWS if row.id in {"1", *"2345678"}])
def test_helium_a_follows_its_formula_in_the_fast_compartments(row):
    assert row["he_a"] == pytest.approx(2.0 * (row["n2_min"] / 2.645) ** (-1 / 3), abs=2e-4)


@pytest.mark.law
def test_slower_compartments_tolerate_less():
    for column in (ZHL16C.n2_a_bar, ZHL16C.he_a_bar):
        assert np.all(np.diff(column) < 0)
    for column in (ZHL16C.n2_b, ZHL16C.he_b, ZHL16C.n2_half_time_min, ZHL16C.he_half_time_min):
        assert np.all(np.diff(column) > 0)


@pytest.mark.law
def test_nobody_can_change_the_table():
    for field in dataclasses.fields(ZHL16C):
        with pytest.raises(ValueError, match="read-only"):
            getattr(ZHL16C, field.name)[0] = 1.0
