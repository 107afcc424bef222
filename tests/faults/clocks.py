"""Sets the clock of a running hall back and forward (libfaketime, which the process reads its time through), and drills on."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Final

from tests.engines import ENGINES
from tests.faults.checking import losses, rebuilt
from tests.faults.halls import serving
from tests.faults.loading import Load
from tests.faults.rows import Ground, Row, Told

LIBRARIES: Final = tuple(Path("/usr/lib").glob("*/faketime/libfaketimeMT.so.1"))
SHIFTS: Final = ("-3d", "+0", "-90m", "+2d", "-1y", "+0")
"""By how much the hall's clock is off, one after another; a year back is a machine whose battery is empty."""


def rows() -> list[Row]:
    """Return the rows."""
    return [
        Row(f"clock:{engine}", f"the hall's clock set back and forward while people drill, on {engine}", partial(_set_back, engine))
        for engine in ENGINES
    ]


def _set_back(engine: str, ground: Ground, told: Told) -> None:
    dice, hall = ground.dice(f"clock {engine}"), ground.place.hall(engine)
    shift = ground.place.folder / f"{hall.folder.name}.shift"
    shift.write_text("+0\n", encoding="utf-8")
    (library,) = LIBRARIES
    hall.environment = {
        "LD_PRELOAD": str(library),
        "FAKETIME_TIMESTAMP_FILE": str(shift),
        "FAKETIME_NO_CACHE": "1",
        "DONT_FAKE_MONOTONIC": "1",
        "FAKETIME_DONT_RESET": "1",
    }
    with serving(hall) as (server,):
        load = Load([server.port], f"clock {dice.random()}")
        load.sign_in()
        for place, off in enumerate(SHIFTS * ground.of(1, 6)):
            shift.write_text(f"{off}\n", encoding="utf-8")
            if place % 3 == 2:  # and once in three the server starts under it
                server.end()
                server.start()
            with load.at_work():
                load.wait_for(12)
            told.count("shifts")
            told.lost += [f"clock {off}: {one}" for one in losses(hall, load.ledger)]
        load.settle()
    told.wants(load.ledger.is_settled, "not all that was sent was acknowledged in the end")
    told.count("answers", len(load.ledger.known))
    hall.environment = {}
    told.lost += [*load.ledger.strange, *losses(hall, load.ledger), *rebuilt(hall)]
