"""Reads a catalogue out of the store, as the value that its folder would say."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.catalogues.folder import (
    FolderCatalogue,
    FolderForm,
    FolderPair,
    FolderPicture,
    FolderSet,
    FolderStage,
    FolderThird,
    PairOfKeys,
    SaidChance,
)
from drillhall.catalogues.writing.extras import from_json
from drillhall.catalogues.writing.mapped import called_in, names_in, stored_mappings
from drillhall.catalogues.writing.measures import stored_measures
from drillhall.catalogues.writing.traits import stored_traits
from drillhall.core.regions import PLACES, Region
from drillhall.core.rights import ASKED
from drillhall.core.tongues import words_in
from drillhall.core.values import Mark
from drillhall.errors import NotFound
from drillhall.store.models.catalogue import (
    CatalogueFormRow,
    CataloguePairRow,
    CataloguePictureRow,
    CatalogueRow,
    FormTraitRow,
    PairSetRow,
    StagePairRow,
    StageRow,
    StateRow,
    StewardRow,
    ThirdRow,
    TraitRow,
)
from drillhall.store.models.concepts import ConceptRow, FormRow, NameRow, VernacularRow
from drillhall.store.models.pictures import MarkRow, PictureRow, RightsRow
from drillhall.store.queries.marks import frame_of
from drillhall.store.queries.pictures import rights_of
from drillhall.words import say


@dataclass(frozen=True, slots=True)
class StoredPicture:
    """A picture that a catalogue holds or held: its file's name, or the one it had; whether one of its stewards owns it, or nobody."""

    picture_id: int
    file: str
    content_sha256: str
    is_stewards: bool


def find_catalogue_id(db: Session, key: str) -> int | None:
    """Return the id of the catalogue of that key, retired or not, or None."""
    return db.scalar(select(CatalogueRow.id).where(CatalogueRow.key == key))


def the_catalogue_id(db: Session, key: str) -> int:
    """Return the id of the catalogue of that key, or raise NotFound."""
    if (found := find_catalogue_id(db, key)) is None:
        raise NotFound(say("There is no catalogue with the key {key}. The keys stand under Your catalogues.", key=key))
    return found


def stored_catalogue(db: Session, catalogue_id: int) -> FolderCatalogue:
    """Return what a catalogue says, without what has been retired from it."""
    row = db.get_one(CatalogueRow, catalogue_id)
    extra: dict[str, Any] = from_json(row.extra)
    return FolderCatalogue(
        key=row.key,
        title=row.title,
        subject=row.subject,
        list_name=row.list_name,
        language=row.language,
        note=row.note,
        mappings=stored_mappings(db, catalogue_id),
        traits=stored_traits(db, catalogue_id),
        forms=_forms(db, catalogue_id),
        pairs=_pairs(db, catalogue_id),
        sets=_sets(db, catalogue_id),
        pictures=_pictures(db, catalogue_id),
        extra=extra.get("catalogue", {}),
        beside=extra.get("beside", {}),
        sets_beside=extra.get("sets", {}),
    )


def list_stored_pictures(db: Session, catalogue_id: int) -> tuple[StoredPicture, ...]:
    """Return every picture a catalogue holds or held, in order, retired ones last."""
    stewards = set(db.scalars(select(StewardRow.account_id).where(StewardRow.catalogue_id == catalogue_id)))
    query = (
        select(CataloguePictureRow.picture_id, CataloguePictureRow.file, PictureRow.content_sha256, PictureRow.owner_id)
        .join(PictureRow, PictureRow.id == CataloguePictureRow.picture_id)
        .where(CataloguePictureRow.catalogue_id == catalogue_id)
        .order_by(CataloguePictureRow.retired_at.is_not(None), CataloguePictureRow.place, CataloguePictureRow.picture_id)
    )
    return tuple(StoredPicture(id_, file, digest, owner in {None, *stewards}) for id_, file, digest, owner in db.execute(query))


def _forms(db: Session, catalogue_id: int) -> tuple[FolderForm, ...]:
    query = (
        select(CatalogueFormRow, FormRow, ConceptRow.taxon_concept_id, NameRow, VernacularRow)
        .join(FormRow, FormRow.id == CatalogueFormRow.form_id)
        .join(NameRow, NameRow.id == CatalogueFormRow.name_id)
        .join(ConceptRow, ConceptRow.id == NameRow.concept_id)
        .join(VernacularRow, VernacularRow.id == CatalogueFormRow.vernacular_id)
        .where(CatalogueFormRow.catalogue_id == catalogue_id, CatalogueFormRow.retired_at.is_(None))
        .order_by(CatalogueFormRow.place, CatalogueFormRow.id)
    )
    said, measures = _chances(db, catalogue_id), stored_measures(db, catalogue_id)
    return tuple(
        FolderForm(
            key=row.key,
            scientific_name=name.scientific_name,
            vernacular_name=vernacular.name,
            taxon_concept_id=concept_id,
            taxon_rank=name.taxon_rank,
            sex=form.sex,
            life_stage=form.life_stage,
            plumage=form.plumage,
            variant=form.variant,
            length_mm=row.length_mm,
            commonness=row.commonness,
            also_named=names_in(row.also_named),
            called=called_in(row.called),
            note=row.note,
            traits=said.get(row.id, {}),
            measures=measures.get(row.id, {}),
            extra=from_json(row.extra),
        )
        for row, form, concept_id, name, vernacular in db.execute(query)
    )


def _chances(db: Session, catalogue_id: int) -> dict[int, dict[str, dict[str, SaidChance]]]:
    query = (
        select(FormTraitRow, TraitRow.key, StateRow.key)
        .join(StateRow, StateRow.id == FormTraitRow.state_id)
        .join(TraitRow, TraitRow.id == StateRow.trait_id)
        .where(TraitRow.catalogue_id == catalogue_id, TraitRow.retired_at.is_(None), StateRow.retired_at.is_(None))
        .order_by(TraitRow.place, StateRow.place)
    )
    said: dict[int, dict[str, dict[str, SaidChance]]] = {}
    for row, trait, state in db.execute(query):
        said.setdefault(row.catalogue_form_id, {}).setdefault(trait, {})[state] = SaidChance(row.word, row.shown, row.of)
    return said


def _pairs(db: Session, catalogue_id: int) -> tuple[FolderPair, ...]:
    rows = db.scalars(
        select(CataloguePairRow)
        .where(CataloguePairRow.catalogue_id == catalogue_id, CataloguePairRow.retired_at.is_(None))
        .order_by(CataloguePairRow.place, CataloguePairRow.id)
    ).all()
    thirds: dict[int, list[FolderThird]] = defaultdict(list)
    query = (
        select(ThirdRow.catalogue_pair_id, CatalogueFormRow.key, TraitRow.key)
        .join(CatalogueFormRow, CatalogueFormRow.id == ThirdRow.catalogue_form_id)
        .join(TraitRow, TraitRow.id == ThirdRow.trait_id)
        .where(ThirdRow.catalogue_pair_id.in_([row.id for row in rows]))
    )
    for pair_id, form, trait in db.execute(query):
        thirds[pair_id].append(FolderThird(form, trait))
    return tuple(
        FolderPair(
            forms=forms_of_key(row.key),
            note=row.note,
            neither=row.neither_allowed,
            third_share=row.third_share,
            thirds=tuple(sorted(thirds[row.id])),
            extra=from_json(row.extra),
            said=words_in(row.said),
        )
        for row in rows
    )


def forms_of_key(key: str) -> PairOfKeys:
    """Return the two form keys that a pair's key is made of, in the author's order."""
    first, _, second = key.partition(":")
    return first, second


def _sets(db: Session, catalogue_id: int) -> tuple[FolderSet, ...]:
    sets = db.scalars(
        select(PairSetRow)
        .where(PairSetRow.catalogue_id == catalogue_id, PairSetRow.retired_at.is_(None))
        .order_by(PairSetRow.place, PairSetRow.id)
    ).all()
    query = (
        select(StagePairRow.stage_id, CataloguePairRow.key)
        .join(CataloguePairRow, CataloguePairRow.id == StagePairRow.catalogue_pair_id)
        .where(CataloguePairRow.catalogue_id == catalogue_id)
        .order_by(StagePairRow.stage_id, StagePairRow.place)
    )
    pairs: dict[int, list[PairOfKeys]] = defaultdict(list)
    for stage_id, key in db.execute(query):
        pairs[stage_id].append(forms_of_key(key))
    stages: dict[int, list[FolderStage]] = defaultdict(list)
    for stage in db.scalars(select(StageRow).where(StageRow.pair_set_id.in_([one.id for one in sets])).order_by(StageRow.place)):
        held = (tuple(stage.poses), tuple(stage.distances))
        stages[stage.pair_set_id].append(FolderStage(stage.title, tuple(pairs[stage.id]), *held, from_json(stage.extra)))
    return tuple(FolderSet(one.key, one.title, tuple(stages[one.id]), one.note, from_json(one.extra)) for one in sets)


def _pictures(db: Session, catalogue_id: int) -> tuple[FolderPicture, ...]:
    query = (
        select(CataloguePictureRow, PictureRow, RightsRow, CatalogueFormRow.key)
        .join(PictureRow, PictureRow.id == CataloguePictureRow.picture_id)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .join(CatalogueFormRow, CatalogueFormRow.form_id == PictureRow.form_id)
        .where(
            CataloguePictureRow.catalogue_id == catalogue_id,
            CataloguePictureRow.retired_at.is_(None),
            PictureRow.retired_at.is_(None),
            CatalogueFormRow.catalogue_id == catalogue_id,
            CatalogueFormRow.retired_at.is_(None),
        )
        .order_by(CataloguePictureRow.place, CataloguePictureRow.picture_id)
    )
    marks: dict[int, list[Mark]] = defaultdict(list)
    marked = select(MarkRow, TraitRow.key).join(TraitRow, TraitRow.id == MarkRow.trait_id)
    marked = marked.where(TraitRow.catalogue_id == catalogue_id, TraitRow.retired_at.is_(None))
    for mark, trait in db.execute(marked.order_by(TraitRow.key)):
        marks[mark.picture_id].append(Mark(trait, mark.x, mark.y, mark.width, mark.height))
    return tuple(_picture(row, shown, rights, form, tuple(marks[shown.id])) for row, shown, rights, form in db.execute(query))


def _picture(row: CataloguePictureRow, shown: PictureRow, rights: RightsRow, form: str, marks: tuple[Mark, ...]) -> FolderPicture:
    said = rights_of(rights)
    return FolderPicture(
        file=row.file,
        form=form,
        use=shown.use,
        creator=rights.creator,
        licence=rights.licence_url or rights.licence,
        credit=rights.credit,
        rights_owner=rights.rights_owner,
        source=rights.source,
        title=rights.title,
        statement=rights.statement,
        medium=shown.medium,
        taken_on=shown.taken_on,
        orientation=shown.orientation,
        pose=shown.pose,
        distance=shown.distance,
        setting=shown.setting,
        typical=shown.typical,
        alt=shown.alt,
        cluster=shown.cluster,
        marks=marks,
        frame=_frame(shown),
        agreed=tuple(purpose.value for purpose in ASKED if purpose in said.agreed),
        granted_by=said.granted_by,
        granted_on=said.granted_on,
        until=said.until,
        evidence=said.evidence,
        data_mining=said.data_mining,
        extra=dict(row.extra),
    )


def _frame(shown: PictureRow) -> Region | None:
    """Return the frame of a picture as a file tells it."""
    frame = frame_of(shown)
    return Region(*(round(side, PLACES) for side in (frame.x, frame.y, frame.width, frame.height))) if frame else None
