"""What a picture is said to show: correcting it, undoing that, and the list of corrections.

Answers hang on labels, so nobody calls `write_label` or `undo_label` but an act, which has them judged anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from sqlalchemy import exists, select
from sqlalchemy.orm import Session

from drillhall.core.labels import Label, LabelChange, label_in_force, told_note
from drillhall.core.rights import Rights, licence_name, maker_line
from drillhall.core.term_words import told_alt
from drillhall.core.values import Form, Use
from drillhall.errors import Conflict, Invalid, NotFound
from drillhall.store.models.catalogue import CatalogueFormRow, CataloguePictureRow, CatalogueRow
from drillhall.store.models.concepts import FormRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import LabelChangeRow, PictureRow, RightsRow
from drillhall.store.queries import own_pictures
from drillhall.store.queries import pictures as queries
from drillhall.words import say, speaking

LONGEST_NOTE: Final = 300


@dataclass(frozen=True, slots=True)
class LabelView:
    """A label in forms that have names: one, or two between which it lies, or none."""

    form: Form | None
    either: tuple[Form, Form] | None


@dataclass(frozen=True, slots=True)
class Labelled:
    """A picture and what it is said to show; one that is held out not even its owner looks at.

    `recipe` is empty where nobody is shown it: it is withdrawn, its files are deleted, or its permission has ended.
    """

    public_id: str
    recipe: str
    width_px: int
    height_px: int
    alt: str
    says: LabelView
    held_out: bool


@dataclass(frozen=True, slots=True)
class ListedChange:
    """A correction in a list: what changed from what to what, by whom and when, whether it was undone, and the licence."""

    id: int
    public_id: str
    recipe: str
    width_px: int
    height_px: int
    alt: str
    before: LabelView
    after: LabelView
    by: str
    at: datetime
    note: str
    undone_at: datetime | None
    undone_by: str
    credit: str
    licence: str
    licence_url: str


def the_label(db: Session, picture_id: int) -> Label:
    """Return what a picture is said to show."""
    return _label(db.get_one(PictureRow, picture_id))


def the_labelled(db: Session, picture_id: int, *, on: date) -> Labelled:
    """Return a picture with what it is said to show, to whoever may correct that; `on` is her day."""
    picture, sizes = db.get_one(PictureRow, picture_id), queries.served_files(db, [picture_id]).get(picture_id, [])
    until = db.get_one(RightsRow, picture_id).may_until
    is_shown = bool(sizes) and picture.retired_at is None and (until is None or on <= until)
    label = _label(picture)
    named = [form for form in (label.form_id, *(label.either or ())) if form is not None]
    forms = {form_id: queries.form_of(*found) for form_id, found in queries.forms_by_id(db, named, speaking()).items()}
    return Labelled(
        public_id=picture.public_id,
        recipe=sizes[-1].recipe if is_shown else "",
        width_px=sizes[-1].width_px if sizes else picture.width_px,
        height_px=sizes[-1].height_px if sizes else picture.height_px,
        alt=told_alt(picture.alt),
        says=_view(label, forms),
        held_out=picture.use == Use.HELD_OUT,
    )


def the_own_picture(db: Session, owner_id: int, public_id: str) -> int:
    """Return the id of one's own picture, or raise NotFound."""
    picture = queries.find_own(db, owner_id, public_id)
    if picture is None:
        raise NotFound(say("There is no such picture of yours."))
    return picture.id


def the_held_picture(db: Session, catalogue_id: int, public_id: str) -> int:
    """Return the id of a picture that a catalogue holds, or raise NotFound."""
    query = (
        select(PictureRow.id)
        .join(CataloguePictureRow, CataloguePictureRow.picture_id == PictureRow.id)
        .where(
            PictureRow.public_id == public_id, CataloguePictureRow.catalogue_id == catalogue_id, CataloguePictureRow.retired_at.is_(None)
        )
    )
    found = db.scalar(query)
    if found is None:
        raise NotFound(say("There is no such picture in this catalogue."))
    return found


def check_answers_for(db: Session, picture_id: int, account_id: int) -> None:
    """Raise Invalid where a catalogue of which somebody is no steward holds a picture: others answer there for what it shows."""
    if own_pictures.settled_by_others(db, account_id, [picture_id]):
        raise Invalid(
            say(
                "A catalogue of other stewards holds this picture, and they answer for what it shows. Take it back "
                "from there first, or tell them what is wrong."
            ),
            field="form",
        )


def write_label(db: Session, picture_id: int, label: Label, *, by_id: int, at: datetime, note: str = "") -> bool:
    """Say what a picture shows, keep that as an event where something else was said before, and return whether anything changed.

    Raises Invalid where there is no such form, or a catalogue holds the picture and does not know the form.
    """
    picture = db.scalars(select(PictureRow).where(PictureRow.id == picture_id).with_for_update()).one()
    before = _label(picture)
    if label == before:
        return False
    _check(db, picture, label)
    said = note.strip()
    if len(said) > LONGEST_NOTE:
        raise Invalid(say("The note may have {longest_note} letters at most.", longest_note=LONGEST_NOTE), field="note")
    # Of a picture whose form was never said nobody has been asked, so the first label corrects nothing.
    if before.form_id is not None or db.scalar(select(exists().where(LabelChangeRow.picture_id == picture_id))):
        either, other = label.either or (None, None)
        db.add(
            LabelChangeRow(
                picture_id=picture_id,
                from_form_id=before.form_id,
                to_form_id=label.form_id,
                either_form_id=either,
                or_form_id=other,
                by_id=by_id,
                at=at,
                note=said,
            )
        )
    _set(db, picture, label)
    return True


def undo_label(db: Session, change_id: int, *, picture_id: int, by_id: int, at: datetime) -> None:
    """Undo a correction of a picture; the latest that is not undone is in force, else what was said before them all.

    Raises NotFound where the picture has no such correction, Conflict where it was undone already, Invalid where a catalogue that
    holds the picture does not know the form that would be in force.
    """
    picture = db.scalars(select(PictureRow).where(PictureRow.id == picture_id).with_for_update()).one()
    rows = _changes(db, picture_id)
    row = next((one for one in rows if one.id == change_id), None)
    if row is None:
        raise NotFound(say("There is no such correction of this picture."))
    if row.undone_at is not None:
        raise Conflict(say("This correction was undone already."))
    row.undone_at, row.undone_by = at, by_id
    label = label_in_force([_change(one) for one in rows])
    _check(db, picture, label)
    _set(db, picture, label)


def list_changes(db: Session, *, picture_id: int | None = None, catalogue_id: int | None = None) -> tuple[ListedChange, ...]:
    """Return the corrections of one picture, or of every picture that a catalogue holds, the latest first."""
    query = select(LabelChangeRow).order_by(LabelChangeRow.at.desc(), LabelChangeRow.id.desc())
    if picture_id is not None:
        query = query.where(LabelChangeRow.picture_id == picture_id)
    if catalogue_id is not None:
        held = select(CataloguePictureRow.picture_id).where(
            CataloguePictureRow.catalogue_id == catalogue_id, CataloguePictureRow.retired_at.is_(None)
        )
        query = query.where(LabelChangeRow.picture_id.in_(held))
    return _listed(db, db.scalars(query).all())


def list_forms(db: Session, catalogue_id: int) -> tuple[Form, ...]:
    """Return the forms in use of a catalogue, in its order."""
    rows = queries.forms_of_catalogues(db, [catalogue_id], speaking())
    return queries.tell_apart(db, [queries.form_of(row, name) for _, _, row, name in rows])


def _check(db: Session, picture: PictureRow, label: Label) -> None:
    named = [form for form in (label.form_id, *(label.either or ())) if form is not None]
    if len(db.scalars(select(FormRow.id).where(FormRow.id.in_(named))).all()) != len(named):
        raise Invalid(say("Choose what the picture shows from the list."), field="form")
    if label.form_id is None:
        return
    knows = exists().where(
        CatalogueFormRow.catalogue_id == CatalogueRow.id,
        CatalogueFormRow.form_id == label.form_id,
        CatalogueFormRow.retired_at.is_(None),
    )
    query = (
        select(CatalogueRow.title)
        .join(CataloguePictureRow, CataloguePictureRow.catalogue_id == CatalogueRow.id)
        .where(CataloguePictureRow.picture_id == picture.id, CataloguePictureRow.retired_at.is_(None), CatalogueRow.retired_at.is_(None))
    )
    title = db.scalar(query.where(~knows).limit(1))
    if title is not None:
        raise Invalid(
            say("{title} holds this picture and does not know that form. It has to leave that catalogue first.", title=title), field="form"
        )


def _label(picture: PictureRow) -> Label:
    either, other = picture.either_form_id, picture.or_form_id
    return Label(picture.form_id, (either, other) if either is not None and other is not None else None)


def _set(db: Session, picture: PictureRow, label: Label) -> None:
    picture.form_id = label.form_id
    picture.either_form_id, picture.or_form_id = label.either or (None, None)
    db.flush()


def _changes(db: Session, picture_id: int) -> Sequence[LabelChangeRow]:
    query = select(LabelChangeRow).where(LabelChangeRow.picture_id == picture_id)
    return db.scalars(query.order_by(LabelChangeRow.at, LabelChangeRow.id)).all()


def _change(row: LabelChangeRow) -> LabelChange:
    return LabelChange(Label(row.from_form_id), _after(row), undone=row.undone_at is not None)


def _after(row: LabelChangeRow) -> Label:
    either = (row.either_form_id, row.or_form_id)
    return Label(row.to_form_id, (either[0], either[1]) if either[0] is not None and either[1] is not None else None)


def _listed(db: Session, rows: Sequence[LabelChangeRow]) -> tuple[ListedChange, ...]:
    pictures = {row.id: row for row in db.scalars(select(PictureRow).where(PictureRow.id.in_([row.picture_id for row in rows])))}
    files, rights = queries.served_files(db, list(pictures)), _rights(db, list(pictures))
    who = [account for row in rows for account in (row.by_id, row.undone_by) if account is not None]
    names = {row.id: row.name for row in db.execute(select(AccountRow.id, AccountRow.name).where(AccountRow.id.in_(who)))}
    named = [form for row in rows for form in (row.from_form_id, row.to_form_id, row.either_form_id, row.or_form_id) if form is not None]
    forms = {form_id: queries.form_of(*found) for form_id, found in queries.forms_by_id(db, named, speaking()).items()}
    listed = []
    for row in rows:
        picture, size, said = pictures[row.picture_id], files[row.picture_id][0], rights[row.picture_id]
        listed.append(
            ListedChange(
                id=row.id,
                public_id=picture.public_id,
                recipe=size.recipe,
                width_px=size.width_px,
                height_px=size.height_px,
                alt=told_alt(picture.alt),
                before=_view(Label(row.from_form_id), forms),
                after=_view(_after(row), forms),
                by=names.get(row.by_id or 0, ""),
                at=row.at,
                note=told_note(row.note),
                undone_at=row.undone_at,
                undone_by=names.get(row.undone_by or 0, ""),
                credit=maker_line(said, picture.medium),
                licence=licence_name(said),
                licence_url=said.licence.url if said.licence else "",
            )
        )
    return tuple(listed)


def _rights(db: Session, picture_ids: Sequence[int]) -> dict[int, Rights]:
    query = select(RightsRow).where(RightsRow.picture_id.in_(picture_ids))
    return {row.picture_id: queries.rights_of(row) for row in db.scalars(query)}


def _view(label: Label, forms: dict[int, Form]) -> LabelView:
    either = (forms[label.either[0]], forms[label.either[1]]) if label.either else None
    return LabelView(forms[label.form_id] if label.form_id is not None else None, either)
