"""Puts a pair set on the wall of a room: pair by pair, picture by picture, to be looked at together; records nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from random import Random

from sqlalchemy.orm import Session

from drillhall.core.rights import Purpose, may
from drillhall.core.stages import StagePictures
from drillhall.core.values import Pair, PairLore
from drillhall.errors import NotFound
from drillhall.practice.cautioning import banners_of
from drillhall.practice.explaining import Portraits, explained
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.packets import Explained, PictureView
from drillhall.practice.reader import names_for
from drillhall.practice.shelf import the_set
from drillhall.practice.views import picture_views
from drillhall.store.models.pictures import PictureRow, RightsRow
from drillhall.store.queries import showing as reading
from drillhall.store.queries.pictures import rights_of
from drillhall.store.queries.showing import Audience
from drillhall.words import say

__all__ = ["Audience", "OnTheWall", "on_the_wall", "the_set_called"]

MOST_OF_A_FORM = 3
"""Pictures of one form on the wall before the next pair comes."""


@dataclass(frozen=True, slots=True)
class OnTheWall:
    """One picture of a set on the wall, `place` of `pictures` from 0 on; `told` is its answer once it has been asked for.

    `picture` and `pair` are None where there is nothing to show; `left_out` counts pairs without pictures of both their forms.
    """

    title: str
    place: int
    pictures: int
    left_out: int
    pair: Pair | None = None
    picture: PictureView | None = None
    told: Explained | None = None
    banners: tuple[str, ...] = ()


def the_set_called(db: Session, catalogue_id: int, key: str) -> int:
    """Return the id of a catalogue's pair set by its key, or raise NotFound."""
    found = reading.find_set_by_key(db, catalogue_id, key)
    if found is None:
        raise NotFound(say("There is no such pair set in this catalogue."))
    return found.id


def on_the_wall(
    db: Session, pair_set_id: int, audience: Audience, *, throw: int, place: int, told: bool, viewer_id: int, on: date
) -> OnTheWall:
    """Return one picture of a set as an audience may be shown it, stage by stage; the same throw of the dice gives the same order.

    Raises NotFound for a place beyond the last picture.
    """
    pair_set = the_set(db, pair_set_id)
    staged = reading.pairs_by_stage(db, pair_set_id)
    lores = lore_of_pairs(db, pair_set.catalogue_id, {pair_id for pair_id, _ in staged}, reader=names_for(db, viewer_id))
    forms = {form.id for lore in lores.values() for form in (lore.pair.first, lore.pair.second)}
    shown = reading.showable(db, pair_set.catalogue_id, forms, audience, on=on)
    allowed = [row for row, rights in shown if _may_hang(row, rights, viewer_id=viewer_id, on=on)]
    order = _in_order(lores, staged, allowed, f"{pair_set_id} {throw}")
    left_out = len(set(lores) - {pair_id for pair_id, _ in order})
    if not order:
        return OnTheWall(pair_set.title, 0, 0, left_out)
    if place >= len(order):
        raise NotFound(say("The wall has no picture there. Begin again with the first one."))
    pair_id, row = order[place]
    lore = lores[pair_id]
    picture = picture_views(db, [row.id], catalogue_id=pair_set.catalogue_id, viewer_id=None, on=on)[row.id]
    answer = explained(lore, lore.forms[row.form_id or 0], picture, Portraits({})) if told else None
    banners = banners_of(db, [pair_set.catalogue_id])
    return OnTheWall(pair_set.title, place, len(order), left_out, pair=lore.pair, picture=picture, told=answer, banners=banners)


def _may_hang(row: PictureRow, rights: RightsRow, *, viewer_id: int, on: date) -> bool:
    return may(rights_of(rights), owner_id=row.owner_id, viewer_id=viewer_id, purpose=Purpose.WALL, on=on).allowed


def _in_order(
    lores: Mapping[int, PairLore], staged: Sequence[tuple[int, StagePictures]], allowed: Sequence[PictureRow], seed: str
) -> list[tuple[int, PictureRow]]:
    """Return the pictures, each with the pair that it is asked for: of each stage those that it holds, none twice for one pair."""
    order: dict[tuple[int, int], PictureRow] = {}
    for turn, (pair_id, stage) in enumerate(staged):
        held = [row for row in allowed if stage.holds(row.pose, row.distance) and (pair_id, row.id) not in order]
        chosen = _of_pair(lores[pair_id].pair, held, Random(f"{seed} {turn} {pair_id}"))
        order |= {(pair_id, row.id): row for row in chosen}
    return [(pair_id, row) for (pair_id, _), row in order.items()]


def _of_pair(pair: Pair, allowed: Sequence[PictureRow], dice: Random) -> list[PictureRow]:
    """Return some pictures of each form of a pair, shuffled; none where one form has none, for the answer would be known."""
    sides = [[row for row in allowed if row.form_id == form.id] for form in (pair.first, pair.second)]
    if not all(sides):
        return []
    chosen = [row for side in sides for row in dice.sample(side, min(MOST_OF_A_FORM, len(side)))]
    dice.shuffle(chosen)
    return chosen
