"""`python -m tests.bench`: measures the rows named, or all, beside their floors; prints a table.

It ends with 0 where every goal is met, 1 where one is missed, 3 where a row failed, 128 and its number where a signal stopped it.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path

from tests.bench.grown.halls import closing_halls
from tests.bench.rows import Row, Size
from tests.bench.running import in_a_folder_of_its_own, measure_all, stopped_by_signals
from tests.bench.subjects import SUBJECTS

Subjects = Mapping[str, Callable[[Size], Iterable[Row]]]


def main(words: Sequence[str] | None = None, *, subjects: Subjects = SUBJECTS) -> int:
    """Measure, print, write; return the exit status (`running.measure_all`)."""
    said = _parser(subjects).parse_args(words)
    chosen = choose(said.names, [row for make in subjects.values() for row in make(Size(quick=said.quick, seed=said.seed))], subjects)
    if said.list:
        print("\n".join(row.name for row in chosen))
        return 0
    with stopped_by_signals(), in_a_folder_of_its_own(), closing_halls():
        return measure_all(chosen, said.json)


def choose(names: Sequence[str], rows: Sequence[Row], subjects: Iterable[str]) -> list[Row]:
    """Return the rows whose name, or whose subject, is among the names; all of them without any name."""
    known = {*subjects, *(row.name for row in rows)}
    unknown = [name for name in names if name not in known]
    if unknown:
        sys.exit(f"There is no row or subject {', '.join(unknown)}. `python -m tests.bench --list` tells which there are.")
    return [row for row in rows if not names or row.name in names or row.name.partition(":")[0] in names]


def _parser(subjects: Iterable[str]) -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description="Measures the hall beside floors of the same run.")
    parser.add_argument("names", nargs="*", help=f"rows, or subjects ({', '.join(subjects)}); without any: all")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the rows there as well")
    parser.add_argument("--quick", action="store_true", help="measure little: for a gross fault, not for a figure")
    parser.add_argument("--seed", type=int, default=500, help="what is drawn at random is drawn from here (default: 500)")
    parser.add_argument("--list", action="store_true", help="name the rows and measure nothing")
    return parser


if __name__ == "__main__":
    sys.exit(main())
