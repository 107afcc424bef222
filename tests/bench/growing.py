"""Whether pages and plans stay as quick as the hall grows: in others' answers and learners, and in a learner's own history.

Each page is asked of two halls in turns, and what it takes is counted in time on a core, the database's work included.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import partial
from typing import Final

from drillhall.store.session import Store
from tests.bench.grown.founders import GROUP, LEARNER, TEACHER
from tests.bench.grown.halls import Sort, to_read
from tests.bench.grown.visiting import cores_of, enter, open_it
from tests.bench.rows import Measured, Row, Size, at_most_times, interleaved

FEW, OWN = Sort(answers=1000), Sort(own=300)

HERS: Final[Mapping[str, tuple[int, str]]] = {
    "Today": (LEARNER, "/"),
    "the drill": (LEARNER, "/drill"),
    "Standing": (LEARNER, "/standing"),
}
PAGES: Final[Mapping[str, tuple[int, str]]] = HERS | {
    "the group": (TEACHER, f"/groups/{GROUP}"),
    "weak spots": (TEACHER, f"/groups/{GROUP}/weak-spots"),
    "the catalogue": (TEACHER, "/catalogues/large"),
}


def rows(size: Size) -> Iterable[Row]:
    """The rows of this subject."""
    repeats, flat = size.of(9, 1), at_most_times(1.2 if not size.quick else 2.0)
    for many in (Sort(answers=10**power) for power in range(4, size.of(6, 4) + 1)):
        for name, (account, path) in PAGES.items():
            told = f"growing: {name}, in {many.answers:,} answers of {many.learners:,} beside {FEW.answers:,} of {FEW.learners}"
            yield Row(told, "s", flat, partial(_flat, account, path, FEW, many, repeats))
    for own in (Sort(own=10**power * 3) for power in range(3, size.of(4, 3) + 1)):
        for name, (account, path) in HERS.items():
            told = f"growing: {name}, after {own.own:,} answers of her own beside {OWN.own}"
            yield Row(told, "s", flat, partial(_flat, account, path, OWN, own, repeats))


def _flat(account: int, path: str, few: Sort, many: Sort, repeats: int) -> Measured:
    one, other = to_read("sqlite", few), to_read("sqlite", many)
    asked = _asking(one, account, path), _asking(other, account, path)
    return interleaved(*asked, repeats=repeats, clock=cores_of(one, other))


def _asking(store: Store, account: int, path: str) -> Callable[[], object]:
    visitor = enter(open_it(store), account)

    def ask() -> None:
        answer = visitor.get(path)
        assert answer.status_code == 200, (path, answer.status_code)

    return ask
