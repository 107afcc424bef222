"""Finds what is said: calls of `say` and `say_n` in Python, `_` and `_n` in templates, `say` and `sayN` in scripts."""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass

from jinja2 import Environment, nodes

from tests.words.rooms import TOP, room_of, speaking_files

_SCRIPT = re.compile(r'\b(say|sayN)\(\s*("(?:[^"\\\n]|\\.)*")(?:\s*,\s*("(?:[^"\\\n]|\\.)*"))?')


@dataclass(frozen=True)
class Spoken:
    """One sentence as it stands in the code; `many` is empty where it has no plural."""

    msgid: str
    many: str
    ctx: str
    path: str
    line: int

    @property
    def key(self) -> tuple[str, str]:
        """What it is looked up by."""
        return self.ctx, self.msgid


class NotWrittenOut(Exception):
    """A sentence that does not stand written out in its call, so nobody can find it."""


def spoken_in(path: str, text: str) -> Iterator[Spoken]:
    """Return every sentence that is said in a file, in the order of the file."""
    find = {"html": _in_template, "py": _in_python, "js": _in_script}[path.rpartition(".")[2]]
    for line, msgid, many, ctx in find(path, text):
        yield Spoken(msgid, many, ctx, path, line)


def spoken_by_room() -> dict[str, list[Spoken]]:
    """Return every sentence of the house by room."""
    found: dict[str, list[Spoken]] = {}
    for path in speaking_files():
        for one in spoken_in(path, (TOP / path).read_text(encoding="utf-8")):
            found.setdefault(room_of(path), []).append(one)
    return found


def _in_python(path: str, text: str) -> Iterator[tuple[int, str, str, str]]:
    if "say" not in text:
        return
    calls = [node for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Call)]
    for call in sorted(calls, key=lambda node: node.lineno):
        name = call.func.id if isinstance(call.func, ast.Name) else ""  # a method of that name says something else
        if name in {"say", "say_n"}:
            wanted = 1 if name == "say" else 2
            words = [arg.value for arg in call.args[:wanted] if isinstance(arg, ast.Constant) and isinstance(arg.value, str)]
            ctx = [kw.value.value for kw in call.keywords if kw.arg == "ctx" and isinstance(kw.value, ast.Constant)]
            if len(words) != wanted or len(ctx) != sum(kw.arg == "ctx" for kw in call.keywords):
                raise NotWrittenOut(f"{path}:{call.lineno}: {name} needs its sentence written out")
            yield call.lineno, words[0], words[1] if wanted == 2 else "", str(ctx[0]) if ctx else ""


def _in_template(path: str, text: str) -> Iterator[tuple[int, str, str, str]]:
    for call in Environment().parse(text).find_all(nodes.Call):
        if isinstance(call.node, nodes.Name) and call.node.name in {"_", "_n"}:
            wanted = 1 if call.node.name == "_" else 2
            words = [arg.value for arg in call.args[:wanted] if isinstance(arg, nodes.Const) and isinstance(arg.value, str)]
            ctx = [kw.value.value for kw in call.kwargs if kw.key == "ctx" and isinstance(kw.value, nodes.Const)]
            if len(words) != wanted or len(call.args) != 2 * wanted - 1 or len(ctx) != sum(kw.key == "ctx" for kw in call.kwargs):
                raise NotWrittenOut(f"{path}:{call.lineno}: {call.node.name} needs its sentence written out")
            yield call.lineno, words[0], words[1] if wanted == 2 else "", ctx[0] if ctx else ""


def _in_script(_path: str, text: str) -> Iterator[tuple[int, str, str, str]]:
    for found in _SCRIPT.finditer(text):
        name, one, many = found.groups()
        yield text.count("\n", 0, found.start()) + 1, json.loads(one), json.loads(many) if name == "sayN" and many else "", ""
