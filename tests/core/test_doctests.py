"""The examples in core's docstrings are run, so that they stay true."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import drillhall.core

MODULES = sorted(module.name for module in pkgutil.walk_packages(drillhall.core.__path__, "drillhall.core."))


@pytest.mark.parametrize("name", MODULES)
def test_examples_of_the_module_are_true(name: str) -> None:
    failed, _ = doctest.testmod(importlib.import_module(name))
    assert failed == 0


def test_examples_are_found() -> None:
    assert doctest.testmod(importlib.import_module("drillhall.core.memory")).attempted >= 5


def test_false_example_is_noticed() -> None:
    parsed = doctest.DocTestParser().get_doctest(">>> 1 + 1\n3\n", {}, "planted", None, 0)
    assert doctest.DocTestRunner(verbose=False).run(parsed, out=lambda _: None).failed == 1
