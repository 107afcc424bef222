"""What a catalogue's stewards decide of the pictures that are offered to it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session

from drillhall.core.rights import licence_name, maker_line
from drillhall.core.term_words import USES, told_alt
from drillhall.core.values import Form, Use
from drillhall.errors import Conflict, Invalid, NotFound
from drillhall.pictures.offers import ACCEPTED, DECISIONS, DECLINED, why_not, why_not_in
from drillhall.store.models.catalogue import CatalogueFormRow, CataloguePictureRow, CatalogueRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import PictureOfferRow, PictureRow, RightsRow
from drillhall.store.queries import pictures as queries
from drillhall.words import say, speaking

LONGEST_NOTE: Final = 300
ENDING: Final = "webp"


@dataclass(frozen=True, slots=True)
class Offered:
    """An open offer as a steward sees it: the picture, its label, its rights, and who offers it."""

    id: int
    picture_id: int
    public_id: str
    recipe: str
    width_px: int
    height_px: int
    alt: str
    form: Form | None
    owner: str
    credit: str
    licence: str
    licence_url: str
    may_now: bool
    why: str
    cluster: str
    offered_at: datetime


@dataclass(frozen=True, slots=True)
class Acceptance:
    """What a steward says when she accepts: which form it shows, what it is for, its scene, and a word to its owner."""

    form_id: int
    use: Use = Use.PRACTICE
    cluster: str = ""
    note: str = ""


def decline(db: Session, offer_id: int, *, catalogue_id: int, by_id: int, note: str, at: datetime) -> None:
    """Decline an open offer, with a word to its owner."""
    offer = _the_open(db, offer_id, catalogue_id)
    offer.note = _note(note)
    offer.decision, offer.decided_at, offer.decided_by = DECLINED, at, by_id


def accept(db: Session, offer_id: int, said: Acceptance, *, catalogue_id: int, by_id: int, on: date, at: datetime) -> str:
    """Take an offered picture into the catalogue, under its label as it stands now, and return the name of its file there.

    Raises NotFound where this catalogue has no such open offer, Invalid where label, rights or cluster do not do.
    """
    offer = _the_open(db, offer_id, catalogue_id)
    picture = db.get_one(PictureRow, offer.picture_id)
    if why := why_not_in(db, picture, catalogue_id, on=on):
        raise Invalid(say("{why} Decline it, or ask its owner.", why=why), field="use")
    wanted, use = said.cluster.strip(), said.use
    if len(wanted) > 40:
        raise Invalid(say("The name of a cluster may have 40 letters at most."), field="cluster")
    _check_other_catalogues(db, picture, catalogue_id, wanted, use)
    _check_cluster(db, picture, wanted, use)
    picture.use, picture.cluster = use.value, wanted
    row = db.get(CataloguePictureRow, (catalogue_id, picture.id))
    if row is None:
        row = CataloguePictureRow(catalogue_id=catalogue_id, picture_id=picture.id, file=_file_name(db, catalogue_id, picture))
    row.place, row.accepted_by, row.retired_at = _next_place(db, catalogue_id), by_id, None
    db.add(row)
    offer.note = _note(said.note)
    offer.decision, offer.decided_at, offer.decided_by = ACCEPTED, at, by_id
    db.flush()
    return row.file


def as_it_stands(db: Session, offer_id: int, *, use: Use | None = None) -> Acceptance:
    """Return what accepts an offered picture under its own label and scene, for the use that its owner says or for another one."""
    picture = db.get_one(PictureRow, db.get_one(PictureOfferRow, offer_id).picture_id)
    if picture.form_id is None:
        raise Invalid(say("Which form it shows is not said. Say it as you accept it by itself."), field="form")
    return Acceptance(picture.form_id, use or Use(picture.use), picture.cluster)


def the_offered_picture(db: Session, offer_id: int, *, catalogue_id: int) -> int:
    """Return the picture of an open offer to a catalogue, or raise NotFound."""
    return _the_open(db, offer_id, catalogue_id).picture_id


def list_open_offers(db: Session, catalogue_id: int, *, on: date) -> tuple[Offered, ...]:
    """Return the open offers to a catalogue, the oldest first."""
    query = (
        select(PictureOfferRow, PictureRow, RightsRow, AccountRow.name)
        .join(PictureRow, PictureRow.id == PictureOfferRow.picture_id)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .outerjoin(AccountRow, AccountRow.id == PictureRow.owner_id)
        .where(PictureOfferRow.catalogue_id == catalogue_id, PictureOfferRow.decision == "", PictureRow.retired_at.is_(None))
        .order_by(PictureOfferRow.offered_at, PictureOfferRow.id)
    )
    found = db.execute(query).all()
    files = queries.served_files(db, [picture.id for _, picture, _, _ in found])
    forms = queries.forms_by_id(db, [picture.form_id for _, picture, _, _ in found if picture.form_id is not None], speaking())
    known = select(CatalogueFormRow.form_id).where(CatalogueFormRow.catalogue_id == catalogue_id, CatalogueFormRow.retired_at.is_(None))
    known_ids = set(db.scalars(known))
    shown = []
    for offer, picture, row, owner in found:
        named = forms.get(picture.form_id or 0)
        rights, file = queries.rights_of(row), files[picture.id][0]
        why = why_not(picture, rights, is_known=picture.form_id in known_ids, on=on)
        shown.append(
            Offered(
                id=offer.id,
                picture_id=picture.id,
                public_id=picture.public_id,
                recipe=file.recipe,
                width_px=file.width_px,
                height_px=file.height_px,
                alt=told_alt(picture.alt),
                form=queries.form_of(*named) if named else None,
                owner=owner or "",
                credit=maker_line(rights, picture.medium),
                licence=licence_name(rights),
                licence_url=rights.licence.url if rights.licence else "",
                may_now=not why,
                why=why,
                cluster=picture.cluster,
                offered_at=offer.offered_at,
            )
        )
    return tuple(shown)


def _the_open(db: Session, offer_id: int, catalogue_id: int) -> PictureOfferRow:
    query = (
        select(PictureOfferRow)
        .join(PictureRow, PictureRow.id == PictureOfferRow.picture_id)
        .where(PictureOfferRow.id == offer_id, PictureOfferRow.catalogue_id == catalogue_id, PictureRow.retired_at.is_(None))
        .with_for_update(of=PictureOfferRow)
    )
    offer = db.scalar(query)
    if offer is None:
        raise NotFound(say("There is no such offer to this catalogue."))
    if offer.decision:
        raise Conflict(say("This offer was {decision} already.", decision=DECISIONS[offer.decision]))
    return offer


def _check_other_catalogues(db: Session, picture: PictureRow, catalogue_id: int, cluster: str, use: Use) -> None:
    """What another catalogue holds has its use and its scene already: were they changed here, a test picture would be drilled."""
    elsewhere = _held_pictures().where(CataloguePictureRow.picture_id == picture.id, CataloguePictureRow.catalogue_id != catalogue_id)
    if db.scalar(elsewhere.limit(1)) is None:
        return
    if use.value != picture.use:
        raise Invalid(
            say("Another catalogue holds this picture as “{use}”. Take it for the same, or decline it.", use=USES[picture.use]), field="use"
        )
    if cluster != picture.cluster:
        raise Invalid(
            say("Another catalogue holds this picture in the scene “{cluster}”. Leave that as it is.", cluster=picture.cluster),
            field="cluster",
        )


def _check_cluster(db: Session, picture: PictureRow, cluster: str, use: Use) -> None:
    """A cluster of like pictures never stands both among those drilled and among those held out."""
    if not cluster:
        return
    held_out = PictureRow.use == Use.HELD_OUT.value
    query = _held_pictures().where(
        PictureRow.cluster == cluster,
        PictureRow.id != picture.id,
        held_out if use is not Use.HELD_OUT else ~held_out,
    )
    if db.scalar(query.limit(1)) is not None:
        side = say("held out") if use is not Use.HELD_OUT else say("drilled")
        raise Invalid(
            say("Pictures of the cluster {cluster} are {side}. Put all of a cluster to one use.", cluster=cluster, side=side), field="use"
        )


def _held_pictures() -> Select[int]:
    """Return the query for pictures that a catalogue in use holds."""
    return (
        select(PictureRow.id)
        .join(CataloguePictureRow, CataloguePictureRow.picture_id == PictureRow.id)
        .join(CatalogueRow, CatalogueRow.id == CataloguePictureRow.catalogue_id)
        .where(CataloguePictureRow.retired_at.is_(None), CatalogueRow.retired_at.is_(None), PictureRow.retired_at.is_(None))
    )


def _file_name(db: Session, catalogue_id: int, picture: PictureRow) -> str:
    """Make a name that no picture of the catalogue bears or bore: its form's key and a number."""
    key = db.scalar(
        select(CatalogueFormRow.key).where(CatalogueFormRow.catalogue_id == catalogue_id, CatalogueFormRow.form_id == picture.form_id)
    )
    like = func.lower(CataloguePictureRow.file).startswith(f"{key}-offered-".lower(), autoescape=True)
    taken = {
        file.casefold()
        for file in db.scalars(select(CataloguePictureRow.file).where(CataloguePictureRow.catalogue_id == catalogue_id, like))
    }
    return next(name for number in range(1, len(taken) + 2) if (name := f"{key}-offered-{number}.{ENDING}").casefold() not in taken)


def _next_place(db: Session, catalogue_id: int) -> int:
    last = db.scalar(select(func.max(CataloguePictureRow.place)).where(CataloguePictureRow.catalogue_id == catalogue_id))
    return 0 if last is None else last + 1


def _note(note: str) -> str:
    said = note.strip()
    if len(said) > LONGEST_NOTE:
        raise Invalid(say("The note may have {longest_note} letters at most.", longest_note=LONGEST_NOTE), field="note")
    return said
