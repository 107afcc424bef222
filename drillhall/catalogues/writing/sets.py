"""Writes pair sets with their stages into the store."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.catalogues.folder import FolderCatalogue, FolderSet, FolderStage
from drillhall.catalogues.writing.extras import to_json
from drillhall.catalogues.writing.retiring import retire
from drillhall.store.models.catalogue import PairSetRow, StagePairRow, StageRow


def write_sets(db: Session, catalogue: FolderCatalogue, catalogue_id: int, pairs: Mapping[str, int], *, at: datetime) -> None:
    """Make the store's pair sets what the catalogue says; `pairs` holds the ids of its pairs' rows by key."""
    rows = {row.key: row for row in db.scalars(select(PairSetRow).where(PairSetRow.catalogue_id == catalogue_id))}
    for place, said in enumerate(catalogue.sets):
        row = rows.setdefault(said.key, PairSetRow(catalogue_id=catalogue_id, key=said.key))
        row.title, row.note, row.place, row.extra, row.retired_at = said.title, said.note, place, to_json(said.extra), None
        db.add(row)
    wanted = {said.key for said in catalogue.sets}
    retire((row for key, row in rows.items() if key not in wanted), at=at)
    db.flush()
    for said in catalogue.sets:
        _write_stages(db, rows[said.key].id, said, pairs)


def _write_stages(db: Session, set_id: int, said: FolderSet, pairs: Mapping[str, int]) -> None:
    rows = {row.place: row for row in db.scalars(select(StageRow).where(StageRow.pair_set_id == set_id))}
    for place, stage in enumerate(said.stages):
        row = rows.pop(place, None) or StageRow(pair_set_id=set_id, place=place)
        row.title, row.extra = stage.title, to_json(stage.extra)
        row.poses, row.distances = list(stage.poses), list(stage.distances)
        db.add(row)
        db.flush()
        _write_stage_pairs(db, row.id, stage, pairs)
    # No answer names a stage, so those that are over go, and their pairs' places with them.
    for row in rows.values():
        db.delete(row)
    db.flush()


def _write_stage_pairs(db: Session, stage_id: int, stage: FolderStage, pairs: Mapping[str, int]) -> None:
    rows = {row.catalogue_pair_id: row for row in db.scalars(select(StagePairRow).where(StagePairRow.stage_id == stage_id))}
    for place, forms in enumerate(stage.pairs):
        pair_id = pairs[":".join(forms)]
        row = rows.pop(pair_id, None) or StagePairRow(stage_id=stage_id, catalogue_pair_id=pair_id)
        row.place = place
        db.add(row)
    for row in rows.values():
        db.delete(row)
    db.flush()
