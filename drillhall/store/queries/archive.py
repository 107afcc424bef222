"""What an archive of somebody's pictures tells: the names of what they show, their marks, and their files."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.store.models.catalogue import CatalogueRow, TraitRow
from drillhall.store.models.concepts import ConceptRow, FormRow
from drillhall.store.models.pictures import FileRow, MarkRow
from drillhall.store.queries import naming


@dataclass(frozen=True, slots=True)
class FormNames:
    """A form with what Darwin Core calls it; empty words where nobody has said them."""

    form: FormRow
    taxon_concept_id: str
    scientific_name: str
    taxon_rank: str
    according_to: str
    vernacular_name: str


def names_of_forms(db: Session, form_ids: Collection[int]) -> dict[int, FormNames]:
    """Return forms by id, each under the first name that the hall learnt for it."""
    query = select(FormRow, ConceptRow.taxon_concept_id).join(ConceptRow, ConceptRow.id == FormRow.concept_id)
    rows = [(form, concept) for form, concept in db.execute(query.where(FormRow.id.in_(form_ids)))]
    concepts = {form.concept_id for form, _ in rows}
    latin, common = naming.scientific_names(db, concepts), naming.common_names(db, concepts)
    found = {}
    for form, concept in rows:
        name = next(iter(latin.get(form.concept_id, [])), None)
        found[form.id] = FormNames(
            form,
            concept,
            name.scientific_name if name else "",
            name.taxon_rank if name else "",
            name.according_to if name else "",
            next(iter(common.get(form.concept_id, [])), ""),
        )
    return found


def marks_by_picture(db: Session, picture_ids: Collection[int]) -> dict[int, list[tuple[MarkRow, TraitRow | None, str]]]:
    """Return the marks on pictures, each with its trait (None: the subject) and the key of the trait's catalogue."""
    query = (
        select(MarkRow, TraitRow, CatalogueRow.key)
        .outerjoin(TraitRow, TraitRow.id == MarkRow.trait_id)
        .outerjoin(CatalogueRow, CatalogueRow.id == TraitRow.catalogue_id)
        .where(MarkRow.picture_id.in_(picture_ids))
        .order_by(MarkRow.picture_id, MarkRow.id)
    )
    found: defaultdict[int, list[tuple[MarkRow, TraitRow | None, str]]] = defaultdict(list)
    for mark, trait, key in db.execute(query):
        found[mark.picture_id].append((mark, trait, key or ""))
    return found


def files_by_picture(db: Session, picture_ids: Collection[int]) -> dict[int, list[FileRow]]:
    """Return the files of whole pictures, the one as it came and the sizes made of it, the largest first."""
    query = select(FileRow).where(FileRow.picture_id.in_(picture_ids), FileRow.rendition == "as taken")
    found = defaultdict(list)
    for file in db.scalars(query.order_by(FileRow.picture_id, FileRow.width_px.desc(), FileRow.id)):
        found[file.picture_id].append(file)
    return found
