"""The pictures of a catalogue as its stewards see them: what each shows, whose it is, its rights; and taking one out."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.rights import licence_name, maker_line
from drillhall.core.term_words import told_alt
from drillhall.core.values import Form
from drillhall.errors import Invalid, NotFound
from drillhall.pictures.offers import give_back
from drillhall.store.models.catalogue import CataloguePictureRow
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.queries import curating as reading
from drillhall.store.queries import pictures as queries
from drillhall.store.queries.splits import named_before_a_split
from drillhall.words import say, speaking

MOST_NAMED: Final = 200
"""More pictures than this are never judged in one act."""


@dataclass(frozen=True, slots=True)
class Stored:
    """One stored size of a picture; `recipe` stands in its address."""

    recipe: str
    width_px: int
    height_px: int


@dataclass(frozen=True, slots=True)
class CuratedPicture:
    """A picture of a catalogue: its sizes from small to large, what it is said to show, whose it is and what its rights allow."""

    id: int
    public_id: str
    sizes: tuple[Stored, ...]
    width_px: int
    height_px: int
    form: Form | None
    use: str
    alt: str
    owner: str
    credit: str
    licence: str
    licence_url: str
    taken_on: date | None
    checked_at: datetime | None

    @property
    def large(self) -> Stored:
        """The size to show where one must be named; these pages show pictures small."""
        return self.sizes[0]


def curated_pictures(
    db: Session, catalogue_id: int, account_id: int, picture_ids: Collection[int], *, on: date
) -> dict[int, CuratedPicture]:
    """Return pictures of a catalogue by id, as far as they may be shown to somebody on a day; three queries whatever their number."""
    found = reading.accepted_rows(db, catalogue_id, account_id, on=on, which=PictureRow.id.in_(picture_ids))
    kept = queries.served_files(db, [picture.id for picture, _, _, _ in found])
    files = {id_: [file for file in its if file.rendition == "as taken"] for id_, its in kept.items()}
    forms = form_names(db, {picture.form_id for picture, _, _, _ in found if picture.form_id is not None})
    return {
        picture.id: _curated(picture, rights, held, owner, files[picture.id], forms.get(picture.form_id or 0))
        for picture, rights, held, owner in found
        if files.get(picture.id)
    }


def pictures_to_name_anew(db: Session, catalogue_id: int, account_id: int, *, on: date) -> tuple[CuratedPicture, ...]:
    """Return the pictures that a split leaves to be named anew, as far as somebody may be shown them; each leaves once it is relabelled."""
    waiting = named_before_a_split(db, catalogue_id)
    return tuple(curated_pictures(db, catalogue_id, account_id, waiting, on=on).values()) if waiting else ()


def count_open_offers(db: Session, catalogue_id: int) -> int:
    """Return how many pictures are offered to a catalogue and wait for its stewards."""
    return reading.count_open_offers(db, catalogue_id)


def form_names(db: Session, form_ids: Collection[int]) -> dict[int, Form]:
    """Return forms by id, under a name that the hall knows of each."""
    return {form_id: queries.form_of(*form) for form_id, form in queries.forms_by_id(db, sorted(form_ids), speaking()).items()}


def the_named(
    db: Session, catalogue_id: int, account_id: int, public_ids: Sequence[str], *, on: date, least: int = 1
) -> tuple[tuple[PictureRow, CataloguePictureRow], ...]:
    """Return the pictures of a catalogue that an act names, in order of id.

    Raises Invalid where fewer than `least` or more than MOST_NAMED are named, NotFound where one of them is not there.
    """
    wanted = list(dict.fromkeys(public_ids))
    if not least <= len(wanted) <= MOST_NAMED:
        raise Invalid(
            say("Choose at least {least}, and at most {most_named} pictures.", least=least, most_named=MOST_NAMED), field="picture"
        )
    found = reading.accepted_rows(db, catalogue_id, account_id, on=on, which=PictureRow.public_id.in_(wanted))
    if len(found) < len(wanted):
        raise NotFound(say("There is no such picture in this catalogue, or not any more."))
    return tuple((picture, held) for picture, _, held, _ in found)


def take_out(db: Session, catalogue_id: int, account_id: int, public_id: str, *, on: date, at: datetime) -> None:
    """Take a picture out of a catalogue: it is no longer drilled from it; its owner keeps it, and answers given stay."""
    [(picture, held)] = the_named(db, catalogue_id, account_id, [public_id], on=on)
    held.retired_at = at
    db.flush()
    give_back(db, picture.id)


def mark_checked(db: Session, catalogue_id: int, account_id: int, public_id: str, *, on: date, at: datetime) -> None:
    """Note that a steward has looked at a picture's label and found it right; only answers given later can dispute it anew."""
    [(_, held)] = the_named(db, catalogue_id, account_id, [public_id], on=on)
    held.checked_by, held.checked_at = account_id, at


def _curated(
    picture: PictureRow, rights: RightsRow, held: CataloguePictureRow, owner: str | None, files: Sequence[FileRow], form: Form | None
) -> CuratedPicture:
    told = queries.rights_of(rights)
    return CuratedPicture(
        id=picture.id,
        public_id=picture.public_id,
        sizes=tuple(Stored(file.recipe, file.width_px, file.height_px) for file in files),
        width_px=files[0].width_px,
        height_px=files[0].height_px,
        form=form,
        use=picture.use,
        alt=told_alt(picture.alt),
        owner=owner or "",
        credit=maker_line(told, picture.medium),
        licence=licence_name(told),
        licence_url=told.licence.url if told.licence else "",
        taken_on=picture.taken_on,
        checked_at=held.checked_at,
    )
