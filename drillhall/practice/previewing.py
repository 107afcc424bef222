"""Builds rounds as a learner would get them from one catalogue's own pictures, for its steward to look at; records nothing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime
from random import Random

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.rounds import build_round
from drillhall.core.rounds.day import USUAL_ROUND
from drillhall.core.stages import StagePictures
from drillhall.core.values import Candidate, PairLore, PlannedShowing, RoundNeeds, Why
from drillhall.practice.explaining import the_portraits
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.needs import list_candidates
from drillhall.practice.packets import RoundView, ShowingView
from drillhall.practice.playing import question_of
from drillhall.practice.views import picture_views
from drillhall.store.models.catalogue import CataloguePairRow, CataloguePictureRow
from drillhall.store.models.pictures import PictureRow


def preview_rounds(
    db: Session, account_id: int, catalogue_id: int, wanted: Sequence[tuple[str, StagePictures]], *, on: date, now: datetime, dice: Random
) -> tuple[RoundView, ...]:
    """Return a first round of each of a catalogue's pairs, as somebody new would get it; a pair without pictures of both forms is left out.

    `wanted` names the pairs in order, each with the pictures that its stage holds.
    Only those that the catalogue holds are shown, and that the steward may be shown.
    """
    query = (
        select(CataloguePairRow)
        .where(CataloguePairRow.catalogue_id == catalogue_id, CataloguePairRow.key.in_([key for key, _ in wanted]))
        .where(CataloguePairRow.retired_at.is_(None))
    )
    rows = {row.key: row for row in db.scalars(query)}
    lores = lore_of_pairs(db, catalogue_id, [row.pair_id for row in rows.values()])
    candidates = _of_catalogue(db, catalogue_id, list_candidates(db, account_id, catalogue_id, lores.values(), on=on))
    rounds = []
    for place, (key, stage) in enumerate(one for one in wanted if one[0] in rows):
        lore = lores[rows[key].pair_id]
        needs = RoundNeeds(lore, USUAL_ROUND, neither_allowed=rows[key].neither_allowed, third_share=rows[key].third_share)
        held = [one for one in candidates if one.form_id in lore.forms and stage.holds(one.pose, one.distance)]
        planned = build_round(needs, held, now=now, dice=dice)
        if planned and _shows_both(lore, held):
            rounds.append(_view(db, account_id, catalogue_id, lore, planned, place, on))
    return tuple(rounds)


def _of_catalogue(db: Session, catalogue_id: int, candidates: Iterable[Candidate]) -> list[Candidate]:
    """Return the candidates that the catalogue holds, as one who has seen none of them would get them."""
    held = select(CataloguePictureRow.picture_id).join(PictureRow, PictureRow.id == CataloguePictureRow.picture_id)
    ids = set(db.scalars(held.where(CataloguePictureRow.catalogue_id == catalogue_id, CataloguePictureRow.retired_at.is_(None))))
    return [replace(one, seen_at=None, own=False) for one in candidates if one.picture_id in ids]


def _shows_both(lore: PairLore, candidates: Iterable[Candidate]) -> bool:
    return {lore.pair.first.id, lore.pair.second.id} <= {one.form_id for one in candidates}


def _view(
    db: Session, account_id: int, catalogue_id: int, lore: PairLore, planned: Sequence[PlannedShowing], place: int, on: date
) -> RoundView:
    portraits = the_portraits(db, account_id, catalogue_id, set(lore.forms), on=on)
    shown = [showing.picture_id for showing in planned]
    views = picture_views(db, shown, catalogue_id=catalogue_id, viewer_id=account_id, on=on)
    showings = []
    for number, one in enumerate(one for one in planned if one.picture_id in views):
        picture = views[one.picture_id]
        questions = tuple(
            question_of(asked, ask, lore.forms[one.form_id], lore, picture, portraits, turn=number) for asked, ask in enumerate(one.asks)
        )
        showings.append(
            ShowingView(
                id=place * USUAL_ROUND + number,
                picture=picture,
                questions=questions,
                rendition=one.rendition,
                first_sight=True,
                third=one.third,
                given={},
            )
        )
    return RoundView(id=place, pair=lore.pair, why=Why.NEW, why_words="", meet=True, showings=tuple(showings))
