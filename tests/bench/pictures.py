"""Adding pictures: beside bare decoding, shrinking and encoding; in memory; and what a refused bomb costs."""

from __future__ import annotations

import json
import sys
import tempfile
import time
from collections.abc import Iterable
from datetime import UTC, datetime
from functools import partial
from io import BytesIO
from pathlib import Path
from statistics import median
from typing import Final
from uuid import uuid4

from PIL import Image

from drillhall.core.licences import CC0
from drillhall.core.rights import Rights
from drillhall.errors import BadPicture
from drillhall.pictures.ingest import add_picture, take
from drillhall.pictures.reading import LARGE_PX
from drillhall.pictures.renditions import EFFORT, QUALITIES, SMALL_PX
from drillhall.pictures.storage import FolderStorage
from drillhall.store.migrating import bring_up_to_date
from drillhall.store.session import Store
from tests import cast
from tests.bench import photographs
from tests.bench.memory import Cost, in_its_own_interpreter, peak_bytes
from tests.bench.rows import Goal, Measured, Row, Size, at_least_times, at_most

MEGABYTE: Final = 1_000_000
RIGHTS: Final = Rights(cast.LEARNER.name, CC0, cast.LEARNER.name)
KINDS: Final = ("RGB", "RGBA", "LA", "P", "I;16", "CMYK")


def rows(size: Size) -> Iterable[Row]:
    """Yield the rows of this subject."""
    count = size.of(100, 6)
    yield Row(f"pictures: adding {count} photographs of 12 Mpx", "a CPU second", at_least_times(0.8), partial(adding, count))
    yield Row("pictures: peak memory, a photograph of 12 Mpx", "MB", _bound(12), peak_of_photograph)
    largest = size.of(59, 12)
    for kind in KINDS[: size.of(len(KINDS), 1)]:
        yield Row(f"pictures: peak memory, {kind} of {largest} Mpx", "MB", _bound(largest), partial(peak_of, kind, largest))
    yield Row("pictures: time of a refused bomb of 200 Mpx", "ms", at_most(50), partial(bomb, "milliseconds"))
    yield Row("pictures: memory of a refused bomb of 200 Mpx", "MB", at_most(20), partial(bomb, "megabytes"))


def _bound(megapixels: int) -> Goal:
    return at_most(6 * megapixels + 100)


def adding(count: int) -> Measured:
    """Return pictures per second of a core: of the hall, from a file to kept files and rows, and of Pillow alone."""
    paths = photographs.photographs(count)
    took: dict[str, list[float]] = {"floor": [], "ours": []}
    with tempfile.TemporaryDirectory() as place:
        hall = _Hall(Path(place))
        hall.add(paths[0]), bare(paths[0])
        for turn, path in enumerate(paths):
            both = [("floor", bare), ("ours", hall.add)]
            for name, work in both if turn % 2 == 0 else reversed(both):
                began = time.process_time()
                work(path)
                took[name].append(time.process_time() - began)
        hall.close()
    return Measured(ours=1 / median(took["ours"]), floor=1 / median(took["floor"]))


def bare(path: Path) -> int:
    """Decode, shrink and encode with Pillow alone, to the same sizes; return the bytes made."""
    with Image.open(path) as image:
        scale = LARGE_PX / max(image.size)
        image.draft(None, (int(image.width * scale), int(image.height * scale)))
        made = 0
        for long_side_px in (LARGE_PX, SMALL_PX):
            image.thumbnail((long_side_px, long_side_px), Image.Resampling.LANCZOS, reducing_gap=3.0)
            out = BytesIO()
            image.save(out, "WEBP", quality=QUALITIES[0], method=EFFORT)
            made += len(out.getvalue())
    return made


class _Hall:
    """A hall to add pictures to. Nobody has an account in it: making one costs more memory, by design, than adding pictures does."""

    def __init__(self, place: Path) -> None:
        self._store, self._storage = Store(f"sqlite:///{place / 'hall.sqlite'}"), FolderStorage(place / "pictures")
        bring_up_to_date(self._store)

    def add(self, path: Path) -> None:
        """Add one picture as the hall does, kept when it returns."""
        taken, at = take(path.read_bytes()), datetime.now(UTC)
        with self._store.work() as db:
            add_picture(db, self._storage, taken, public_id=str(uuid4()), owner_id=None, form_id=None, rights=RIGHTS, at=at)

    def close(self) -> None:
        """Let the database go."""
        self._store.close()


def peak_of_photograph() -> Measured:
    """Return the peak memory of an interpreter that adds a photograph, and of one that makes bare sizes of it."""
    path = photographs.photographs(1)[0]
    return Measured(ours=_peak("add", path), floor=_peak("bare", path))


def peak_of(kind: str, megapixels: int) -> Measured:
    """Return the peak memory of an interpreter that adds one picture of a kind that is dear to decode; Pillow alone cannot shrink all."""
    return Measured(ours=_peak("add", photographs.picture(kind, width_px=megapixels * 100, height_px=10_000)))


def _peak(way: str, path: Path) -> float:
    told: dict[str, float] = in_its_own_interpreter("tests.bench.pictures", way, path)
    return told["peak"] / MEGABYTE


def bomb(unit: str) -> Measured:
    """Return what refusing a bomb costs over the interpreter, once it is warm."""
    return Measured(ours=in_its_own_interpreter("tests.bench.pictures", "bomb", photographs.bomb())[unit])


def _alone(way: str, path: Path) -> dict[str, float]:
    """Do one thing and return the peak of this interpreter, which does nothing else."""
    if way == "bomb":
        return _refused(path)
    if way == "bare":
        bare(path)
    else:
        with tempfile.TemporaryDirectory() as place:
            hall = _Hall(Path(place))
            hall.add(path)
            hall.close()
    return {"peak": peak_bytes()}


def _refused(path: Path) -> dict[str, float]:
    """Let a bomb be refused by an interpreter that is warm from a picture before it."""
    take(photographs.photographs(1, width_px=800, height_px=600)[0].read_bytes())
    content, refused = path.read_bytes(), False
    with Cost() as cost:
        try:
            take(content)
        except BadPicture:
            refused = True
    if not refused:
        raise RuntimeError("the bomb was taken")
    return {"milliseconds": 1000 * cost.seconds, "megabytes": cost.more_bytes / MEGABYTE}


if __name__ == "__main__":
    print(json.dumps(_alone(sys.argv[1], Path(sys.argv[2]))))
