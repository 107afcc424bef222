"""Joins two concepts that were learnt apart, as a steward says that they have one boundary; parts them where nobody says so any more.

What a learner was asked and what she said is the only truth, so no question and no answer is rewritten: a showing is told which form
stands now for one that it names, and it is read through that. What merely points at a form or a pair (what catalogues teach, what pictures
show, under which pair a round is filed) is moved to the one that stays, each move written down; so a joining is taken back exactly, and
memory and counts, folded from the log, follow by themselves. Rewriting the answers would have lost what was said; looking the standing
form up at every reading would have put a join into some thirty queries, and into each to come.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import func, or_, select, update
from sqlalchemy.orm import Session, aliased

from drillhall.catalogues.writing import stored_catalogue, write_rows
from drillhall.core.terms import CONGRUENT
from drillhall.errors import Invalid
from drillhall.store.base import Row
from drillhall.store.models.catalogue import CatalogueFormRow, CataloguePictureRow, CatalogueRow
from drillhall.store.models.concepts import ConceptMappingRow, ConceptRow, FormRow, NameRow, PairRow
from drillhall.store.models.in_words import DescriptionRow
from drillhall.store.models.joins import ConceptJoinRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import RoundRow, ShowingRow
from drillhall.store.models.rarity import RarityShowingRow
from drillhall.store.moving import move, put_back, references_to, set_one
from drillhall.words import say

SAID: Final = tuple(Row.metadata.tables[name].c.said_form_id for name in (DescriptionRow.__tablename__, RarityShowingRow.__tablename__))
"""Columns that name a form or neither, and so are no foreign keys."""


@dataclass(frozen=True, slots=True)
class Apart:
    """Two concepts that both have forms: which stays, which joins it, and of those that wear the same the one that stands for another."""

    stays: int
    joins: int
    forms: Mapping[int, int]


@dataclass(frozen=True, slots=True)
class Joined:
    """What a joining or a parting touched: the pairs whose log is to be folded anew, and those whose two forms have become one."""

    join_id: int
    pairs: frozenset[int]
    fell_away: frozenset[int] = frozenset()


def find_apart(db: Session, subject: str, other: str) -> Apart | None:
    """Return what would become one if two concepts, by their taxonConceptIDs, were said to be congruent; None where nothing would.

    Raises Invalid where a catalogue in use teaches two forms that would become one side by side.
    """
    rows = {row.taxon_concept_id: row for row in db.scalars(select(ConceptRow).where(ConceptRow.taxon_concept_id.in_((subject, other))))}
    if len(rows) < 2:
        return None
    apart = _apart(db, *rows.values())
    if apart is not None and _taught_side_by_side(db, apart.forms):
        mend = say("A catalogue of this hall teaches the two side by side. They can become one once it no longer does.")
        raise Invalid(mend, field="object")
    return apart


def join(db: Session, subject: str, other: str, *, by: int, at: datetime) -> Joined:
    """Make two concepts one that `find_apart` found apart: each form of the one that joins is told from now on as its like."""
    rows = {row.taxon_concept_id: row.id for row in db.scalars(select(ConceptRow).where(ConceptRow.taxon_concept_id.in_((subject, other))))}
    row = ConceptJoinRow(subject_id=rows[subject], object_id=rows[other], by_id=by, at=at)
    db.add(row)
    db.flush()
    return _apply(db, row)


def part_unsaid(db: Session) -> tuple[Joined, ...]:
    """Take back every joining of two concepts that no catalogue says to be congruent any more; return what that touched.

    One that is out of use for now still says it: taking it into use again is to find everything as it was.
    Joinings hang on one another in their order, so all from the first such one on are taken back, and the others made again.
    """
    rows = db.scalars(select(ConceptJoinRow).order_by(ConceptJoinRow.id).with_for_update()).all()
    unsaid = {row.id for row in rows if not _is_said(db, row)}
    later = [row for row in rows if unsaid and row.id >= min(unsaid)]
    touched = [_take_back(db, row) for row in reversed(later)]
    for row in later:
        if row.id in unsaid:
            db.delete(row)
            db.flush()
        else:
            touched.append(_apply(db, row))
    return tuple(touched)


def hang_anew(db: Session, *, at: datetime) -> frozenset[int]:
    """Let catalogues teach the forms of their own concepts that hung on another one's while they were written; return pictures relabelled.

    What a joining moved is put back; what was written while it lasted was never moved, and is written anew.
    """
    bound = func.coalesce(ConceptRow.same_as, ConceptRow.id)
    query = (
        select(CatalogueFormRow.catalogue_id, CatalogueFormRow.form_id, CatalogueFormRow.key)
        .join(NameRow, NameRow.id == CatalogueFormRow.name_id)
        .join(ConceptRow, ConceptRow.id == NameRow.concept_id)
        .join(FormRow, FormRow.id == CatalogueFormRow.form_id)
        .where(bound != FormRow.concept_id, CatalogueFormRow.retired_at.is_(None))
    )
    strayed: dict[int, dict[str, int]] = defaultdict(dict)
    for catalogue_id, form_id, key in db.execute(query):
        strayed[catalogue_id][key] = form_id
    relabelled: set[int] = set()
    for catalogue_id, forms in strayed.items():
        written = write_rows(db, stored_catalogue(db, catalogue_id).without_pictures(), at=at)
        for key, form_id in forms.items():
            held = select(CataloguePictureRow.picture_id).where(CataloguePictureRow.catalogue_id == catalogue_id)
            theirs = (PictureRow.form_id == form_id, PictureRow.id.in_(held))
            relabelled |= set(db.scalars(select(PictureRow.id).where(*theirs)))
            db.execute(update(PictureRow).where(*theirs).values(form_id=written.form_ids[key]))
    return frozenset(relabelled)


def _apart(db: Session, first: ConceptRow, second: ConceptRow) -> Apart | None:
    stays, joins = sorted((first.same_as or first.id, second.same_as or second.id))
    kept, lost = _forms(db, stays), _forms(db, joins)
    forms = {lost[worn]: kept[worn] for worn in lost.keys() & kept.keys()}
    return Apart(stays, joins, forms) if stays != joins and kept and lost else None


def _forms(db: Session, concept_id: int) -> dict[tuple[str, ...], int]:
    """Return the forms of a concept that stand for themselves, by what they wear."""
    rows = db.scalars(select(FormRow).where(FormRow.concept_id == concept_id, FormRow.told_as.is_(None)))
    return {(row.sex, row.life_stage, row.plumage, row.variant): row.id for row in rows}


def _taught_side_by_side(db: Session, forms: Mapping[int, int]) -> bool:
    one, two = aliased(CatalogueFormRow), aliased(CatalogueFormRow)
    query = (
        select(one.form_id, two.form_id)
        .join(two, two.catalogue_id == one.catalogue_id)
        .join(CatalogueRow, CatalogueRow.id == one.catalogue_id)
        .where(one.form_id.in_(forms), one.retired_at.is_(None), two.retired_at.is_(None), CatalogueRow.retired_at.is_(None))
    )
    return any(forms[lost] == kept for lost, kept in db.execute(query))


def _is_said(db: Session, row: ConceptJoinRow) -> bool:
    said = ConceptMappingRow
    sides = (
        (said.subject_id == row.subject_id) & (said.object_id == row.object_id),
        (said.subject_id == row.object_id) & (said.object_id == row.subject_id),
    )
    return bool(db.scalar(select(func.count()).select_from(said).where(said.relation == CONGRUENT, or_(*sides))))


def _apply(db: Session, row: ConceptJoinRow) -> Joined:
    apart = _apart(db, db.get_one(ConceptRow, row.subject_id), db.get_one(ConceptRow, row.object_id))
    if apart is None:
        return Joined(row.id, frozenset())
    touched: set[int] = set()
    fell_away: set[int] = set()
    for lost, kept in sorted(apart.forms.items()):
        moved, fallen = _move_form(db, row.id, lost, kept)
        touched |= moved
        fell_away |= fallen
    concept, form = Row.metadata.tables["concept"], Row.metadata.tables["form"]
    move(db, row.id, form.c.concept_id, apart.joins, apart.stays)
    move(db, row.id, concept.c.same_as, apart.joins, apart.stays)
    set_one(db, row.id, concept.c.same_as, apart.joins, apart.stays)
    db.expire_all()
    _rename_showings(db, touched | fell_away)
    return Joined(row.id, frozenset(touched | fell_away), frozenset(fell_away))


def _move_form(db: Session, join_id: int, lost: int, kept: int) -> tuple[set[int], set[int]]:
    """Move what names a form to the one that stands for it; return the pairs touched, and those that are no pairs any more."""
    told = _told(db)
    touched: set[int] = set()
    fell_away: set[int] = set()
    for pair in db.scalars(select(PairRow).where(or_(PairRow.first_form_id == lost, PairRow.second_form_id == lost)).order_by(PairRow.id)):
        other = pair.second_form_id if pair.first_form_id == lost else pair.first_form_id
        other = told.get(other, other)
        if other == kept:
            fell_away.add(pair.id)
            continue
        target = _pair_of(db, kept, other)
        touched |= {pair.id, target}
        for column in references_to("pair"):
            move(db, join_id, column, pair.id, target)
    for column in (*references_to("form"), *SAID):
        move(db, join_id, column, lost, kept)
    set_one(db, join_id, Row.metadata.tables["form"].c.told_as, lost, kept)
    return touched, fell_away


def _take_back(db: Session, row: ConceptJoinRow) -> Joined:
    component = _component(db, row.subject_id)
    put_back(db, row.id)
    db.expire_all()
    sides = or_(PairRow.first_form_id.in_(component), PairRow.second_form_id.in_(component))
    pairs = set(db.scalars(select(PairRow.id).where(sides)))
    _rename_showings(db, pairs)
    return Joined(row.id, frozenset(pairs))


def _component(db: Session, concept_id: int) -> set[int]:
    """Return the forms of a concept, of those joined to it, and the forms that they stand for."""
    concept = db.get_one(ConceptRow, concept_id)
    root = concept.same_as or concept.id
    return set(
        db.scalars(
            select(FormRow.id)
            .join(ConceptRow, ConceptRow.id == FormRow.concept_id)
            .where(or_(ConceptRow.id == root, ConceptRow.same_as == root))
        )
    )


def _told(db: Session) -> dict[int, int]:
    query = select(FormRow.id, FormRow.told_as).where(FormRow.told_as.is_not(None))
    return {form_id: told_as for form_id, told_as in db.execute(query) if told_as is not None}


def _pair_of(db: Session, one: int, other: int) -> int:
    first, second = sorted((one, other))
    found = db.scalar(select(PairRow.id).where(PairRow.first_form_id == first, PairRow.second_form_id == second))
    if found is not None:
        return found
    row = PairRow(first_form_id=first, second_form_id=second)
    db.add(row)
    db.flush()
    return row.id


def _rename_showings(db: Session, pair_ids: Iterable[int]) -> None:
    """Tell the showings of some pairs which forms stand now for those that they were asked with."""
    told = _told(db)
    for pair in db.scalars(select(PairRow).where(PairRow.id.in_(sorted(pair_ids)))):
        stand = {told.get(side, side) for side in (pair.first_form_id, pair.second_form_id)}
        renamed = {str(form_id): str(stands) for form_id, stands in sorted(told.items()) if stands in stand}
        of_pair = ShowingRow.round_id.in_(select(RoundRow.id).where(RoundRow.pair_id == pair.id))
        db.execute(update(ShowingRow).where(of_pair).values(renamed=renamed or None), execution_options={"synchronize_session": False})
    db.expire_all()
