"""The physics speaks English; each of its sentences is known by its form and said again in any language."""

from __future__ import annotations

import ast
from collections.abc import Iterator

import pytest

from logbook_app.analysis.physics_sentences import FORMS, gas_title, said
from logbook_app.catalogues import use_language
from logbook_app.physics.breathing_gas import parse_gas
from logbook_app.physics.flying_after_diving import FlyingRule
from logbook_app.physics.gradient_factors import GradientFactors
from tests.language.catalogue import PACKAGE


@pytest.fixture
def german() -> Iterator[None]:
    use_language("de")
    yield
    use_language("en")


def _reasons() -> Iterator[str]:
    """Every reason that the tables have no answer, with 7 in place of each figure."""
    for path in sorted((PACKAGE / "physics").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "OutsideTables" and node.args:
                yield _text(node.args[0])


def _text(node: ast.expr) -> str:
    if isinstance(node, ast.Constant):
        return str(node.value)
    assert isinstance(node, ast.JoinedStr)
    return "".join(str(each.value) if isinstance(each, ast.Constant) else "7" for each in node.values)


@pytest.mark.usefixtures("german")
@pytest.mark.parametrize("reason", sorted(set(_reasons())))
def test_every_reason_of_the_tables_is_said_in_german(reason: str) -> None:
    assert said(reason) != reason


@pytest.mark.usefixtures("german")
@pytest.mark.parametrize("rule", FlyingRule)
def test_every_rule_for_flying_is_said_in_german(rule: FlyingRule) -> None:
    assert said(rule.value) != rule.value


@pytest.mark.usefixtures("german")
@pytest.mark.parametrize(("low", "high"), [(0.05, 0.85), (0.4, 1.2), (0.9, 0.85)])
def test_refused_factors_are_said_in_german(low: float, high: float) -> None:
    with pytest.raises(ValueError, match="factor") as refusal:
        GradientFactors(low, high)
    assert "Gradientenfaktor" in said(str(refusal.value))


@pytest.mark.usefixtures("german")
@pytest.mark.parametrize("text", ["sea", "140", "80/40"])
def test_a_refused_gas_is_said_in_german(text: str) -> None:
    with pytest.raises(ValueError, match=r".") as refusal:
        parse_gas(text)
    assert said(str(refusal.value)) != str(refusal.value)


@pytest.mark.usefixtures("german")
def test_gases_have_german_names() -> None:
    names = [gas_title(parse_gas(text)) for text in ("air", "oxygen", "32", "18/45")]
    assert names == ["Luft", "Sauerstoff", "Nitrox 32", "Trimix 18/45"]


def test_in_english_everything_stays_as_it_is() -> None:
    assert [said(form) for form in FORMS] == list(FORMS)
    assert said("No such sentence.") == "No such sentence."
