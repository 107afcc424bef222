"""`python -m tests.faults`: does harm to real halls, prints what was counted, and ends with 1 where anything is lost."""

from __future__ import annotations

import argparse
import json
import math
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final

from tests import engines
from tests.faults.drills import DRILLS
from tests.faults.halls import Workplace
from tests.faults.rows import Ground, Result, Row, counted, run

TOOLS: Final = ("strace", "faketime", "unshare")
APART: Final = "DRILLHALL_FAULTS_APART"
PATIENCE_SECONDS: Final = 60.0
PARTS: Final = """Told to end (SIGTERM), a run writes down what it has counted so far, and tells that the row is not whole.
`fuzz` then names the --seed with which another run goes on, so that a long one can be done in parts whose counts add up."""
ENDED: Final = 143
"""The exit status of a run that was told to end: 128 and the number of SIGTERM."""


def main(words: Sequence[str] | None = None) -> int:
    """Run the rows named, or all; return the exit status."""
    said = _parser().parse_args(words)
    chosen = choose(said.names, [row for rows in DRILLS for row in rows()])
    if said.list:
        print("\n".join(f"{row.name:<26}{row.does}" for row in chosen))
        return 0
    missing = [tool for tool in TOOLS if shutil.which(tool) is None]
    if missing:
        sys.exit(
            f"The drills of faults need {', '.join(missing)}: on Debian and Ubuntu `apt install strace faketime nginx-light util-linux`."
        )
    signal.signal(signal.SIGTERM, _Ending())
    results = _run_all(chosen, said)
    lost = sum(len(result.lost) for result in results)
    print(f"{len(results)} rows in {sum(result.seconds for result in results):.0f} seconds, lost: {lost or 'nothing'}")
    return ENDED if results[-1].was_ended else int(lost > 0)


def choose(names: Sequence[str], rows: Sequence[Row]) -> list[Row]:
    """Return the rows whose name, or whose subject before the colon, is among the names; all of them without any name."""
    known = {row.name for row in rows} | {row.name.partition(":")[0] for row in rows}
    unknown = [name for name in names if name not in known]
    if unknown:
        sys.exit(f"There is no row or subject {', '.join(unknown)}. `python -m tests.faults --list` tells which there are.")
    return [row for row in rows if not names or row.name in names or row.name.partition(":")[0] in names]


def _run_all(chosen: Sequence[Row], said: argparse.Namespace) -> list[Result]:
    results = []
    with tempfile.TemporaryDirectory(prefix="drillhall-faults-") as folder, engines.a_server() as server:
        server.start(engines.LASTING)
        ground = Ground(Workplace(Path(folder), {"postgresql": server.dsn}), server, said.seed, said.long)
        for row in chosen:
            if not server.is_up:  # whatever the row before did to it
                server.start(engines.LASTING)
            apart = row.mounts and APART not in os.environ
            results.append(_run_apart(row, said) if apart else run(row, ground))
            print(_told(results[-1]), flush=True)
            if said.json:
                said.json.write_text(json.dumps([result.as_json for result in results], indent=2) + "\n", encoding="utf-8")
            if results[-1].was_ended:
                break
    return results


class _Ending:
    """Ends as on an error, so that all that was started is ended first; told once more within a minute, it is about it.

    Later it begins again: what is raised where Python lets go of something, as in the call of a weak reference, is lost.
    """

    def __init__(self) -> None:
        self._since = -math.inf

    def __call__(self, *_: object) -> None:
        if time.monotonic() - self._since > PATIENCE_SECONDS:
            self._since = time.monotonic()
            sys.exit(ENDED)


def _run_apart(row: Row, said: argparse.Namespace) -> Result:
    """Run a row in a mount namespace of its own, by this very command."""
    began = time.monotonic()
    with tempfile.NamedTemporaryFile(suffix=".json") as file:
        root = () if os.geteuid() == 0 else ("--map-root-user",)
        words = [row.name, "--json", file.name, "--seed", str(said.seed), *(["--long"] if said.long else [])]
        command = ["unshare", "--mount", *root, sys.executable, "-m", "tests.faults", *words]
        output = _output_of(command, os.environ | {APART: "yes"})
        try:
            (told,) = json.loads(Path(file.name).read_text(encoding="utf-8"))
        except ValueError:
            return Result(row.name, {}, (f"the row broke off:\n{output}",), time.monotonic() - began)
    return Result(told["name"], told["counts"], tuple(told["lost"]), told["seconds"])


def _output_of(command: Sequence[str], env: Mapping[str, str]) -> str:
    """Run a command to its end and return what it prints; if this process is ended, that one ends first, with all that it started."""
    process = subprocess.Popen(command, env=env, stdout=subprocess.PIPE, text=True)
    try:
        return process.communicate()[0]
    finally:
        process.terminate()
        process.wait()


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m tests.faults", description="Does harm to real halls and looks for losses.", epilog=PARTS
    )
    parser.add_argument("names", nargs="*", help="rows, or subjects (what stands before the colon); without any: all")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the results there as well")
    parser.add_argument("--long", action="store_true", help="do much more harm: over 1,000 kills, a million requests")
    parser.add_argument("--seed", type=int, default=800, help="what is drawn at random is drawn from here (default: 800)")
    parser.add_argument("--list", action="store_true", help="name the rows and run nothing")
    return parser


def _told(result: Result) -> str:
    lost = f"LOST {len(result.lost)}" if result.lost else "lost 0"
    lines = [f"{result.name:<26}{lost:<10}{result.seconds:>6.0f} s  {counted(result.counts)}", *(f"    {one}" for one in result.lost[:20])]
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
