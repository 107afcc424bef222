"""The subjects that can be measured, by name; nothing is scanned for. A subject has `rows(size)`, cheap until one is measured."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Final

from tests.bench import growing, learning, many, packets, pages, pictures, planning, starting, storing, weak_spots
from tests.bench.rows import Row, Size

SUBJECTS: Final[Mapping[str, Callable[[Size], Iterable[Row]]]] = {
    "growing": growing.rows,
    "learning": learning.rows,
    "many": many.rows,
    "packets": packets.rows,
    "pages": pages.rows,
    "pictures": pictures.rows,
    "planning": planning.rows,
    "starting": starting.rows,
    "storing": storing.rows,
    "weak spots": weak_spots.rows,
}
