"""A physics docstring is a contract: every argument with its unit, an example that runs, a source."""

from __future__ import annotations

import doctest
import inspect

import pytest

from tests.house.physics_contracts import (
    described_arguments,
    physics_modules,
    public_functions,
    says_unit,
    unit_of,
)

FUNCTIONS = dict(public_functions())
MODULES = {module.__name__.rpartition(".")[2]: module for module in physics_modules()}


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_argument_is_described_with_the_unit_its_name_promises(name):
    function = FUNCTIONS[name]
    described = described_arguments(inspect.getdoc(function) or "")
    for argument in inspect.signature(function).parameters:
        assert argument in described, f"{argument} is not described"
        unit = unit_of(argument)
        assert unit is None or says_unit(described[argument], unit), f"{argument} does not say [{unit}]"


@pytest.mark.parametrize("name", FUNCTIONS)
def test_what_is_returned_says_its_unit(name):
    unit = unit_of(name)
    docstring = inspect.getdoc(FUNCTIONS[name]) or ""
    summary = docstring.split("\n\n")[0]
    assert unit is None or says_unit(summary.replace("\n", " "), unit), f"the summary does not say [{unit}]"


@pytest.mark.parametrize("name", FUNCTIONS)
def test_an_example_stands_in_every_docstring(name):
    assert ">>> " in (inspect.getdoc(FUNCTIONS[name]) or "")


@pytest.mark.parametrize("name", MODULES)
def test_every_example_runs(name):
    results = doctest.testmod(MODULES[name])
    assert results.failed == 0


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_function_or_its_module_names_a_source(name):
    function = FUNCTIONS[name]
    module = inspect.getmodule(function)
    words = f"{inspect.getdoc(function)}\n{module.__doc__}"
    assert "Source" in words or "source" in words
