"""What a drill's packet costs, whole, as a device fetches it: read, rendered, written as JSON and packed.

The floor reads the drill's rows and those of its catalogue by plain SQL, and writes and packs the same JSON, which it is given ready:
what is left is to make the values and their panels. Both are counted in time on a core, the database's work included.
"""

from __future__ import annotations

import gzip
import json
import uuid
from collections.abc import Callable, Iterable
from datetime import timedelta
from functools import partial
from typing import Any, Final

from sqlalchemy import text

from drillhall.practice import drilling
from drillhall.store.models.people import AccountRow
from drillhall.store.session import Store
from tests.bench.grown.founders import LEARNER, NOW
from tests.bench.grown.halls import Sort, a_hall
from tests.bench.grown.visiting import cores_of, enter, open_it
from tests.bench.rows import Measured, Row, Size, at_most, interleaved

FEW: Final = Sort(answers=1000)
LATER: Final = NOW + timedelta(days=100)
MINUTES: Final = ((5, 0.060), (13, 0.110))
"""How long a drill is wished for, and the goal in seconds of a core: some 38 pictures, and 130."""

READS: Final = (
    "SELECT * FROM showing WHERE round_id IN (SELECT id FROM round WHERE drill_id = :drill)",
    "SELECT * FROM round WHERE drill_id = :drill",
    "SELECT * FROM picture JOIN rights ON rights.picture_id = picture.id",
    "SELECT * FROM file",
    "SELECT * FROM mark",
    "SELECT * FROM form_trait",
    "SELECT * FROM state JOIN trait ON trait.id = state.trait_id",
)


def rows(size: Size) -> Iterable[Row]:
    """The rows of this subject."""
    for minutes, goal in MINUTES:
        told = f"packets: a drill of {minutes} minutes, beside its rows by SQL and its JSON"
        yield Row(told, "s", at_most(goal), partial(_packet, minutes, size.of(15, 2)))


def _packet(minutes: int, repeats: int) -> Measured:
    with a_hall("sqlite", FEW) as store:
        drill_id, fetch = _planned(store, minutes)
        told = json.loads(gzip.decompress(fetch()))

        def bare() -> None:
            with store.look() as db:
                for read in READS:
                    db.execute(text(read), {"drill": drill_id} if ":drill" in read else {}).all()
            gzip.compress(json.dumps(told, sort_keys=True).encode(), 6)

        return interleaved(bare, fetch, repeats=repeats, clock=cores_of(store))


def _planned(store: Store, minutes: int) -> tuple[str, Callable[[], bytes]]:
    """Plan a drill of so many minutes for the learner, long after all others; return it, and what fetches its packet."""
    hall = open_it(store)
    hall.clock.at = LATER
    with store.work() as db:
        db.get_one(AccountRow, LEARNER).minutes_a_day = minutes
        drill_id = drilling.start_drill(db, LEARNER, drill_id=str(uuid.UUID(int=1, version=4)), at=LATER)
    visitor = enter(hall, LEARNER)

    def fetch() -> bytes:
        answer: Any = visitor.get(f"/drills/{drill_id}", headers={"Accept-Encoding": "gzip"})
        assert answer.status_code == 200
        return bytes(answer.data)

    return drill_id, fetch
