"""Puts the demo's people into club and class, and gives these its pair sets; the leader shares drawings, a learner offers hers."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from datetime import datetime, timedelta
from random import Random
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.licences import CC0
from drillhall.core.rights import Rights
from drillhall.core.weeks import Week
from drillhall.demo import scenario
from drillhall.demo.drawing_set import CREATOR, CREDIT, encode
from drillhall.demo.painter.forms import form as words_of
from drillhall.demo.painter.studio import paint
from drillhall.demo.scenario import Invented
from drillhall.people import groups
from drillhall.people.accounts import the_person_of
from drillhall.pictures import ingest, listing, offers, own, sharing
from drillhall.pictures.storage import Storage
from drillhall.practice.assigning import Wanted, assign, list_assignments
from drillhall.practice.outings import OutingSaid, plan_outing
from drillhall.practice.seasons import HERE, LESSON, EntrySaid, plan_entry
from drillhall.practice.shelf import list_sets

OUTING_AFTER: Final = 56
"""Days from when the club began to its outing: two weeks after whoever opens the demo looks round."""

RIGHTS = Rights(creator=CREATOR, licence=CC0, credit=CREDIT)


def make_groups(db: Session, ids: Mapping[str, int], *, at: datetime, dice: Random) -> None:
    """Make the club and the class, each led by whoever leads it in the scenario and given every set; without a leader none is made."""
    for title, kind in ((scenario.CLUB, "club"), (scenario.CLASS, "class")):
        people = [person for person in scenario.PEOPLE if person.group == title]
        head = next((person for person in people if person.leads), None)
        if head is None:
            continue
        leader = the_person_of(db, ids[head.name])
        made = groups.make_group(db, by=leader, title=title, kind=kind, is_paid=False, public_id=_id(dice), at=at)
        for person in people:
            if person is not head:
                groups.add_member(db, made.id, ids[person.name], at=at)
        for person in people:
            if person.name in scenario.LETS_SEE:
                groups.let_see(db, made, by=the_person_of(db, ids[person.name]), lets=True)
        for pair_set in list_sets(db, leader.id):
            assign(db, made.id, Wanted(pair_set.id, at.date()), by=leader.id, today=at.date(), at=at)
        if kind == "club":
            _plan_season(db, made.id, by=leader.id, at=at)


def _plan_season(db: Session, group_id: int, *, by: int, at: datetime) -> None:
    """Lay a lesson, what is here and an outing over the weeks, so that whoever leads finds her season begun."""
    today = at.date()
    for given in list_assignments(db, group_id)[:1]:
        first, last = Week.of(today), Week.of(today + timedelta(days=OUTING_AFTER))
        for said in (
            EntrySaid(LESSON, first, last, scenario.LESSON_WORDS, assignment_id=given.id),
            EntrySaid(HERE, first, last, scenario.HERE_WORDS),
        ):
            plan_entry(db, group_id, said, by=by, today=today, at=at)
        day = today + timedelta(days=OUTING_AFTER)
        plan_outing(db, group_id, OutingSaid(scenario.OUTING, day, scenario.MEET_AT, assignment_id=given.id), by=by, today=today, at=at)


def share_and_offer(db: Session, storage: Storage, ids: Mapping[str, int], *, at: datetime, dice: Random) -> None:
    """Let the club's leader share drawings with it, and let the learner who draws offer hers to the catalogue."""
    leader = next((person for person in scenario.PEOPLE if person.leads and person.group == scenario.CLUB), None)
    if leader is not None:
        _share(db, storage, leader, ids[leader.name], at=at)
    if scenario.OFFERS in ids:
        for key, seed in scenario.OFFERED:
            _offer(db, storage, ids[scenario.OFFERS], key, seed, public_id=_id(dice), at=at)


def _share(db: Session, storage: Storage, leader: Invented, leader_id: int, *, at: datetime) -> None:
    club = next(one.group for one in groups.list_groups(db, the_person_of(db, leader_id)) if one.group.title == leader.group)
    mine = listing.list_own_pictures(db, leader_id, on=at.date()).pictures
    chosen = [one.public_id for one in mine if not one.kept_back][: scenario.SHARED]
    sharing.share_pictures(db, storage, chosen, owner_id=leader_id, group_id=club.id, agrees=False, on=at.date(), at=at)


def _offer(db: Session, storage: Storage, owner_id: int, key: str, seed: int, *, public_id: str, at: datetime) -> None:
    words = words_of(key)
    wanted = (words["vernacularName"], words.get("lifeStage", ""), words.get("plumage", ""))
    known = next(one.form for one in own.list_known_forms(db, owner_id) if (one.form.name, one.form.life_stage, one.form.plumage) == wanted)
    made = paint(key, seed)
    shown = own.WhatItShows(known.id, medium="Drawing", orientation="right" if made.scene.facing > 0 else "left")
    taken = ingest.take(encode(made.image))
    own.add_own_picture(db, storage, taken, shown, public_id=public_id, owner_id=owner_id, rights=RIGHTS, at=at)
    for catalogue in offers.list_catalogues_for(db, owner_id=owner_id, public_id=public_id, on=at.date()):
        offers.offer_picture(db, owner_id=owner_id, public_id=public_id, catalogue_id=catalogue.id, on=at.date(), at=at)


def _id(dice: Random) -> str:
    return str(uuid.UUID(int=dice.getrandbits(128), version=4))
