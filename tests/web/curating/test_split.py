"""A split leaves pictures that are named by the wider concept: they wait for a steward, and leave one by one as she names them."""

from __future__ import annotations

import re

import pytest
from sqlalchemy import select

from drillhall.store.models.catalogue import CatalogueRow
from drillhall.store.models.concepts import ConceptMappingRow, FormRow, PairRow
from drillhall.store.models.pictures import PictureRow
from tests import cast
from tests.visits import Hall, Visitor
from tests.web.curating.curated import KEY, counted_statements

LABELS = f"/catalogues/{KEY}/labels"


def mapped(hall: Hall, relation: str, *, turned: bool = False) -> tuple[int, int]:
    """Say how the concept of a pair's first form lies to that of its second; return both forms."""
    with hall.store.work() as db:
        pair = db.scalars(select(PairRow).order_by(PairRow.id)).first()
        assert pair is not None
        forms = (pair.first_form_id, pair.second_form_id)
        subject, other = (db.get_one(FormRow, form).concept_id for form in (forms[::-1] if turned else forms))
        catalogue = db.scalars(select(CatalogueRow.id)).one()
        db.add(ConceptMappingRow(catalogue_id=catalogue, subject_id=subject, object_id=other, relation=relation))
        return forms


def waiting(steward: Visitor) -> int:
    found = re.search(r"To be named anew: (\d+) picture", steward.get(LABELS).text)
    return int(found[1]) if found else 0


def pictures_of(hall: Hall, form_id: int) -> list[str]:
    with hall.store.look() as db:
        return list(db.scalars(select(PictureRow.public_id).where(PictureRow.form_id == form_id).order_by(PictureRow.id)))


@pytest.mark.parametrize(("relation", "turned"), [("includes", False), ("isIncludedIn", True)])
def test_pictures_of_the_wider_concept_wait_until_each_is_named(hall: Hall, relation: str, turned: bool) -> None:
    steward = hall.enter(cast.KEEPER, known=True)
    assert waiting(steward) == 0
    wide, part = mapped(hall, relation, turned=turned)
    named = pictures_of(hall, wide)
    with counted_statements() as seen:
        assert waiting(steward) == len(named) > 2
    many = len(seen)
    assert steward.post(f"{LABELS}/{named[0]}", {"form": str(part)}).status_code == 303
    assert waiting(steward) == len(named) - 1
    assert steward.post(f"{LABELS}/{named[1]}", {"form": str(wide), "or_form": str(part)}).status_code == 303
    assert waiting(steward) == len(named) - 2, "what may be either of two has been said"
    with counted_statements() as seen:
        steward.get(LABELS)
    assert len(seen) <= many + 6, "corrections are listed by a few statements, whatever their number"


@pytest.mark.parametrize("relation", ["isCongruentWith", "isDisjointFrom", "partiallyOverlaps", "intersects"])
def test_where_both_are_taught_side_by_side_no_other_relation_queues_anything(hall: Hall, relation: str) -> None:
    mapped(hall, relation)
    assert waiting(hall.enter(cast.KEEPER, known=True)) == 0
