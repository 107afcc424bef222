"""Rules for the tree itself and for the tables: what lies at the top, which folders are packages, which keys have an index."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

from sqlalchemy import ForeignKeyConstraint, MetaData, PrimaryKeyConstraint, Table, UniqueConstraint

TOP = frozenset({"README.md", "DEVELOPERS.md", "pyproject.toml", "drillhall", "templates", "static", "tests", "demo_cards"})


def strangers_at_the_top(top: Path) -> set[str]:
    """Name what lies at the top and does not belong there, and what is missing from it; dot-files are free."""
    return {entry.name for entry in top.iterdir() if not entry.name.startswith(".")} ^ TOP


def folders_without_init(package: Path) -> list[str]:
    """Name the folders that hold Python files and are no packages: the import contracts do not see into them."""
    holders = {file.parent for file in package.rglob("*.py")}
    return sorted(folder.relative_to(package).as_posix() for folder in holders if not (folder / "__init__.py").exists())


def unlisted(folder: Path, listed: Iterable[str]) -> set[str]:
    """Name the modules of a registry's folder that the registry does not list, and what it lists and nobody wrote."""
    return {file.stem for file in folder.glob("*.py") if file.stem != "__init__"} ^ set(listed)


def keys_without_index(metadata: MetaData) -> list[str]:
    """Name the foreign keys whose columns begin no index: each delete of what they point at would read the whole table."""
    return [_name(key) for table in metadata.sorted_tables for key in table.foreign_key_constraints if not _is_indexed(table, key)]


def keys_without_on_delete(metadata: MetaData) -> list[str]:
    """Name the foreign keys that do not say what happens when the row they point at goes."""
    return [_name(key) for table in metadata.sorted_tables for key in table.foreign_key_constraints if not key.ondelete]


def broken_contracts(top: Path) -> set[str]:
    """Name the import contracts that the tree at `top` breaks."""
    command = [Path(sys.executable).with_name("lint-imports"), "--no-cache"]
    told = subprocess.run(command, cwd=top, capture_output=True, text=True, check=False)
    broken = set(re.findall(r"^(.+) BROKEN(?: \(.*\))?$", told.stdout, re.MULTILINE))
    if told.returncode and not broken:
        broken.add(told.stdout + told.stderr)
    return broken


def _is_indexed(table: Table, key: ForeignKeyConstraint) -> bool:
    wanted = [column.name for column in key.columns]
    return any(columns[: len(wanted)] == wanted for columns in _indexes(table))


def _indexes(table: Table) -> Iterator[list[str]]:
    yield from ([column.name for column in index.columns] for index in table.indexes)
    for constraint in table.constraints:
        if isinstance(constraint, PrimaryKeyConstraint | UniqueConstraint):
            yield [column.name for column in constraint.columns]


def _name(key: ForeignKeyConstraint) -> str:
    return f"{key.table.name}({', '.join(column.name for column in key.columns)})"
