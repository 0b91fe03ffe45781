"""The examples in the docstrings of the command line give what they say."""

import doctest
import importlib
import pkgutil

import pytest

import stell.cli

MODULES = [m.name for m in pkgutil.iter_modules(stell.cli.__path__, "stell.cli.")]


@pytest.mark.parametrize("name", MODULES)
def test_examples(name: str) -> None:
    result = doctest.testmod(importlib.import_module(name))
    assert result.failed == 0, f"{result.failed} of {result.attempted} examples in {name}"


def test_there_are_examples() -> None:
    finder = doctest.DocTestFinder()
    found = [t for n in MODULES for t in finder.find(importlib.import_module(n)) if t.examples]
    assert len(found) >= 6
