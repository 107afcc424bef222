"""`python -m tests.hearing`: a screen reader reads a drill; prints what it said when, and ends with 1 where that is not as it should be."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.hall import build_hall, open_hall
from tests.hearing.desk import a_desk, missing
from tests.hearing.drill import moments


def main() -> int:
    """Listen to a drill; return the exit status."""
    if lacks := missing():
        needs = "on Debian and Ubuntu `apt install xvfb dbus at-spi2-core orca xdotool chromium`"
        sys.exit(f"To hear a drill takes {', '.join(lacks)}: {needs}.")
    wrong = 0
    with tempfile.TemporaryDirectory(prefix="drillhall-hearing-") as name:
        folder = Path(name)
        with open_hall(build_hall(folder / "built"), folder / "hall") as hall, a_desk(folder, hall.address) as desk:
            for moment in moments(hall, desk):
                wrong += len(moment.wrong)
                lines = [f"- {moment.name}", *(f"      {one}" for one in moment.heard), *(f"  WRONG {one}" for one in moment.wrong)]
                print("\n".join(lines), flush=True)
    print(f"wrong: {wrong or 'nothing'}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
