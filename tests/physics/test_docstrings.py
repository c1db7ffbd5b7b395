"""The worked example of every physics docstring runs, and no public function is without one."""

import doctest
import importlib
import inspect
import pkgutil

import pytest

import logbook_app.physics

MODULES = sorted(module.name for module in pkgutil.iter_modules(logbook_app.physics.__path__))


def _public_functions():
    for name in MODULES:
        module = importlib.import_module(f"logbook_app.physics.{name}")
        for word, function in inspect.getmembers(module, inspect.isfunction):
            if function.__module__ == module.__name__ and not word.startswith("_"):
                yield pytest.param(function, id=f"{name}.{word}")


@pytest.mark.law
@pytest.mark.parametrize("name", MODULES)
def test_examples_run(name):
    outcome = doctest.testmod(importlib.import_module(f"logbook_app.physics.{name}"))
    assert outcome.failed == 0


@pytest.mark.law
@pytest.mark.parametrize("function", list(_public_functions()))
def test_every_argument_is_described_with_its_unit(function):
    words = inspect.getdoc(function) or ""
    assert words, "a public function has no docstring"
    if function.__module__ == "logbook_app.physics.units":
        return  # one-line conversions; the unit is in the name
    for argument in inspect.signature(function).parameters:
        assert f"\n{argument} " in words or f", {argument} " in words, f"{argument} is not described"
    assert ">>>" in words, "there is no worked example"
