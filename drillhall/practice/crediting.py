"""Credits the pictures of a pair set: every one that a learner may be shown, once, by maker."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date
from itertools import groupby
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.rights import altered_words, columns, licence_name
from drillhall.errors import NotFound
from drillhall.store.models.pictures import PictureRow, RightsRow
from drillhall.store.queries import credits as reading
from drillhall.store.queries.pictures import rights_of
from drillhall.words import say

NAMELESS: Final = say("Maker not named")
A_PAGE: Final = 200
"""How many credits a page holds; a set that is printed has as few pages as can be read on a phone."""


@dataclass(frozen=True, slots=True)
class CreditedPicture:
    """One picture with its whole credit; `recipe` names its largest size, `altered` says what was done to it where it is shown."""

    public_id: str
    recipe: str
    medium: str
    title: str
    credit: str
    rights_owner: str
    source: str
    licence: str
    licence_url: str
    statement: str
    altered: str


@dataclass(frozen=True, slots=True)
class CreditedMaker:
    """Whoever made pictures of a set, and which of them stand on this page."""

    name: str
    pictures: tuple[CreditedPicture, ...]

    @property
    def alike(self) -> tuple[tuple[CreditedPicture, ...], ...]:
        """The pictures by credit: those that share every word of it together, in the order of the first of each."""
        groups: dict[CreditedPicture, list[CreditedPicture]] = {}
        for one in self.pictures:
            groups.setdefault(replace(one, public_id="", recipe=""), []).append(one)
        return tuple(map(tuple, groups.values()))


@dataclass(frozen=True, slots=True)
class SetCredits:
    """A page of the credits of a pair set: makers by name; how many pictures and makers there are on all pages."""

    title: str
    makers: tuple[CreditedMaker, ...]
    total: int
    total_makers: int
    page: int
    size: int = A_PAGE

    @property
    def has_more(self) -> bool:
        """Whether another page follows."""
        return (self.page + 1) * self.size < self.total


def credits_of_set(db: Session, account_id: int, pair_set_id: int, *, on: date, page: int = 0, size: int = A_PAGE) -> SetCredits:
    """Return a page of the credits of a pair set for somebody who may take it; a page beyond the last is the last.

    Raises NotFound where no such set is on the shelf.
    """
    pair_set = reading.find_set(db, pair_set_id)
    if pair_set is None:
        raise NotFound(say("There is no such pair set on the shelf."))
    found = [(rights.creator.strip() or NAMELESS, row, rights) for row, rights in reading.pictures_of_set(db, account_id, pair_set, on=on)]
    found.sort(key=lambda one: (one[0].casefold(), one[0], one[1].id))
    page = min(page, max(0, len(found) - 1) // size)
    here = found[page * size : (page + 1) * size]
    ids = [row.id for _, row, _ in here]
    recipes, renditions = reading.largest_of(db, ids), reading.renditions_of(db, ids)
    credited = [(name, _picture(row, rights, recipes[row.id], renditions[row.id])) for name, row, rights in here]
    return SetCredits(
        title=pair_set.title,
        makers=tuple(CreditedMaker(name, tuple(one for _, one in its)) for name, its in groupby(credited, key=lambda one: one[0])),
        total=len(found),
        total_makers=len({name for name, _, _ in found}),
        page=page,
        size=size,
    )


def list_sets_of_drill(db: Session, account_id: int, drill_id: str) -> tuple[tuple[int, str], ...]:
    """Return id and title of the pair sets that a drill of somebody's was about."""
    return tuple(reading.sets_of_drill(db, account_id, drill_id))


def _picture(row: PictureRow, stored: RightsRow, recipe: str, renditions: Collection[str]) -> CreditedPicture:
    rights = rights_of(stored)
    return CreditedPicture(
        public_id=row.public_id,
        recipe=recipe,
        medium=row.medium,
        title=rights.title,
        credit=rights.credit if rights.credit != rights.creator else "",
        rights_owner=rights.rights_owner,
        source=rights.source,
        licence=licence_name(rights),
        licence_url=rights.licence.url if rights.licence else "",
        statement=rights.statement,
        altered=altered_words(renditions) if columns(rights).may_alter else "",
    )
