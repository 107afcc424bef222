"""What nothing calls: functions, classes and methods of the program that no module of it names, and no template."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from tests.house.syntax import Module

CALLED_BY_OTHERS: Final[Mapping[str, str]] = {
    "handleError": "logging calls it",
    "list_commands": "click calls it",
    "log_exception": "Flask calls it",
    "process_bind_param": "SQLAlchemy calls it",
    "process_result_value": "SQLAlchemy calls it",
    "to_python": "Werkzeug calls it",
}
"""Methods that a library calls by name, each with the library."""

PLAIN: Final = frozenset({"property", "staticmethod", "classmethod", "cache", "lru_cache", "contextmanager", "dataclass"})
"""Decorators that hand a function to nobody; with any other one, something else may call it."""

RELEASED: Final = "drillhall/store/migrations/"

_NO_USE: Final = re.compile(
    r'"""(?:[^\\]|\\.)*?"""'  # what stands in a docstring
    r"|#[^\n]*"
    r"|^\s*(?:from\s+\S+\s+)?import\s+(?:\([^)]*\)|[^\n]*)"
    r"|^__all__ = \[[^\]]*\]"
    r"|\b(?:def|class)\s+\w+",
    re.MULTILINE | re.DOTALL,
)
_ALIAS: Final = re.compile(r"\b(\w+) as \w+")
_DEFINED: Final = re.compile(r"^ *(?:def|class) (?!__)(\w+)", re.MULTILINE)

Defined = ast.FunctionDef | ast.ClassDef


def unused(modules: Iterable[Module], texts: Iterable[str]) -> list[str]:
    """Name what is defined in the modules and used in none of them, nor in the texts: templates, and what else names parts of the program.

    A word that stands anywhere in the code is a use, but where it is defined, imported under its own name, listed, or only written of.
    """
    program = [module for module in modules if not module.is_in(RELEASED)]
    used = {word for text in (*texts, *(_NO_USE.sub(" ", module.text) for module in program)) for word in re.findall(r"\w+", text)}
    used.update(word for module in program for word in _ALIAS.findall(module.text))
    suspect = [module for module in program if not used.issuperset(_DEFINED.findall(module.text))]
    return [f"{one.path}:{it.lineno}: nothing uses {it.name}" for one in suspect for it in _defined(one.tree) if it.name not in used]


def _defined(tree: ast.Module) -> Iterator[Defined]:
    """Yield what a module defines at its top and in its classes, but for what is handed on by a decorator."""
    for outer in tree.body:
        for one in (outer, *(outer.body if isinstance(outer, ast.ClassDef) else ())):
            if isinstance(one, Defined) and not _is_called_by_others(one):
                yield one


def _is_called_by_others(one: Defined) -> bool:
    is_known = one.name.startswith("__") or one.name in CALLED_BY_OTHERS
    return is_known or not all(_last_word(decorator) in PLAIN for decorator in one.decorator_list)


def _last_word(decorator: ast.expr) -> str:
    called = decorator.func if isinstance(decorator, ast.Call) else decorator
    return called.attr if isinstance(called, ast.Attribute) else called.id if isinstance(called, ast.Name) else ""
