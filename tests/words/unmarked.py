"""Finds words that are written straight into a template or an error, where no catalogue can find them."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache

from jinja2 import Environment, TemplateSyntaxError, nodes

from drillhall import errors
from tests.words.rooms import TOP

Breach = tuple[int, str]

WORDED = frozenset({"title", "aria-label", "aria-description", "aria-roledescription", "aria-valuetext", "alt", "placeholder"})
"""Attributes that are read to somebody."""
NAMES = frozenset({"Drillhall", "drillhall", "drill", "hall", "SQLite", "PostgreSQL", "JSON", "CSV", "KR", "MB", "px", "JPEG"})
"""Names and units, which all languages share."""
ERRORS = frozenset(name for name, kind in vars(errors).items() if isinstance(kind, type))

_PIECE = re.compile(r"\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}", re.DOTALL)
_CLASSES = re.compile(r"\{%-? block (?:page_class -?%\}(?:(?!\{%-? endblock).)*|body -?%\}[^{]*)")
"""Blocks of the page's frame that are no text: they stand within a tag."""
_CODE = re.compile(r"<(code|kbd|script)\b[^>]*>.*?</\1>|<!doctype[^>]*>|&#?\w+;", re.DOTALL | re.IGNORECASE)
_ATTRIBUTE = re.compile(r'[\w-]+="[^"]*(?:"|$)|^-?[\w-]*"')
"""What a macro puts into a tag of somebody else."""
_WORD = re.compile(r"[^\W\d_]{2,}")
_PROSE = re.compile(r"^\W*[A-Z][a-z]+\b(?!\.[A-Z])|[a-z]{2,},? [a-z]{2,}")


def unmarked_in_template(text: str) -> Iterator[Breach]:
    """Return words that a template shows or hands to a macro without `_` or `_n` around them."""
    plain = _CLASSES.sub(_blank, re.sub(r"\{#.*?#\}", _blank, text, flags=re.DOTALL))
    plain = _CODE.sub(lambda found: found.group() if "{{" in found.group() else _blank(found), plain)
    place, at, line = _Place(), 0, 1
    for piece in [*_PIECE.finditer(plain), None]:
        words = plain[at : piece.start() if piece else len(plain)]
        for offset, found in place.read(words):
            yield line + words.count("\n", 0, offset), f"{found!r} is not marked"
        line += words.count("\n")
        if piece:
            yield from ((line, f"{found!r} is not marked") for found in _in_piece(piece.group(), is_read=place.is_read))
            line, at = line + piece.group().count("\n"), piece.end()


def unmarked_errors(text: str) -> Iterator[Breach]:
    """Return errors whose sentence, and columns whose head, is a bare string: whoever reads it reads it in English for ever."""
    tree = ast.parse(text)
    constants = [node for node in ast.walk(tree) if isinstance(node, ast.Assign | ast.AnnAssign) and node.value and _is_bare(node.value)]
    targets = [target for node in constants for target in (node.targets if isinstance(node, ast.Assign) else [node.target])]
    bare = {target.id for target in targets if isinstance(target, ast.Name)}
    for node in ast.walk(tree):
        name = node.func.id if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) else ""
        place = {"Column": 1}.get(name, 0)
        if name in ERRORS | {"Column"} and isinstance(node, ast.Call) and len(node.args) > place:
            said = node.args[place]
            if _is_bare(said) or (isinstance(said, ast.Name) and said.id in bare):
                yield node.lineno, f"{name} is given a bare sentence: use say"


def loses_what_is_said(text: str) -> Iterator[Breach]:
    """Return f-strings and joins of strings that hold a call of say: what comes out is English for ever."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.JoinedStr) and any(_says(inner) for inner in ast.walk(node)):
            yield node.lineno, "an f-string around say: use a gap, or joined"
        is_join = isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "join"
        if is_join and any(_says(inner) for inner in ast.walk(node)):
            yield node.lineno, "join around say: use joined or listed"


class _Place:
    """Where in the HTML one is: in text, in a tag, or in the value of one of its attributes."""

    def __init__(self) -> None:
        self.in_tag, self.quote, self.attribute = False, "", ""

    @property
    def is_read(self) -> bool:
        """Whether what stands here is read to somebody."""
        return self.attribute in WORDED if self.in_tag else True

    def read(self, text: str) -> Iterator[tuple[int, str]]:
        """Go on over a piece of HTML, and return the runs of words in it that are read to somebody, each with its offset."""
        run = ""
        for offset, sign in enumerate(text + "\0"):
            stays = sign != "\0" and self._goes_on(sign)
            if stays and self.is_read and (not self.in_tag or self.quote):
                run += sign
            elif run:
                if words := [word for word in _WORD.findall(_ATTRIBUTE.sub(" ", run)) if word not in NAMES]:
                    yield offset - len(run.lstrip()), " ".join(words[:4])
                run = ""

    def _goes_on(self, sign: str) -> bool:
        """Take one sign in; whether it is part of a text or of a value."""
        if self.quote:
            if sign == self.quote:
                self.quote = self.attribute = ""
                return False
            return True
        if self.in_tag:
            self._in_tag(sign)
            return False
        if sign == "<":
            self.in_tag, self.attribute = True, ""
            return False
        return True

    def _in_tag(self, sign: str) -> None:
        if sign == ">":
            self.in_tag, self.attribute = False, ""
        elif sign in "\"'":
            self.quote = sign
        elif sign.isspace():
            self.attribute = ""
        elif sign != "=":
            self.attribute += sign


def _in_piece(piece: str, *, is_read: bool) -> Iterator[str]:
    """Return the bare words in a tag or an expression of the template."""
    if piece.startswith("{%") and not re.match(r"\{%-?\s*(set|macro|call|if|elif|for|do)\b", piece):
        return
    try:
        parsed = Environment().parse(_whole(piece))
    except TemplateSyntaxError:
        return
    shown = {id(node) for output in parsed.find_all(nodes.Output) for node in output.nodes for node in _shown(node)} if is_read else set()
    for node, is_asked in _constants(parsed, False):
        text = str(node.value)
        is_bare = id(node) in shown and not is_asked and any(word not in NAMES for word in _WORD.findall(text))
        if is_bare or (_PROSE.search(text) and not _is_technical(text)):
            yield text


def _whole(piece: str) -> str:
    """Return a tag with what closes it, so that it can be parsed by itself."""
    if piece.startswith("{{"):
        return piece
    word = re.match(r"\{%-?\s*(\w+)", piece)
    kind = word.group(1) if word else ""
    if kind == "elif":
        return re.sub(r"elif", "if", piece, count=1) + "{% endif %}"
    if kind == "set" and "=" not in piece:
        return ""
    return piece + ("{% end" + kind + " %}" if kind in {"macro", "call", "if", "for"} else "")


def _shown(node: nodes.Node) -> Iterator[nodes.Node]:
    """Return the constants that an expression may show as they are."""
    if isinstance(node, nodes.Const):
        yield node
    elif isinstance(node, nodes.CondExpr):
        yield from _shown(node.expr1)
        if node.expr2 is not None:
            yield from _shown(node.expr2)
    elif isinstance(node, nodes.Concat):
        for one in node.nodes:
            yield from _shown(one)
    elif isinstance(node, nodes.Or | nodes.And):
        yield from _shown(node.right)
    elif isinstance(node, nodes.Filter) and node.name in {"capitalize", "lower", "upper", "trim"} and node.node is not None:
        yield from _shown(node.node)


def _constants(node: nodes.Node, is_said: bool) -> Iterator[tuple[nodes.Const, bool]]:
    """Return the strings of an expression that are no sentence in `_` and no name of a route, a key or a test."""
    for child in node.iter_child_nodes():
        if isinstance(child, nodes.Const) and isinstance(child.value, str):
            yield child, is_said
        elif isinstance(child, nodes.Call) and isinstance(child.node, nodes.Name) and child.node.name in {"_", "_n", "url_for"}:
            for kwarg in child.kwargs:
                yield from _constants(kwarg, False) if child.node.name != "url_for" and kwarg.key != "ctx" else ()
            if child.node.name == "_n":
                yield from _constants(nodes.List(child.args[2:]), False)
        elif not isinstance(child, nodes.Compare | nodes.Test | nodes.Getitem):
            yield from _constants(child, is_said)


@cache
def _classes() -> frozenset[str]:
    sheets = "".join(path.read_text(encoding="utf-8") for path in TOP.glob("static/css/**/*.css"))
    return frozenset(re.findall(r"\.([a-z][\w-]*)", sheets))


def _is_technical(text: str) -> bool:
    """Whether a string is no prose: names of classes, a media query, a value of an attribute."""
    return all(token in _classes() or not token.isalpha() for token in text.split()) or text in NAMES or "%" in text[:2]


def _is_bare(node: ast.expr) -> bool:
    return isinstance(node, ast.JoinedStr) or (isinstance(node, ast.Constant) and isinstance(node.value, str))


def _says(node: ast.AST) -> bool:
    return isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in {"say", "say_n"}


def _blank(found: re.Match[str]) -> str:
    return re.sub(r"[^\n]", " ", found.group())
