"""What one learner mixes up, on pairs that the group is given and since she joined it; she sees the same as whoever may see her."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from drillhall.core.confusion import Change, WeekOfAnswers
from drillhall.core.values import Form, Pair
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.reader import ANYBODY, Reader
from drillhall.practice.weak_spots import counting
from drillhall.practice.weak_spots.counting import Chosen, Counted
from drillhall.practice.weak_spots.lessons import change_of_rows, over_the_weeks
from drillhall.practice.weak_spots.naming import Finer, told_finer
from drillhall.practice.weak_spots.prompting import Behind, whats_behind
from drillhall.practice.weak_spots.seeing import Pupil, Seen
from drillhall.practice.weak_spots.spots import Spot, WeakDirection, close_pairs, directions_of, of_late


@dataclass(frozen=True, slots=True)
class PupilSpots:
    """One learner's weak spots.

    answers: hers that are counted; met, pairs: pairs that she has met, of those given; spots: what she missed, the likeliest first,
    what was shown too seldom to be ranked behind; held: pairs met and never missed; change: of the last four weeks against the four before;
    finer: what tells forms apart that bear one name, of all she has met.
    """

    pupil: Pupil
    answers: int
    met: int
    pairs: int
    spots: tuple[Spot, ...]
    behind: dict[int, Behind]
    held: tuple[Pair, ...]
    weeks: tuple[WeekOfAnswers, ...]
    change: Change
    finer: Mapping[int, Finer]


def the_pupil_spots(db: Session, group_id: int, pupil: Pupil, *, today: date, reader: Reader = ANYBODY) -> PupilSpots:
    """Return what one learner mixes up."""
    given = counting.the_given(db, group_id, Chosen())
    seen = Seen((pupil,), ())
    counted = counting.count_named(db, group_id, seen.named, given, Chosen()) if given.pairs else Counted()
    weeks = counting.count_weeks(db, group_id, seen.named, list(given.pairs), today=today) if given.pairs else []
    directions = of_late(directions_of(counted, given.pairs), weeks, today=today)
    met = {one.pair_id for one in directions}
    wanted: dict[int, list[int]] = {}
    for pair_id in met:
        wanted.setdefault(given.pairs[pair_id].catalogue_id, []).append(pair_id)
    told = (lore_of_pairs(db, catalogue_id, ids, reader=reader) for catalogue_id, ids in wanted.items())
    lores = {pair_id: lore for of_catalogue in told for pair_id, lore in of_catalogue.items()}
    close = [pair_id for pair_id in close_pairs(directions) if pair_id in lores]
    missed = {one.pair_id for one in directions if one.missed}
    return PupilSpots(
        pupil=pupil,
        answers=sum(one.shown for one in directions),
        met=len(met),
        pairs=len(given.pairs),
        spots=tuple(_spot(one, lores[one.pair_id].pair) for one in directions if one.missed and one.pair_id in lores),
        behind=whats_behind(db, seen, {pair_id: lores[pair_id] for pair_id in close}) if close else {},
        held=tuple(lores[pair_id].pair for pair_id in sorted(met - missed) if pair_id in lores),
        weeks=over_the_weeks(weeks, today=today),
        change=change_of_rows(weeks, today=today),
        finer=told_finer(form for lore in lores.values() for form in (lore.pair.first, lore.pair.second)),
    )


def _spot(one: WeakDirection, pair: Pair) -> Spot:
    shown: Form = pair.form(one.form_id)
    return Spot(one, shown, pair.other(one.form_id))
