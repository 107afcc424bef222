"""`python -m tests.bench`: measures the rows named, or all, beside their floors; prints a table, and ends with 1 where a goal is missed."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path

from tests.bench.rows import Result, Row, Size, run
from tests.bench.subjects import SUBJECTS

Subjects = Mapping[str, Callable[[Size], Iterable[Row]]]


def main(words: Sequence[str] | None = None, *, subjects: Subjects = SUBJECTS) -> int:
    """Measure, print, write; return the exit status."""
    said = _parser(subjects).parse_args(words)
    chosen = choose(said.names, [row for make in subjects.values() for row in make(Size(quick=said.quick, seed=said.seed))], subjects)
    if said.list:
        print("\n".join(row.name for row in chosen))
        return 0
    results = []
    print(_line("row", "floor", "ours", "ratio", "goal", "met"))
    for row in chosen:
        results.append(run(row))
        print(_told(results[-1]), flush=True)
    if said.json:
        said.json.write_text(json.dumps([result.as_json for result in results], indent=2) + "\n", encoding="utf-8")
    return 0 if all(result.met for result in results) else 1


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


def _told(result: Result) -> str:
    floor = "" if result.floor is None else f"{result.floor:,.4g}"
    ratio = "" if result.ratio is None else f"{result.ratio:.2f}"
    ours = f"{result.ours:,.4g}"
    gain = "" if result.gain is None else f"   {result.gain[0]:+.2f} ({result.gain[1]:+.2f} to {result.gain[2]:+.2f})"
    if result.interval is not None:
        gain = f"   ({result.interval[0]:,.3g} to {result.interval[1]:,.3g})"
    return _line(f"{result.name} ({result.unit})", floor, ours, ratio, result.goal, "yes" if result.met else "NO") + gain


def _line(name: str, floor: str, ours: str, ratio: str, goal: str, met: str) -> str:
    return f"{name:<64}{floor:>10}{ours:>10}{ratio:>8}  {goal:<18}{met}"


if __name__ == "__main__":
    sys.exit(main())
