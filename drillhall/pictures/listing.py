"""Lists a person's own pictures: what each shows, who sees it and why nobody else, and which wait for a word."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Final

from sqlalchemy import ColumnElement
from sqlalchemy.orm import Session

from drillhall.core.rights import Purpose, Rights, licence_name, maker_line, may
from drillhall.core.term_words import told_alt
from drillhall.core.values import Form, Use
from drillhall.pictures.found import differences_in, found_day
from drillhall.store.models.pictures import FileRow, PictureRow
from drillhall.store.queries import own_pictures as mine
from drillhall.store.queries import pictures as queries
from drillhall.store.queries.marks import next_unframed, subjects_of
from drillhall.words import say, speaking

A_PAGE: Final = 24
"""How many of her pictures a page holds."""


class Show(StrEnum):
    """Which of her pictures are listed."""

    ALL = "all"
    WAITING = "waiting"
    NOT_DRILLED = "not-drilled"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True, slots=True)
class OwnPicture:
    """One of a person's own pictures, its small size, and in a sentence who sees it and why nobody else.

    `form` None: which form it shows is not said, or it is one of the two in `either`; `credit` is the whole of it up to the
    licence, which a page links; `recipe` is empty where not even she is shown it (withdrawn, held out, or its permission ended);
    `found` is what the file says of itself.
    """

    public_id: str
    recipe: str
    width_px: int
    height_px: int
    form: Form | None
    either: tuple[Form, ...]
    medium: str
    alt: str
    credit: str
    licence: str
    licence_url: str
    seen_by: str
    use: str
    is_waiting: bool
    is_withdrawn: bool
    has_files: bool
    made_at: datetime
    found: dict[str, str]

    @property
    def found_on(self) -> date | None:
        """The day on which the file says that it was taken, or None."""
        return found_day(self.found)

    @property
    def kept_back(self) -> bool:
        """Whether not even its owner is shown it."""
        return not self.recipe


@dataclass(frozen=True, slots=True)
class OwnPictures:
    """A page of a person's own pictures, the latest first; how many she has of this sort, and of each of the others.

    `next_unframed` names the latest in use that has no frame, None where all have one.
    """

    pictures: tuple[OwnPicture, ...]
    total: int
    page: int
    counts: dict[str, int]
    forms: tuple[Form, ...]
    size: int = A_PAGE
    next_unframed: str | None = None

    @property
    def has_more(self) -> bool:
        """Whether another page follows."""
        return (self.page + 1) * self.size < self.total


def list_own_pictures(
    db: Session, account_id: int, *, on: date, page: int = 0, show: Show = Show.ALL, form_id: int | None = None, size: int = A_PAGE
) -> OwnPictures:
    """Return a page of somebody's own pictures of one sort, of one form where it is given, the latest first."""
    which = _condition(show) if form_id is None else _condition(show) & (PictureRow.form_id == form_id)
    found = mine.list_mine(db, account_id, which, skip=page * size, most=size)
    forms = queries.forms_by_id(db, list(mine.forms_of_mine(db, account_id)), speaking())
    return OwnPictures(
        pictures=as_listed(db, found, on=on),
        total=mine.count_mine(db, account_id, which),
        page=page,
        counts={one.value: mine.count_mine(db, account_id, _condition(one)) for one in Show},
        forms=tuple(
            sorted(queries.tell_apart(db, (queries.form_of(*form) for form in forms.values())), key=lambda form: (form.name, form.wears))
        ),
        size=size,
        next_unframed=next_unframed(db, account_id),
    )


def as_listed(db: Session, found: Sequence[mine.Mine], *, on: date) -> tuple[OwnPicture, ...]:
    """Return pictures with their rights as their owner's pages show them."""
    ids = [picture.id for picture, _ in found]
    files = {id_: [file for file in its if file.rendition == "as taken"] for id_, its in queries.served_files(db, ids).items()}
    titles, groups = queries.titles_holding(db, ids), mine.groups_seeing(db, ids)
    said = [id_ for picture, _ in found for id_ in (picture.form_id, picture.either_form_id, picture.or_form_id) if id_ is not None]
    forms = {id_: queries.form_of(*form) for id_, form in queries.forms_by_id(db, said, speaking()).items()}
    listed = []
    marked = subjects_of(db, ids)
    for picture, rights in found:
        told = queries.rights_of(rights)
        others = seen_by(picture, told, titles.get(picture.id, ()), groups.get(picture.id, ()), on)
        if picture.several and picture.id not in marked and picture.form_id is not None and picture.retired_at is None:
            others = say("Several are on it, so it is not drilled until a mark says which is meant. {others}", others=others)
        listed.append(_listed(picture, told, files.get(picture.id, []), forms, others, on))
    return tuple(listed)


def seen_by(picture: PictureRow, rights: Rights, titles: Sequence[str], groups: Sequence[str], on: date) -> str:
    """Say who sees a picture, and why nobody else."""
    if picture.retired_at is not None:
        return say("Withdrawn: nobody is shown it.")
    if not _may_own(picture, rights, on):
        return may(rights, owner_id=None, viewer_id=0, purpose=Purpose.GROUP, on=on).reason
    if picture.described_at is None:
        return say("Only you see it: nothing is said of it yet.")
    if picture.form_id is None:
        if picture.either_form_id:
            return say("Only you see it, and it is not drilled: which of two forms it shows is open.")
        return say("Only you see it, and it is not drilled: which form it shows is not said.")
    if picture.use == Use.HELD_OUT:
        return say("Kept for field tests: only the stewards of its catalogue see it.")
    return _seen_by_others(rights, titles, groups, on)


def _seen_by_others(rights: Rights, titles: Sequence[str], groups: Sequence[str], on: date) -> str:
    others = may(rights, owner_id=None, viewer_id=0, purpose=Purpose.GROUP, on=on)
    if not others.allowed:
        return say("Only you see it. {reason}", reason=others.reason)
    if not titles and not groups:
        return say("Only you see it: it is shared with no group and stands in no catalogue.")
    drilling, of_groups = ", ".join(titles), ", ".join(groups)
    if not groups:
        return say("Seen by everybody who drills {titles}.", titles=drilling)
    if not titles:
        return say("Seen by the people of {groups}.", groups=of_groups)
    return say("Seen by everybody who drills {titles} and by the people of {groups}.", titles=drilling, groups=of_groups)


def _condition(show: Show) -> ColumnElement[bool]:
    conditions = {Show.ALL: mine.IN_USE, Show.WAITING: mine.WAITING, Show.WITHDRAWN: mine.WITHDRAWN}
    return conditions[show] if show in conditions else mine.not_drilled()


def _may_own(picture: PictureRow, rights: Rights, on: date) -> bool:
    return may(rights, owner_id=picture.owner_id, viewer_id=picture.owner_id, purpose=Purpose.OWN, on=on).allowed


def _listed(picture: PictureRow, rights: Rights, files: Sequence[FileRow], forms: dict[int, Form], seen: str, on: date) -> OwnPicture:
    is_shown = bool(files) and picture.retired_at is None and picture.use != Use.HELD_OUT and _may_own(picture, rights, on)
    either = (picture.either_form_id, picture.or_form_id)
    return OwnPicture(
        public_id=picture.public_id,
        recipe=files[0].recipe if is_shown else "",
        width_px=files[0].width_px if files else picture.width_px,
        height_px=files[0].height_px if files else picture.height_px,
        form=forms.get(picture.form_id or 0),
        either=tuple(forms[id_] for id_ in either if id_ is not None),
        medium=picture.medium,
        alt=told_alt(picture.alt),
        credit=maker_line(rights, picture.medium),
        licence=licence_name(rights),
        licence_url=rights.licence.url if rights.licence else "",
        seen_by=seen,
        use=picture.use,
        is_waiting=picture.described_at is None and picture.retired_at is None,
        is_withdrawn=picture.retired_at is not None,
        has_files=bool(files),
        made_at=picture.made_at,
        found={**picture.found, "differs": differences_in(picture.found)},
    )
