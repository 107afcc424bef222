"""Plays a stored drill as a learner would: answer by answer, right or wrong as told."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from drillhall.practice import playing
from drillhall.practice.answering import NewAnswer, store_answers
from drillhall.practice.drilling import start_drill
from drillhall.practice.packets import Packet, Question, RoundView

Knows = Callable[[RoundView, Question], bool]


def answers_to(packet: Packet, *, at: datetime, knows: Knows = lambda view, question: True, sure: str = "probable") -> list[NewAnswer]:
    """Return an answer to every open question of a packet, ten seconds apart; a miss ends its round, spare ones stay unplayed."""
    answers = []
    for view in packet.rounds:
        ended = view.spare
        for showing in view.showings:
            if ended:
                break
            for question in showing.questions:
                if question.place in showing.given:
                    continue
                at += timedelta(seconds=10)
                wrong = next(choice.key for choice in question.choices if choice.key != question.key)
                said = question.key if knows(view, question) else wrong
                given = sure if question.kind == "form" else None
                ended |= view.ends_at_miss and not showing.third and question.kind == "form" and said != question.key
                answers.append(NewAnswer(str(uuid.uuid4()), showing.id, question.place, said, given, 8.0, False, at))
    return answers


def play(db: Session, learner: int, *, at: datetime, knows: Knows = lambda view, question: True, sure: str = "probable") -> Packet:
    """Plan a drill, answer all of it, and return it as it was before the answers."""
    drill_id = start_drill(db, learner, drill_id=str(uuid.uuid4()), at=at)
    packet = playing.the_packet(db, learner, drill_id, now=at)
    answers = answers_to(packet, at=at, knows=knows, sure=sure)
    stored = store_answers(db, learner, answers, received_at=at + timedelta(hours=1))
    assert not stored.refused, stored.refused
    return packet
