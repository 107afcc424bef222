"""Each rule of the house catches what is planted, and lets pass what looks like it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from sqlalchemy import Column, ForeignKey, Integer, MetaData, Table

from tests.house import pages, rooms, syntax
from tests.house.unused import unused

TOP = Path(__file__).resolve().parents[2]
LONG_BODY = "".join(f"    a = {number}\n" for number in range(syntax.FUNCTION_LINES + 1))
VIEW = "@learner.get('/a')\ndef a():\n" + "".join(f"    a = {number}\n" for number in range(syntax.VIEW_LINES + 1))

CAUGHT = [
    (syntax.reads_clock, "drillhall/core/pairs.py", "from datetime import datetime\nnow = datetime.now()"),
    (syntax.reads_clock, "drillhall/core/pairs.py", "import datetime\nclock = datetime.datetime.utcnow"),
    (syntax.reads_clock, "drillhall/practice/drilling.py", "from datetime import date as day\nday.today()"),
    (syntax.reads_clock, "drillhall/core/pairs.py", "import time"),
    (syntax.reads_clock, "drillhall/acts/remind.py", "from time import time"),
    (syntax.throws_dice, "drillhall/core/rounds.py", "import random\nrandom.shuffle([])"),
    (syntax.throws_dice, "drillhall/core/rounds.py", "from random import choice"),
    (syntax.throws_dice, "drillhall/core/rounds.py", "from random import Random\ndice = Random()"),
    (syntax.throws_dice, "drillhall/core/rounds.py", "import numpy as np\nnp.random.rand()"),
    (syntax.makes_secrets_in_core, "drillhall/core/rounds.py", "import secrets"),
    (syntax.makes_secrets_in_core, "drillhall/core/rounds.py", "from uuid import uuid4"),
    (syntax.makes_secrets_in_core, "drillhall/core/rounds.py", "import uuid\nuuid.uuid4()"),
    (syntax.makes_secrets_in_core, "drillhall/core/rounds.py", "spread = hash('a') % 5"),
    (syntax.touches_files_in_core, "drillhall/core/terms.py", "open('a')"),
    (syntax.touches_files_in_core, "drillhall/core/terms.py", "from pathlib import Path"),
    (syntax.touches_files_in_core, "drillhall/core/terms.py", "import os.path"),
    (syntax.speaks_in_core, "drillhall/core/terms.py", "print('a')"),
    (syntax.speaks_in_core, "drillhall/core/terms.py", "import logging"),
    (syntax.changes_answers, "drillhall/practice/answering.py", "db.execute(update(AnswerRow).values(said='1'))"),
    (syntax.changes_answers, "drillhall/acts/correct_label.py", "sa.delete(AnswerRow.__table__)"),
    (syntax.takes_private_names, "drillhall/web/app.py", "from drillhall.core.pairs import _secret"),
    (syntax.takes_private_names, "drillhall/web/app.py", "from drillhall.core import pairs\npairs._secret()"),
    (syntax.keeps_by_itself, "drillhall/practice/drilling.py", "db.commit()"),
    (syntax.keeps_by_itself, "drillhall/web/learner.py", "with db.begin():\n    pass"),
    (syntax.catches_everything, "drillhall/practice/drilling.py", "try:\n    a\nexcept Exception:\n    b"),
    (syntax.catches_everything, "drillhall/web/learner.py", "try:\n    a\nexcept:\n    b"),
    (syntax.catches_everything, "drillhall/store/base.py", "try:\n    a\nexcept (ValueError, BaseException):\n    b"),
    (syntax.reads_environment, "drillhall/web/app.py", "import os\nos.environ['A']"),
    (syntax.reads_environment, "drillhall/cli/serve.py", "from os import getenv"),
    (syntax.names_nothing, "drillhall/people/utils.py", ""),
    (syntax.names_nothing, "drillhall/web/form_helpers.py", ""),
    (syntax.names_nothing, "drillhall/common/pairs.py", ""),
    (syntax.names_nothing, "drillhall/core/pairs.py", "class PairManager: ..."),
    (syntax.grows_too_long, "drillhall/core/pairs.py", "a = 1\n" * (syntax.MODULE_LINES + 1)),
    (syntax.grows_too_long, "tests/core/test_pairs.py", "a = 1\n" * (syntax.TEST_LINES + 1)),
    (syntax.grows_too_long, "drillhall/core/pairs.py", "def a():\n" + LONG_BODY),
    (syntax.grows_too_long, "drillhall/web/learner.py", VIEW),
    (syntax.redirects_unsaid, "drillhall/web/learner.py", "redirect('/')"),
    (syntax.redirects_unsaid, "drillhall/web/learner.py", "flask.redirect('/', code=302)"),
    (syntax.silences_without_reason, "drillhall/core/pairs.py", "a = 1  # no" + "qa"),
    (syntax.silences_without_reason, "drillhall/core/pairs.py", "a = 1  # no" + "qa: S101"),
    (syntax.silences_without_reason, "drillhall/core/pairs.py", "a = 1  # type: ig" + "nore[arg-type]"),
    (syntax.skips_tests, "tests/core/test_pairs.py", "@pytest.mark.skip\ndef test_a(): ..."),
    (syntax.skips_tests, "tests/core/test_pairs.py", "def test_a():\n    pytest.skip('later')"),
]
LET_PASS = [
    (syntax.changes_answers, "drillhall/practice/folding.py", "db.execute(delete(TallyRow).where(select(AnswerRow.id).exists()))"),
    (syntax.reads_clock, "drillhall/web/session.py", "from datetime import datetime\ndatetime.now()"),
    (syntax.reads_clock, "drillhall/core/pairs.py", "def due(needs):\n    return needs.today + needs.now"),
    (syntax.throws_dice, "drillhall/core/rounds.py", "from random import Random\ndef deal(dice: Random):\n    dice.shuffle([])"),
    (syntax.throws_dice, "drillhall/core/rounds.py", "from random import Random\ndice = Random(7)"),
    (syntax.makes_secrets_in_core, "drillhall/people/accounts.py", "import secrets"),
    (syntax.makes_secrets_in_core, "drillhall/core/values.py", "from uuid import UUID"),
    (syntax.touches_files_in_core, "drillhall/config/settings.py", "from pathlib import Path"),
    (syntax.speaks_in_core, "drillhall/cli/serve.py", "print('a')"),
    (syntax.takes_private_names, "drillhall/web/app.py", "class A:\n    def a(self):\n        return self._a"),
    (syntax.takes_private_names, "drillhall/web/app.py", "from a import __version__"),
    (syntax.keeps_by_itself, "drillhall/store/session.py", "db.begin()"),
    (syntax.catches_everything, "drillhall/web/app.py", "try:\n    a\nexcept Exception:\n    b"),
    (syntax.catches_everything, "drillhall/core/pairs.py", "try:\n    a\nexcept ValueError:\n    b"),
    (syntax.catches_everything, "drillhall/pictures/storage.py", "try:\n    a\nexcept BaseException:\n    b\n    raise"),
    (syntax.reads_environment, "drillhall/config/settings.py", "import os\nos.environ['A']"),
    (syntax.names_nothing, "drillhall/catalogues/reading.py", "class Information: ..."),
    (syntax.names_nothing, "tests/checks/test_common_practice.py", "a = 1"),
    (syntax.grows_too_long, "drillhall/core/pairs.py", f'def a():\n    """{chr(10) * 60}"""\n    return 1'),
    (syntax.redirects_unsaid, "drillhall/web/learner.py", "redirect('/', code=303)"),
    (syntax.silences_without_reason, "drillhall/core/pairs.py", "a = 1  # no" + "qa: RUF012 - the library reads it"),
    (syntax.silences_without_reason, "drillhall/core/pairs.py", "a = 1  # type: ig" + "nore[misc]  # the stub is wrong"),
    (syntax.silences_without_reason, "tests/core/test_pairs.py", "a('7')  # type: ig" + "nore[arg-type]"),
    (syntax.skips_tests, "tests/core/test_pairs.py", "with pytest.raises(ValueError): ..."),
]
CAUGHT_IN_PAGES = [
    (pages.has_inline_parts, '<p style="color: red">'),
    (pages.has_inline_parts, "<style>p { }</style>"),
    (pages.has_inline_parts, "<script>alert(1)</script>"),
    (pages.has_inline_parts, '<button type="button"\n  onclick="a()">'),
    (pages.has_inline_parts, '<a href="javascript:a()">'),
    (pages.asks_for_the_kind, '{% if showing.kind == "form" %}'),
    (pages.asks_for_the_kind, '{%- elif ask.kind_key != "form" %}'),
    (pages.escapes_nothing, "{{ note | safe }}"),
    (pages.escapes_nothing, "{% autoescape false %}"),
    (pages.outgrows_template, "<p>\n" * (pages.TEMPLATE_LINES + 1)),
    (pages.outgrows_sheet, "p { }\n" * (pages.SHEET_LINES + 1)),
    (pages.invents_values, "p { color: #abc; }"),
    (pages.invents_values, "p {\n  color: rgb(0 0 0);\n}"),
    (pages.invents_values, "p { color: Black; }"),
    (pages.invents_values, "p { margin: 0 .5rem; }"),
    (pages.invents_values, "p { margin: calc(-2px + 1em); }"),
]
LET_PASS_IN_PAGES = [
    (pages.has_inline_parts, '{# style= and onclick= are not used #}<script type="module" src="/a.js"></script>'),
    (pages.has_inline_parts, '<p data-style="a" class="once">confusion = 1</p>'),
    (pages.asks_for_the_kind, '{% include "learner/kinds/" + showing.kind + ".html" %}'),
    (pages.escapes_nothing, "{{ note }} is safe"),
    (pages.outgrows_template, "<p>\n" * pages.TEMPLATE_LINES),
    (pages.invents_values, "@media (min-width: 48rem) {\n  p { margin: 0; width: 100%; color: var(--ink-2); }\n}"),
    (pages.invents_values, "@page { margin: 12mm; }"),
    (pages.invents_values, "/* 3px of #abc */ p { content: '3px'; border: 0 solid currentColor; grid: 1fr / 2fr; }"),
]


@pytest.mark.parametrize(("rule", "path", "text"), CAUGHT)
def test_a_planted_breach_is_caught(rule: syntax.Rule, path: str, text: str) -> None:
    assert list(rule(syntax.Module(path, text)))


@pytest.mark.parametrize(("rule", "path", "text"), LET_PASS)
def test_what_only_looks_like_a_breach_passes(rule: syntax.Rule, path: str, text: str) -> None:
    assert list(rule(syntax.Module(path, text))) == []


@pytest.mark.parametrize(("rule", "text"), CAUGHT_IN_PAGES)
def test_a_breach_planted_in_a_page_is_caught(rule: pages.Rule, text: str) -> None:
    assert list(rule(text))


@pytest.mark.parametrize(("rule", "text"), LET_PASS_IN_PAGES)
def test_what_only_looks_like_a_breach_in_a_page_passes(rule: pages.Rule, text: str) -> None:
    assert list(rule(text)) == []


def test_every_rule_has_a_planted_breach() -> None:
    planted = {rule for rule, *_ in CAUGHT} | {rule for rule, _ in CAUGHT_IN_PAGES}
    assert set(syntax.RULES) | set(pages.TEMPLATE_RULES) | set(pages.SHEET_RULES) == planted


def test_a_breach_names_its_line(tmp_path: Path) -> None:
    (tmp_path / "drillhall" / "core").mkdir(parents=True)
    (tmp_path / "drillhall" / "core" / "pairs.py").write_text("a = 1\nprint(a)\n", encoding="utf-8")
    found = syntax.breaches(syntax.speaks_in_core, syntax.read_modules(tmp_path, "drillhall"))
    assert found == ["drillhall/core/pairs.py:2: calls print()"]


def test_a_stranger_at_the_top_is_caught(tmp_path: Path) -> None:
    for name in rooms.TOP - {"static"}:
        (tmp_path / name).mkdir()
    for name in ("uv.lock", ".hidden"):
        (tmp_path / name).touch()
    assert rooms.strangers_at_the_top(tmp_path) == {"uv.lock", "static"}


def test_a_folder_that_is_no_package_is_caught(tmp_path: Path) -> None:
    for name in ("whole/__init__.py", "whole/a.py", "broken/a.py", "broken/deep/__init__.py"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).touch()
    assert rooms.folders_without_init(tmp_path) == ["broken"]


def test_a_module_that_its_registry_forgot_is_caught(tmp_path: Path) -> None:
    for name in ("__init__", "form", "trait"):
        (tmp_path / f"{name}.py").touch()
    assert rooms.unlisted(tmp_path, ["form"]) == {"trait"}
    assert rooms.unlisted(tmp_path, ["form", "trait", "ghost"]) == {"ghost"}


def test_a_key_without_index_or_delete_is_caught() -> None:
    metadata = MetaData()
    Table("a", metadata, Column("id", Integer, primary_key=True))
    Table(
        "b",
        metadata,
        Column("whole", ForeignKey("a.id", ondelete="CASCADE"), primary_key=True),
        Column("second", ForeignKey("a.id", ondelete="RESTRICT"), primary_key=True),
        Column("silent", ForeignKey("a.id"), index=True),
    )
    assert rooms.keys_without_index(metadata) == ["b(second)"]
    assert rooms.keys_without_on_delete(metadata) == ["b(silent)"]


PLANTED_IMPORTS = {
    "Imports point down: edges, acts, doors, store, core, errors": ("people/planted.py", "import drillhall.practice"),
    "Configuration is read at the edges alone": ("acts/planted.py", "import drillhall.config"),
    "The demo painter knows no database": ("demo/planted.py", "import sqlalchemy"),
    "Core knows neither web, nor database, nor pictures' bytes, nor logging": ("core/planted.py", "import logging"),
    "One door to the scheduler": ("practice/planted.py", "import fsrs"),
    "Flask stays in web, click in cli": ("pictures/planted.py", "import flask"),
    "Edges reach the store through work() alone": ("web/planted.py", "import drillhall.store.models"),
}


def test_a_planted_import_breaks_its_contract(tmp_path: Path) -> None:
    shutil.copytree(TOP / "drillhall", tmp_path / "drillhall", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(TOP / "pyproject.toml", tmp_path)
    for path, line in PLANTED_IMPORTS.values():
        (tmp_path / "drillhall" / path).write_text(f'"""Planted."""\n\n{line}\n', encoding="utf-8")
    assert rooms.broken_contracts(tmp_path) == set(PLANTED_IMPORTS)


def test_what_nothing_uses_is_named_and_what_may_be_called_is_not() -> None:
    here = """
def asked(): return _kept()
def _kept(): ...
def shown(): ...
def looked_up(): ...
def told_elsewhere(): ...
@blueprint.get("/a")
def page(): ...
class Bare:
    def process_bind_param(self): ...
    @property
    def lost(self): ...
    def found(self): ...
"""
    there = "from here import told_elsewhere as told, asked\nasked().found\ngetattr(here, 'looked_up')\nBare()"
    modules = [syntax.Module("drillhall/here.py", here), syntax.Module("drillhall/there.py", there)]
    assert unused(modules, ["{{ shown() }}"]) == ["drillhall/here.py:12: nothing uses lost"]
    listed = syntax.Module("drillhall/__init__.py", "from here import shown\n__all__ = ['shown']")
    assert unused([*modules, listed], []) == ["drillhall/here.py:4: nothing uses shown", "drillhall/here.py:12: nothing uses lost"]
