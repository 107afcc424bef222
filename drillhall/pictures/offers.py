"""Offers of one's own pictures to catalogues: what may be offered, what was answered, and taking back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from sqlalchemy import ColumnElement, and_, exists, select
from sqlalchemy.orm import Session

from drillhall.core.rights import Purpose, Rights, may
from drillhall.core.values import Use
from drillhall.errors import AlreadyDone, Conflict, Invalid, NotFound
from drillhall.pictures.rendered import hold
from drillhall.pictures.rights import write_rights
from drillhall.pictures.sharing import NotShared, agreed_to
from drillhall.pictures.storage import Storage
from drillhall.store.models.catalogue import CatalogueFormRow, CataloguePictureRow, CatalogueRow, StewardRow
from drillhall.store.models.pictures import PictureOfferRow, PictureRow, RightsRow
from drillhall.store.queries import pictures as queries
from drillhall.words import say

ACCEPTED: Final = "accepted"
DECLINED: Final = "declined"
TAKEN_BACK: Final = "taken back"
DECISIONS: Final = {ACCEPTED: say("accepted"), DECLINED: say("declined"), TAKEN_BACK: say("taken back")}
UNKNOWN_FORM: Final = say("This catalogue does not know the form that it shows.")


@dataclass(frozen=True, slots=True)
class OfferOfMine:
    """An offer as its owner sees it: to which catalogue, since when, what was decided; `is_held`: the catalogue holds it now."""

    id: int
    catalogue: str
    offered_at: datetime
    decision: str
    decided_at: datetime | None
    note: str
    is_held: bool
    use: str


@dataclass(frozen=True, slots=True)
class CatalogueToOffer:
    """A catalogue to which a picture may be offered, or why it may not.

    `is_hers`: its owner is steward of it; `needs_agreement`: it may go once she agrees that others drill it.
    """

    id: int
    title: str
    why_not: str
    is_hers: bool = False
    needs_agreement: bool = False


@dataclass(frozen=True, slots=True)
class Target:
    """A catalogue for which somebody's own pictures are fit; into one of which she is steward they go at once."""

    id: int
    key: str
    title: str
    is_hers: bool


@dataclass(frozen=True, slots=True)
class Offering:
    """What became of pictures for a catalogue: how many went in, were offered, or were there already, and those that may not."""

    put: int = 0
    offered: int = 0
    already: int = 0
    refused: tuple[NotShared, ...] = ()


def offer_picture(db: Session, *, owner_id: int, public_id: str, catalogue_id: int, on: date, at: datetime) -> int:
    """Offer one's own picture to a catalogue and return the offer's id.

    Raises NotFound where there is no such picture of hers or no such catalogue, Conflict where it is offered or held already,
    Invalid where its label or its rights do not do.
    """
    picture = _the_own(db, owner_id, public_id)
    catalogue = the_catalogue(db, catalogue_id)
    hold(db, picture)  # one offer of it at a time
    if _open_offer(db, picture.id, catalogue_id) is not None:
        raise AlreadyDone(say("It is offered to {title} already.", title=catalogue.title))
    if _held(db, picture.id, catalogue_id):
        raise AlreadyDone(say("{title} holds it already.", title=catalogue.title))
    if why := why_not_in(db, picture, catalogue_id, on=on):
        raise Invalid(why, field="catalogue")
    row = PictureOfferRow(picture_id=picture.id, catalogue_id=catalogue_id, offered_at=at)
    db.add(row)
    db.flush()
    return row.id


def let_drill(db: Session, storage: Storage, *, owner_id: int, public_id: str) -> None:
    """Write into one's own picture's rights that others may drill it, where its owner has reserved all of them."""
    picture = _the_own(db, owner_id, public_id)
    hold(db, picture)
    rights = queries.rights_of(db.get_one(RightsRow, picture.id))
    write_rights(db, storage, picture.id, agreed_to(rights, is_paid=False))


def the_catalogue(db: Session, catalogue_id: int) -> CatalogueRow:
    """Return a catalogue in use, or raise NotFound."""
    catalogue = db.get(CatalogueRow, catalogue_id)
    if catalogue is None or catalogue.retired_at is not None:
        raise NotFound(say("There is no such catalogue."))
    return catalogue


def take_back(db: Session, offer_id: int, *, owner_id: int, public_id: str, at: datetime) -> None:
    """Take back an offer of one's own picture: an open one ends; what was accepted leaves the catalogue and is its owner's again."""
    query = (
        select(PictureOfferRow)
        .join(PictureRow, PictureRow.id == PictureOfferRow.picture_id)
        .where(PictureOfferRow.id == offer_id, PictureRow.owner_id == owner_id, PictureRow.public_id == public_id)
        .with_for_update(of=PictureOfferRow)
    )
    offer = db.scalar(query)
    if offer is None:
        raise NotFound(say("There is no such offer of yours."))
    if offer.decision in (DECLINED, TAKEN_BACK):
        raise Conflict(say("This offer was {decision} already.", decision=DECISIONS[offer.decision]))
    if offer.decision == ACCEPTED:
        held = db.get(CataloguePictureRow, (offer.catalogue_id, offer.picture_id))
        if held is None or held.retired_at is not None:
            raise Conflict(say("The catalogue does not hold this picture any more."))
        held.retired_at = at
        db.flush()
        give_back(db, offer.picture_id)
    offer.decision, offer.decided_at, offer.decided_by = TAKEN_BACK, at, owner_id
    db.flush()


def list_offers_of(db: Session, *, owner_id: int, public_id: str) -> tuple[OfferOfMine, ...]:
    """Return the offers of one's own picture, the latest first."""
    picture = _the_own(db, owner_id, public_id)
    held = and_(
        CataloguePictureRow.catalogue_id == PictureOfferRow.catalogue_id,
        CataloguePictureRow.picture_id == PictureOfferRow.picture_id,
        CataloguePictureRow.retired_at.is_(None),
    )
    query = (
        select(PictureOfferRow, CatalogueRow.title, exists().where(held))
        .join(CatalogueRow, CatalogueRow.id == PictureOfferRow.catalogue_id)
        .where(PictureOfferRow.picture_id == picture.id)
        .order_by(PictureOfferRow.offered_at.desc(), PictureOfferRow.id.desc())
    )
    return tuple(
        OfferOfMine(
            row.id, title, row.offered_at, row.decision, row.decided_at, row.note, is_held and row.decision == ACCEPTED, picture.use
        )
        for row, title, is_held in db.execute(query)
    )


def list_catalogues_for(db: Session, *, owner_id: int, public_id: str, on: date) -> tuple[CatalogueToOffer, ...]:
    """Return the catalogues in use that know the picture's form and neither hold it nor have it offered, by title."""
    picture = _the_own(db, owner_id, public_id)
    has_form = exists().where(CatalogueFormRow.catalogue_id == CatalogueRow.id, _knows(picture))
    held = exists().where(
        CataloguePictureRow.catalogue_id == CatalogueRow.id,
        CataloguePictureRow.picture_id == picture.id,
        CataloguePictureRow.retired_at.is_(None),
    )
    offered = exists().where(
        PictureOfferRow.catalogue_id == CatalogueRow.id, PictureOfferRow.picture_id == picture.id, PictureOfferRow.decision == ""
    )
    rights = queries.rights_of(db.get_one(RightsRow, picture.id))
    why = why_not(picture, agreed_to(rights, is_paid=False), is_known=True, on=on)
    needs = agreed_to(rights, is_paid=False) != rights
    is_hers = exists().where(StewardRow.catalogue_id == CatalogueRow.id, StewardRow.account_id == owner_id)
    query = select(CatalogueRow.id, CatalogueRow.title, is_hers).where(CatalogueRow.retired_at.is_(None), has_form, ~held, ~offered)
    found = db.execute(query.order_by(CatalogueRow.title, CatalogueRow.id))
    return tuple(CatalogueToOffer(id_, title, why, bool(hers), needs) for id_, title, hers in found)


def list_targets(db: Session, owner_id: int) -> tuple[Target, ...]:
    """Return the catalogues in use that know a form of one of somebody's own pictures, her own ones first, then by title."""
    shows = select(PictureRow.form_id).where(PictureRow.owner_id == owner_id, PictureRow.retired_at.is_(None))
    knows = exists().where(
        CatalogueFormRow.catalogue_id == CatalogueRow.id, CatalogueFormRow.retired_at.is_(None), CatalogueFormRow.form_id.in_(shows)
    )
    is_hers = exists().where(StewardRow.catalogue_id == CatalogueRow.id, StewardRow.account_id == owner_id)
    query = select(CatalogueRow.id, CatalogueRow.key, CatalogueRow.title, is_hers).where(CatalogueRow.retired_at.is_(None), knows)
    found = [Target(id_, key, title, bool(hers)) for id_, key, title, hers in db.execute(query)]
    return tuple(sorted(found, key=lambda one: (not one.is_hers, one.title, one.id)))


def the_target(db: Session, owner_id: int, catalogue_id: int) -> Target:
    """Return a catalogue in use as somebody may offer to it, or raise NotFound."""
    row = the_catalogue(db, catalogue_id)
    return Target(row.id, row.key, row.title, db.get(StewardRow, (catalogue_id, owner_id)) is not None)


def why_not_in(db: Session, picture: PictureRow, catalogue_id: int, *, on: date) -> str:
    """Say why a catalogue cannot take a picture, or nothing."""
    known = select(CatalogueFormRow.id).where(CatalogueFormRow.catalogue_id == catalogue_id, _knows(picture))
    rights = queries.rights_of(db.get_one(RightsRow, picture.id))
    return why_not(picture, rights, is_known=db.scalar(known) is not None, on=on)


def why_not(picture: PictureRow, rights: Rights, *, is_known: bool, on: date) -> str:
    """Say why a catalogue that knows a picture's form, or does not, cannot take it, or nothing."""
    if picture.form_id is None:
        return say("Which form it shows is not said.")
    if not is_known:
        return UNKNOWN_FORM
    verdict = may(rights, owner_id=None, viewer_id=picture.owner_id, purpose=Purpose.GROUP, on=on)
    return "" if verdict.allowed else verdict.reason


def _knows(picture: PictureRow) -> ColumnElement[bool]:
    """Whether a catalogue's form is in use and the one that a picture shows; the query must have CatalogueFormRow."""
    return and_(CatalogueFormRow.form_id == picture.form_id, CatalogueFormRow.retired_at.is_(None))


def _the_own(db: Session, owner_id: int, public_id: str) -> PictureRow:
    picture = queries.find_own(db, owner_id, public_id)
    if picture is None:
        raise NotFound(say("There is no such picture of yours."))
    return picture


def _open_offer(db: Session, picture_id: int, catalogue_id: int) -> PictureOfferRow | None:
    query = select(PictureOfferRow).where(
        PictureOfferRow.picture_id == picture_id, PictureOfferRow.catalogue_id == catalogue_id, PictureOfferRow.decision == ""
    )
    return db.scalar(query)


def _held(db: Session, picture_id: int, catalogue_id: int) -> bool:
    row = db.get(CataloguePictureRow, (catalogue_id, picture_id))
    return row is not None and row.retired_at is None


def give_back(db: Session, picture_id: int) -> None:
    """Let its owner drill again what was held out, once no catalogue holds it; a portrait stays one, until she says otherwise."""
    picture = db.get_one(PictureRow, picture_id)
    if picture.use == Use.HELD_OUT and not queries.is_accepted(db, picture_id):
        picture.use = Use.PRACTICE.value
