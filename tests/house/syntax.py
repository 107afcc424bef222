"""Rules of the house that an import graph cannot see, each a function from one parsed module to its breaches."""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

MODULE_LINES = 300
TEST_LINES = 400
FUNCTION_LINES = 40
VIEW_LINES = 15
BANNED_WORDS = frozenset(
    {"util", "utils", "helper", "helpers", "common", "misc", "manager", "managers", "data", "info", "service", "services"}
)
EDGES = ("drillhall/web/", "drillhall/cli/")
KEEPERS = ("drillhall/store/session.py", "drillhall/store/migrating.py", "drillhall/store/migrations/")
WRITTEN_ONCE = ("drillhall/store/migrations/versions/",)  # statements in a row, which nobody changes once they are released
CATCHERS = ("drillhall/web/app.py", "drillhall/cli/")
ENVIRONMENT = ("drillhall/config/settings.py",)


LINTER_OFF = re.compile(r"#\s*noqa(?P<rest>.*)")
LINTER_OFF_SAID = re.compile(r":\s*[A-Z]+\d+(,\s*[A-Z]+\d+)*\s*-\s*\w\S*\s+\w")
TYPES_OFF = re.compile(r"#\s*type:\s*ignore(?P<rest>.*)")
TYPES_OFF_SAID = re.compile(r"\[[a-z,\s-]+\]\s*#\s*\w\S*\s+\w")


@dataclass(frozen=True)
class Module:
    """One Python file: where it lies below the top of the tree, and what stands in it."""

    path: str
    text: str

    @property
    def tree(self) -> ast.Module:
        """The file, parsed."""
        return ast.parse(self.text, self.path)

    def is_in(self, *places: str) -> bool:
        """Say whether the file is one of these, or lies in one of these folders."""
        return self.path.startswith(places)


Breach = tuple[int, str]
Rule = Callable[[Module], Iterable[Breach]]


def read_modules(top: Path, *folders: str) -> list[Module]:
    """Read every Python file in these folders."""
    files = sorted(file for folder in folders for file in (top / folder).rglob("*.py"))
    return [Module(file.relative_to(top).as_posix(), file.read_text(encoding="utf-8")) for file in files]


def breaches(rule: Rule, modules: Iterable[Module]) -> list[str]:
    """Say where a rule is broken: path, line, and what is wrong."""
    return [f"{module.path}:{line}: {what}" for module in modules for line, what in rule(module)]


def reads_clock(module: Module) -> Iterator[Breach]:
    """The clock is read at the edges and handed down as `at=` or `now=`."""
    if not module.is_in("drillhall/") or module.is_in(*EDGES):
        return
    for node in ast.walk(module.tree):
        if _imports(node) & {"time"}:
            yield _line(node), "imports time"
        if isinstance(node, ast.Attribute) and node.attr in {"now", "today", "utcnow"} and _last_name(node.value) in {"datetime", "date"}:
            yield node.lineno, f"reads the clock by {node.attr}"
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in {"now", "today", "utcnow"}:
            yield node.lineno, f"calls {node.func.attr}()"


def throws_dice(module: Module) -> Iterator[Breach]:
    """Dice come from the edge as `dice=`; only their type, Random, may be named below."""
    if not module.is_in("drillhall/") or module.is_in(*EDGES):
        return
    for node in ast.walk(module.tree):
        if isinstance(node, ast.ImportFrom) and node.module == "random" and {name.name for name in node.names} != {"Random"}:
            yield node.lineno, "takes dice from random"
        if isinstance(node, ast.Attribute) and _last_name(node.value) == "random" and node.attr not in {"Random", "Generator"}:
            yield node.lineno, f"throws random.{node.attr}"
        if isinstance(node, ast.Call) and _last_name(node.func) in {"Random", "default_rng"} and not node.args:
            yield node.lineno, "makes dice without a seed"


def makes_secrets_in_core(module: Module) -> Iterator[Breach]:
    """What differs from run to run has no place in core: secrets, new identifiers, and hash(), which is salted per process."""
    if not module.is_in("drillhall/core/"):
        return
    for node in ast.walk(module.tree):
        if _imports(node) & {"secrets"}:
            yield _line(node), "imports secrets"
        if isinstance(node, ast.ImportFrom) and node.module == "uuid" and {name.name for name in node.names} != {"UUID"}:
            yield node.lineno, "makes identifiers by uuid"
        if isinstance(node, ast.Attribute) and _last_name(node.value) == "uuid" and node.attr != "UUID":
            yield node.lineno, f"makes identifiers by uuid.{node.attr}"
        if isinstance(node, ast.Call) and _last_name(node.func) == "hash":
            yield node.lineno, "calls hash(), which differs from process to process"


def touches_files_in_core(module: Module) -> Iterator[Breach]:
    """Core reads no files."""
    if not module.is_in("drillhall/core/"):
        return
    for node in ast.walk(module.tree):
        if found := _imports(node) & {"pathlib", "os", "io", "shutil", "tempfile", "importlib", "glob", "sqlite3", "socket"}:
            yield _line(node), f"imports {', '.join(sorted(found))}"
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "open":
            yield node.lineno, "opens a file"


def speaks_in_core(module: Module) -> Iterator[Breach]:
    """Core returns what it has to say."""
    if not module.is_in("drillhall/core/"):
        return
    for node in ast.walk(module.tree):
        if found := _imports(node) & {"logging", "warnings"}:
            yield _line(node), f"imports {', '.join(sorted(found))}"
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in {"print", "input"}:
            yield node.lineno, f"calls {node.func.id}()"


def changes_answers(module: Module) -> Iterator[Breach]:
    """Answers are the only truth: they are added, and go with whom they are of, which `erasing` sees to for all tables alike."""
    if not module.is_in("drillhall/"):
        return
    for node in ast.walk(module.tree):
        changes = isinstance(node, ast.Call) and _last_name(node.func) in {"update", "delete"}
        if isinstance(node, ast.Call) and changes and any(_root_name(one) == "AnswerRow" for one in node.args[:1]):
            yield node.lineno, f"would {_last_name(node.func)} answers"


def takes_private_names(module: Module) -> Iterator[Breach]:
    """A name that begins with an underscore stays in its module."""
    imported: set[str] = set()
    for node in ast.walk(module.tree):
        if isinstance(node, ast.ImportFrom | ast.Import):
            imported |= {(name.asname or name.name).split(".")[0] for name in node.names}
        if isinstance(node, ast.ImportFrom):
            yield from ((node.lineno, f"takes {name.name} from {node.module}") for name in node.names if _is_private(name.name))
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Attribute) and _is_private(node.attr) and isinstance(node.value, ast.Name) and node.value.id in imported:
            yield node.lineno, f"takes {node.value.id}.{node.attr}"


def keeps_by_itself(module: Module) -> Iterator[Breach]:
    """Leaving `with store.work()` is the one way to keep; nothing else begins, commits or rolls back."""
    if not module.is_in("drillhall/") or module.is_in(*KEEPERS):
        return
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in {"commit", "rollback", "begin"}:
            yield node.lineno, f"calls .{node.func.attr}()"


def catches_everything(module: Module) -> Iterator[Breach]:
    """Programmer mistakes are never caught, but at the two edges, where they become a page or an exit code.

    To tidy up and raise the same again is not to catch.
    """
    if not module.is_in("drillhall/") or module.is_in(*CATCHERS):
        return
    for node in ast.walk(module.tree):
        if isinstance(node, ast.ExceptHandler) and not _raises_again(node):
            caught = node.type.elts if isinstance(node.type, ast.Tuple) else [node.type]
            if any(one is None or _last_name(one) in {"Exception", "BaseException"} for one in caught):
                yield node.lineno, "catches everything"


def reads_environment(module: Module) -> Iterator[Breach]:
    """The environment is read in config alone."""
    if not module.is_in("drillhall/") or module.is_in(*ENVIRONMENT):
        return
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Attribute) and node.attr in {"environ", "getenv"} and _last_name(node.value) == "os":
            yield node.lineno, f"reads os.{node.attr}"
        if isinstance(node, ast.ImportFrom) and node.module == "os" and {name.name for name in node.names} & {"environ", "getenv"}:
            yield node.lineno, "takes the environment from os"


def names_nothing(module: Module) -> Iterator[Breach]:
    """A name says what is inside: no helpers, no managers; "common practice" is what a check rests on that has no source."""
    path = PurePosixPath(module.path)
    for part in (*path.parent.parts, path.stem):
        if found := set(part.lower().replace("common_practice", "practice").split("_")) & BANNED_WORDS:
            yield 1, f"the path says {found.pop()}"
    for node in ast.walk(module.tree):
        if isinstance(node, ast.ClassDef) and (words := re.findall(r"[A-Z][a-z]*", node.name)) and words[-1].lower() in BANNED_WORDS:
            yield node.lineno, f"the class {node.name} says {words[-1]}"


def grows_too_long(module: Module) -> Iterator[Breach]:
    """A module of more than 300 lines becomes a folder (tests: 400); a function of more than 40 falls into steps; a view has 15."""
    if module.is_in(*WRITTEN_ONCE):
        return
    if (lines := module.text.count("\n")) > (TEST_LINES if module.is_in("tests/") else MODULE_LINES):
        yield 1, f"{lines} lines in one module"
    for node in ast.walk(module.tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            allowed = VIEW_LINES if module.is_in("drillhall/web/") and _is_view(node) else FUNCTION_LINES
            if (lines := _body_lines(node)) > allowed:
                yield node.lineno, f"{lines} lines in {node.name}, {allowed} allowed"


def redirects_unsaid(module: Module) -> Iterator[Breach]:
    """After a POST the browser is told to GET: 303, never the default 302."""
    if not module.is_in("drillhall/web/"):
        return
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Call) and _last_name(node.func) == "redirect":
            codes = {ast.unparse(word.value) for word in node.keywords if word.arg == "code"}
            if codes != {"303"}:
                yield node.lineno, "redirects without code=303"


def silences_without_reason(module: Module) -> Iterator[Breach]:
    """A check that is silenced on a line says which and why on that line; tests need not say why a type is wrong on purpose."""
    for number, line in enumerate(module.text.splitlines(), 1):
        if (found := LINTER_OFF.search(line)) and not LINTER_OFF_SAID.match(found["rest"]):
            yield number, "silences the linter without saying which rule and why"
        if not module.is_in("tests/") and (found := TYPES_OFF.search(line)) and not TYPES_OFF_SAID.match(found["rest"]):
            yield number, "silences the type checker without saying which rule and why"


def skips_tests(module: Module) -> Iterator[Breach]:
    """A test runs, or it is not there."""
    if not module.is_in("tests/"):
        return
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Attribute) and node.attr in {"skip", "skipif", "xfail", "importorskip"} and _root_name(node) == "pytest":
            yield node.lineno, f"pytest.{node.attr}"


RULES: tuple[Rule, ...] = (
    reads_clock,
    throws_dice,
    makes_secrets_in_core,
    touches_files_in_core,
    speaks_in_core,
    changes_answers,
    takes_private_names,
    keeps_by_itself,
    catches_everything,
    reads_environment,
    names_nothing,
    grows_too_long,
    redirects_unsaid,
    silences_without_reason,
    skips_tests,
)


def _raises_again(node: ast.ExceptHandler) -> bool:
    last = node.body[-1]
    return isinstance(last, ast.Raise) and last.exc is None


def _imports(node: ast.AST) -> set[str]:
    if isinstance(node, ast.Import):
        return {name.name.split(".")[0] for name in node.names}
    return {node.module.split(".")[0]} if isinstance(node, ast.ImportFrom) and node.module else set()


def _line(node: ast.AST) -> int:
    return int(getattr(node, "lineno", 1))


def _last_name(node: ast.AST | None) -> str:
    if isinstance(node, ast.Attribute):
        return node.attr
    return node.id if isinstance(node, ast.Name) else ""


def _root_name(node: ast.AST) -> str:
    while isinstance(node, ast.Attribute):
        node = node.value
    return node.id if isinstance(node, ast.Name) else ""


def _is_private(name: str) -> bool:
    return name.startswith("_") and not name.startswith("__")


def _is_view(node: ast.FunctionDef | ast.AsyncFunctionDef) -> bool:
    calls = (one.func for one in node.decorator_list if isinstance(one, ast.Call))
    return any(_last_name(call) in {"get", "post", "route", "put", "delete"} for call in calls)


def _body_lines(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Count the lines after the signature, without the docstring."""
    first, last = node.body[0], node.body[-1]
    if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant) and isinstance(first.value.value, str):
        first = node.body[1] if len(node.body) > 1 else first
    return (last.end_lineno or last.lineno) - first.lineno + 1
