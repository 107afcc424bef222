"""The subjects that can be measured, by name; nothing is scanned for. A subject has `rows(size)`, cheap until one is measured."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Final

from tests.bench import learning, many, pages, pictures, planning, weak_spots
from tests.bench.rows import Row, Size

SUBJECTS: Final[Mapping[str, Callable[[Size], Iterable[Row]]]] = {
    "learning": learning.rows,
    "many": many.rows,
    "pages": pages.rows,
    "pictures": pictures.rows,
    "planning": planning.rows,
    "weak spots": weak_spots.rows,
}
