"""The house holds: the import contracts, the linters, and the rules that an import graph cannot see."""

from __future__ import annotations

import importlib
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from drillhall.store import models
from drillhall.store.base import Row
from tests.house import pages, rooms, syntax
from tests.house.unused import unused

TOP = Path(__file__).resolve().parent.parent
MODULES = syntax.read_modules(TOP, "drillhall", "tests")
REGISTRIES = {
    "drillhall.core.kinds": "KINDS",
    "drillhall.practice.reports": "REPORTS",
    "drillhall.practice.exports": "LISTED",
}

assert models  # importing the models is what makes the tables known to Row.metadata


@pytest.mark.parametrize("rule", syntax.RULES, ids=lambda rule: rule.__name__)
def test_the_code_keeps_the_rule(rule: syntax.Rule) -> None:
    assert "\n".join(syntax.breaches(rule, MODULES)) == ""


@pytest.mark.parametrize("rule", pages.TEMPLATE_RULES, ids=lambda rule: rule.__name__)
def test_the_templates_keep_the_rule(rule: pages.Rule) -> None:
    assert "\n".join(_breaches(rule, "templates", "*.html")) == ""


@pytest.mark.parametrize("rule", pages.SHEET_RULES, ids=lambda rule: rule.__name__)
def test_the_style_sheets_keep_the_rule(rule: pages.Rule) -> None:
    found = _breaches(rule, "static/css", "*.css")
    tokens = "static/css/tokens.css:" if rule is pages.invents_values else "none"  # the one place to invent them
    assert "\n".join(breach for breach in found if not breach.startswith(tokens)) == ""


def _breaches(rule: pages.Rule, folder: str, pattern: str) -> Iterator[str]:
    files = sorted((TOP / folder).rglob(pattern))
    assert files, f"nothing to look at in {folder}"
    for file in files:
        yield from (f"{file.relative_to(TOP).as_posix()}:{line}: {what}" for line, what in rule(file.read_text(encoding="utf-8")))


def test_nothing_is_kept_that_nothing_uses() -> None:
    """A bench may try what the hall does not do; a check of a formula that nobody asks for holds nothing up."""
    program = [module for module in MODULES if module.is_in("drillhall/")]
    benches = [module.text for module in MODULES if module.is_in("tests/bench/")]
    templates = [file.read_text(encoding="utf-8") for file in (TOP / "templates").rglob("*.html")]
    assert unused(program, benches + templates) == []


def test_imports_point_down() -> None:
    assert rooms.broken_contracts(TOP) == set()


@pytest.mark.parametrize("check", ["ruff check", "ruff format --check", "mypy"])
def test_the_linters_find_nothing(check: str) -> None:
    told = subprocess.run([sys.executable, "-m", *check.split()], cwd=TOP, capture_output=True, text=True, check=False)
    assert told.returncode == 0, told.stdout + told.stderr


def test_only_what_belongs_there_lies_at_the_top() -> None:
    assert rooms.strangers_at_the_top(TOP) == set()


def test_every_folder_with_python_in_it_is_a_package() -> None:
    assert rooms.folders_without_init(TOP / "drillhall") == []


@pytest.mark.parametrize("room", [room for room in REGISTRIES if (TOP / room.replace(".", "/")).is_dir()])
def test_every_registry_lists_its_whole_folder(room: str) -> None:
    entries = getattr(importlib.import_module(room), REGISTRIES[room])
    names = [entry.__name__ if hasattr(entry, "__name__") else type(entry).__module__ for entry in entries]
    assert rooms.unlisted(TOP / room.replace(".", "/"), [name.rsplit(".", 1)[-1] for name in names]) == set()


def test_every_kind_of_question_has_its_template() -> None:
    kinds = importlib.import_module("drillhall.core.kinds").KINDS
    shown = {file.stem for file in (TOP / "templates/learner/kinds").glob("*.html")}
    assert {kind.KEY for kind in kinds} - shown == set()


def test_every_foreign_key_has_an_index() -> None:
    assert rooms.keys_without_index(Row.metadata) == []


def test_every_foreign_key_says_what_happens_on_delete() -> None:
    assert rooms.keys_without_on_delete(Row.metadata) == []


def test_every_table_class_ends_in_row() -> None:
    assert [mapper.class_.__name__ for mapper in Row.registry.mappers if not mapper.class_.__name__.endswith("Row")] == []
