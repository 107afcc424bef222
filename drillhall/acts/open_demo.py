"""Fills an empty hall with the demo: its people and groups, its drawn catalogue, and weeks of drills played by the real engine.

And lets visitors in as those people, and draws the catalogue anew.
"""

from __future__ import annotations

import secrets
import uuid
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from random import Random

from sqlalchemy.orm import Session

from drillhall.acts.demo_groups import make_groups, share_and_offer
from drillhall.acts.demo_renditions import keep_renditions
from drillhall.acts.import_catalogue import import_catalogue
from drillhall.acts.refresh_hall_rates import refresh_hall_rates
from drillhall.core.kinds import form as form_kind
from drillhall.core.values import Pair
from drillhall.demo import scenario
from drillhall.demo.drawing_set import SET, write_set
from drillhall.demo.scenario import Invented
from drillhall.errors import Conflict, Invalid
from drillhall.people import accounts, links
from drillhall.people.person import Preferences
from drillhall.pictures.storage import Storage
from drillhall.practice import shelf
from drillhall.practice.answering import NewAnswer, store_answers
from drillhall.practice.drilling import start_drill
from drillhall.practice.packets import Question, RoundView, ShowingView
from drillhall.practice.playing import the_packet
from drillhall.words import say

Progress = Callable[[str, int, int], None]
"""Told what is being done, how much of it is done, and of how much."""

HOURS = (7, 22)
"""Between these hours the people drill (of the clock of their zone, which is UTC)."""


@dataclass(frozen=True, slots=True)
class Invited:
    """One person of the demo whom a visitor may be: who she is, in words, and the token of a link that works once."""

    name: str
    told: str
    token: str


def open_demo(db: Session, storage: Storage, cards: Path, *, at: datetime, dice: Random, progress: Progress) -> None:
    """Make the people, take in the drawn catalogue and play the histories up to yesterday, in one piece of work.

    cards: the folder of the sets that travel with the program. Whoever is made here can be entered by link alone, since the
    passphrases are random and told to nobody.
    """
    began = at - timedelta(days=7 * scenario.WEEKS)
    ids = {person.name: _make(db, person, at=began) for person in scenario.PEOPLE}
    steward = next(ids[person.name] for person in scenario.PEOPLE if person.is_keeper)
    import_catalogue(
        db, storage, cards / SET, by=steward, at=began, progress=lambda done, total, _: progress("Taking in the drawings", done, total)
    )
    for done, person in enumerate(scenario.PEOPLE):
        progress("Playing their drills", done, len(scenario.PEOPLE))
        _play_history(db, person, ids[person.name], at=at, dice=dice)
    progress("Playing their drills", len(scenario.PEOPLE), len(scenario.PEOPLE))
    make_groups(db, ids, at=began, dice=dice)
    share_and_offer(db, storage, ids, at=at - timedelta(days=1), dice=dice)
    keep_renditions(db, storage, steward, at=at)
    # Nobody waits a day for the job that sums them: the demo is looked round in at once.
    refresh_hall_rates(db, at=at)


def invite_in(db: Session, *, until: datetime) -> tuple[Invited, ...]:
    """Make a link for each person of the demo that is still there, in the scenario's order; earlier ones end.

    Raises Conflict where none of them is there: then it is a hall of somebody's own.
    """
    there = {account.name: account.id for account in accounts.list_accounts(db) if account.retired_at is None}
    found = []
    for person in scenario.PEOPLE:
        if person.name in there:
            token = links.make_link(db, links.STEP_IN, until=until, account_id=there[person.name])
            found.append(Invited(person.name, f"{person.part}: {person.says}", token))
    if not found:
        raise Conflict(say("This folder holds a hall of its own, not the demo. Name another folder with --data, or leave it out."))
    return tuple(found)


def draw_demo(folder: Path, *, progress: Callable[[str], None]) -> int:
    """Draw the demo's catalogue anew into a folder without pictures, and return how many drawings there are."""
    if (folder / "pictures").exists():
        raise Invalid(say("{folder} holds pictures already. Name a folder that does not exist yet.", folder=folder), field="folder")
    return write_set(folder, progress=progress)


def _make(db: Session, person: Invented, *, at: datetime) -> int:
    wishes = Preferences(minutes_a_day=person.minutes)
    made = accounts.make_account(
        db, name=person.name, passphrase=secrets.token_urlsafe(24), at=at, is_keeper=person.is_keeper, preferences=wishes
    )
    return made.id


@dataclass
class _Learner:
    """One person while her history is played: what she has seen of each pair, and when."""

    person: Invented
    account_id: int
    dice: Random
    pictures: dict[int, int] = field(default_factory=dict)
    seen_at: dict[int, datetime] = field(default_factory=dict)


def _play_history(db: Session, person: Invented, account_id: int, *, at: datetime, dice: Random) -> None:
    """Play every drill of a person; one that has not begun has nothing on her shelf either."""
    days = scenario.list_days_ago(person, dice)
    learner = _Learner(person, account_id, dice)
    for ago in days:
        day = (at - timedelta(days=ago)).replace(hour=dice.randrange(*HOURS), minute=dice.randrange(60), second=0, microsecond=0)
        if ago == days[0]:
            for pair_set in shelf.list_sets(db, account_id):
                shelf.take_set(db, account_id, pair_set.id, at=day)
            db.flush()
        _play_drill(db, learner, at=day)


def _play_drill(db: Session, learner: _Learner, *, at: datetime) -> None:
    drill_id = start_drill(db, learner.account_id, drill_id=_id(learner.dice), at=at)
    packet = the_packet(db, learner.account_id, drill_id, now=at)
    answers: list[NewAnswer] = []
    moment = at + timedelta(seconds=20)
    for shown in packet.rounds:
        for showing in shown.showings:
            given, moment = _answer(learner, shown, showing, moment)
            answers += given
    store_answers(db, learner.account_id, answers, received_at=moment)


def _answer(learner: _Learner, shown: RoundView, showing: ShowingView, moment: datetime) -> tuple[list[NewAnswer], datetime]:
    """Answer every question of a picture in turn; return the answers and when the next picture comes."""
    pair, given = shown.pair, []
    for question in showing.questions:
        answer = _say(learner, pair, showing, question, moment)
        moment = answer.at + timedelta(seconds=2)
        given.append(answer)
    learner.pictures[pair.id] = learner.pictures.get(pair.id, 0) + 1
    learner.seen_at[pair.id] = moment
    return given, moment


def _say(learner: _Learner, pair: Pair, showing: ShowingView, question: Question, moment: datetime) -> NewAnswer:
    """Say what she says of one question, as her skill and the dice have it."""
    person, dice = learner.person, learner.dice
    stage, pictures = scenario.stage_of(pair.first, pair.second), learner.pictures.get(pair.id, 0)
    names_form = question.kind == form_kind.KEY
    chance = scenario.chance_trait_right(person, stage, pictures=pictures)
    if names_form:
        since = (moment - learner.seen_at.get(pair.id, moment)) / timedelta(days=1)
        is_first = question.key == str(pair.first.id)
        shown, other = (pair.first, pair.second) if is_first else (pair.second, pair.first)
        chance = scenario.chance_of(person, shown, other, pictures=pictures, days_since=since, is_first=is_first)
    is_right = dice.random() < chance
    said = question.key if is_right else scenario.wrong_choice([choice.key for choice in question.choices], question.key, dice)
    seconds = scenario.seconds_taken(chance, dice)
    return NewAnswer(
        id=_id(dice),
        showing=showing.id,
        ask=question.place,
        said=said,
        sure=scenario.how_sure(person, chance, is_right=is_right, dice=dice) if names_form else None,
        seconds=seconds,
        hint=names_form and chance < 0.7 and dice.random() < 0.12,
        at=moment + timedelta(seconds=seconds),
    )


def _id(dice: Random) -> str:
    return str(uuid.UUID(int=dice.getrandbits(128), version=4))
