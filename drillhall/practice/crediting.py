"""Credits the pictures of a pair set: every one that a learner may be shown, once, by maker."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from itertools import groupby

from sqlalchemy.orm import Session

from drillhall.core.rights import altered_words, columns, licence_name
from drillhall.core.values import Rendition
from drillhall.errors import NotFound
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.queries import credits as reading
from drillhall.store.queries.pictures import rights_of

NAMELESS = "Maker not named"


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
    """Whoever made pictures of a set, and which."""

    name: str
    pictures: tuple[CreditedPicture, ...]


@dataclass(frozen=True, slots=True)
class SetCredits:
    """The credits of a pair set: makers by name."""

    title: str
    makers: tuple[CreditedMaker, ...]

    @property
    def pictures(self) -> int:
        """How many pictures there are."""
        return sum(len(maker.pictures) for maker in self.makers)


def credits_of_set(db: Session, account_id: int, pair_set_id: int, *, on: date) -> SetCredits:
    """Return the credits of a pair set for somebody who may take it, or raise NotFound where no such set is on the shelf."""
    pair_set = reading.find_set(db, pair_set_id)
    if pair_set is None:
        raise NotFound("There is no such pair set on the shelf.")
    found = reading.pictures_of_set(db, account_id, pair_set, on=on)
    files = reading.files_of(db, [picture.id for picture, _ in found])
    credited = [(rights.creator.strip() or NAMELESS, _picture(row, rights, files[row.id])) for row, rights in found if row.id in files]
    credited.sort(key=lambda one: one[0].casefold())
    return SetCredits(
        title=pair_set.title,
        makers=tuple(CreditedMaker(name, tuple(one for _, one in its)) for name, its in groupby(credited, key=lambda one: one[0])),
    )


def list_sets_of_drill(db: Session, account_id: int, drill_id: str) -> tuple[tuple[int, str], ...]:
    """Return id and title of the pair sets that a drill of somebody's was about."""
    return tuple(reading.sets_of_drill(db, account_id, drill_id))


def _picture(row: PictureRow, stored: RightsRow, files: list[FileRow]) -> CreditedPicture:
    rights = rights_of(stored)
    whole = [file for file in files if file.rendition == Rendition.AS_TAKEN] or files
    return CreditedPicture(
        public_id=row.public_id,
        recipe=whole[-1].recipe,
        medium=row.medium,
        title=rights.title,
        credit=rights.credit if rights.credit != rights.creator else "",
        rights_owner=rights.rights_owner,
        source=rights.source,
        licence=licence_name(rights),
        licence_url=rights.licence.url if rights.licence else "",
        statement=rights.statement,
        altered=altered_words(file.rendition for file in files) if columns(rights).may_alter else "",
    )
