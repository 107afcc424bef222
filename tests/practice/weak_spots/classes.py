"""Makes classes whose mix-ups are known: forms in pairs, learners who miss by chance and by what is built in, a log and its fold."""

from __future__ import annotations

import uuid
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from random import Random
from typing import Any

from sqlalchemy import func, insert, select
from sqlalchemy.orm import Session

from drillhall.practice.folding import rebuild
from drillhall.store.base import Row
from drillhall.store.models.catalogue import CatalogueFormRow, CataloguePairRow, CatalogueRow, PairSetRow, StagePairRow, StageRow
from drillhall.store.models.concepts import ConceptRow, FormRow, NameRow, PairRow, VernacularRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import AnswerRow, DrillRow, RoundRow, ShowingRow
from drillhall.store.models.seasons import AssignmentRow

BEGAN = datetime(2031, 1, 6, 18, tzinfo=UTC)
TODAY = date(2031, 2, 17)
ROUND = 3


@dataclass(frozen=True)
class SmallClass:
    """A group with its pairs as (first form, second form), and its learners' accounts."""

    group: int
    pairs: Mapping[int, tuple[int, int]]
    forms: tuple[int, ...]
    learners: tuple[int, ...]

    def pair_of(self, one: int, other: int) -> int:
        """Return the pair of two forms."""
        return next(pair for pair, forms in self.pairs.items() if set(forms) == {one, other})


@dataclass(frozen=True)
class Said:
    """What somebody said of one picture of a pair."""

    account: int
    pair: int
    shown: int
    said: int
    at: datetime
    fresh: bool = True
    orientation: str = "left"
    prompt_right: bool | None = None
    three: bool = False


def make_class(db: Session, *, forms: int, learners: int, kind: str = "class", joined: datetime = BEGAN) -> SmallClass:
    """Fill an empty store with a ring of forms, every one in a pair with the next two, and a group of learners that is given them all."""
    ids = tuple(_form(db, number) for number in range(forms))
    catalogue = CatalogueRow(key="ring", title="Ring", subject="bird", list_name="List", made_at=BEGAN, changed_at=BEGAN)
    pair_set = PairSetRow(catalogue_id=1, key="ring", title="The ring")
    db.add(catalogue)
    db.flush()
    pair_set.catalogue_id = catalogue.id
    db.add(pair_set)
    db.flush()
    stages = [StageRow(pair_set_id=pair_set.id, place=place, title=f"Stage {place + 1}") for place in range(2)]
    db.add_all([*stages, *(CatalogueFormRow(catalogue_id=catalogue.id, form_id=one, key=f"f{one}", place=one) for one in ids)])
    db.flush()
    pairs = {}
    for place, stage in enumerate(stages, 1):
        for number in range(forms):
            both = sorted((ids[number], ids[(number + place) % forms]))
            row = PairRow(first_form_id=both[0], second_form_id=both[1])
            db.add(row)
            db.flush()
            held = CataloguePairRow(catalogue_id=catalogue.id, pair_id=row.id, key=f"p{row.id}", place=row.id)
            db.add(held)
            db.flush()
            db.add(StagePairRow(stage_id=stage.id, catalogue_pair_id=held.id, place=number))
            pairs[row.id] = (both[0], both[1])
    accounts = [
        AccountRow(name=f"P{n}", name_folded=f"p{n}", passphrase_hash="none", zone="UTC", created_at=BEGAN) for n in range(learners)
    ]
    group = GroupRow(public_id=str(uuid.uuid4()), title="Form Nine", kind=kind, made_at=BEGAN)
    db.add_all([*accounts, group])
    db.flush()
    db.add_all(MembershipRow(group_id=group.id, account_id=one.id, role="member", since=joined) for one in accounts)
    db.add(AssignmentRow(group_id=group.id, pair_set_id=pair_set.id, from_day=BEGAN.date(), made_at=BEGAN))
    db.flush()
    return SmallClass(group.id, pairs, ids, tuple(one.id for one in accounts))


def keep(db: Session, said: Iterable[Said]) -> None:
    """Write answers as drills of one round a day, learner and pair, and fold them."""
    rounds: dict[tuple[int, int, date], int] = {}
    rows: dict[type[Row], list[dict[str, Any]]] = {table: [] for table in (DrillRow, RoundRow, ShowingRow, AnswerRow)}
    pairs = {row.id: (row.first_form_id, row.second_form_id) for row in db.scalars(select(PairRow))}
    places: Counter[int] = Counter()
    first = (db.scalar(select(func.max(ShowingRow.id))) or 0) + 1
    began = (db.scalar(select(func.max(RoundRow.id))) or 0) + 1
    catalogue = db.scalars(select(CatalogueRow.id)).one()
    for number, one in enumerate(sorted(said, key=lambda answer: answer.at), first):
        key = (one.account, one.pair, one.at.date())
        if key not in rounds:
            rounds[key] = began + len(rounds)
            _begin(rows, one, rounds[key], catalogue)
        _show(rows, one, number, rounds[key], places[rounds[key]], (*pairs[one.pair], *((0,) if one.three else ())))
        places[rounds[key]] += 1
    for table, values in rows.items():
        db.execute(insert(table), values)
    rebuild(db)


def simulate(made: SmallClass, built_in: Mapping[tuple[int, int], float], *, rounds: int, dice: Random) -> list[Said]:
    """Answer so many rounds of every pair by every learner: by chance one in fourteen or so is missed, and more of what is built in."""
    found = []
    for number, account in enumerate(made.learners):
        skill = dice.uniform(0.03, 0.11)
        for pair, forms in made.pairs.items():
            for turn in range(rounds):
                at = BEGAN + timedelta(days=(40 * turn) // rounds + 1, minutes=pair, seconds=number)
                for _ in range(ROUND):
                    shown = dice.choice(forms)
                    other = forms[0] if shown == forms[1] else forms[1]
                    chance = built_in.get((shown, other), skill)
                    found.append(Said(account, pair, shown, other if dice.random() < chance else shown, at))
    return found


def _form(db: Session, number: int) -> int:
    concept = ConceptRow(taxon_concept_id=f"example:{number}")
    db.add(concept)
    db.flush()
    db.add(NameRow(concept_id=concept.id, according_to="List", scientific_name=f"Fictavis {number}"))
    db.add(VernacularRow(concept_id=concept.id, language="en", name=f"Wader {number}"))
    row = FormRow(concept_id=concept.id, sex="female" if number % 2 else "", life_stage="juvenile" if number % 3 else "adult")
    db.add(row)
    db.flush()
    named = {"public_id": f"00000000-0000-7000-8000-{number:012d}", "form_id": row.id, "use": "practice", "medium": "Drawing"}
    content = {
        "content_sha256": f"{number:064x}",
        "fingerprint": number,
        "width_px": 9,
        "height_px": 9,
        "alt": "A wader.",
        "made_at": BEGAN,
    }
    db.add(PictureRow(pose="wading" if number % 2 else "", **named, **content))
    db.flush()
    return row.id


def _begin(rows: Mapping[type[Row], list[dict[str, Any]]], one: Said, number: int, catalogue: int) -> None:
    drill, day = f"drill {number}", one.at.date()
    told = {"id": drill, "account_id": one.account, "zone": "UTC", "minutes": 5, "showing_ms": 8000, "pace_ms": 4000}
    rows[DrillRow].append(told | {"planned_at": one.at, "planned_day": day, "until": one.at, "first_at": one.at, "local_day": day})
    told = {"id": number, "drill_id": drill, "account_id": one.account, "pair_id": one.pair, "catalogue_id": catalogue}
    rows[RoundRow].append(told | {"place": 0, "why": "due", "rounds_before": 0})


def _show(
    rows: Mapping[type[Row], list[dict[str, Any]]], one: Said, number: int, round_id: int, place: int, choices: tuple[int, ...]
) -> None:
    key = str(one.shown) if one.shown in choices else "0"
    asks = [{"kind": "form", "choices": [str(choice) for choice in choices], "key": key, "trait": ""}]
    if one.prompt_right is not None:
        asks.append({"kind": "trait", "choices": ["a", "b"], "key": "a", "trait": "bill"})
    told = {"id": number, "round_id": round_id, "account_id": one.account, "place": place, "picture_id": one.shown, "form_id": one.shown}
    seen = {"first_sight": one.fresh, "fresh": one.fresh, "prompted": one.prompt_right is not None, "orientation": one.orientation}
    rows[ShowingRow].append(told | seen | {"third": key == "0", "asks": asks})
    for ask, said in enumerate([str(one.said), "a" if one.prompt_right else "b"][: len(asks)]):
        when = one.at + timedelta(seconds=10 * place + ask)
        given = {"id": f"{number}-{ask}", "showing_id": number, "account_id": one.account, "ask": ask, "said": said, "seconds": 4.0}
        rows[AnswerRow].append(given | {"sure": None if ask else "probable", "at": when, "phone_at": when, "received_at": when})
