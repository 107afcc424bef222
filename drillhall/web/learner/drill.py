"""The drill: planned, played answer by answer or as a packet, and ended."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from typing import Any

from flask import jsonify, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from drillhall.errors import BadAnswer
from drillhall.people import sign_ins
from drillhall.people.person import Person
from drillhall.practice import crediting, drilling, explaining, playing
from drillhall.practice.answering import store_answers
from drillhall.practice.drill_end import the_drill_end
from drillhall.practice.handing_in import hand_in
from drillhall.practice.packets import Given, Meeting, Packet, Question, RoundView, ShowingView
from drillhall.web import forms
from drillhall.web.learner import answers
from drillhall.web.learner.room import blueprint, queue_key
from drillhall.web.packets import numbers_of, packet_json
from drillhall.web.rendering import TemplateRender
from drillhall.web.session import SignInNeeded, dice, now, store, the_person
from drillhall.words import speak, speaking


@dataclass(frozen=True, slots=True)
class Post:
    """What a page without script must send back with an answer: the id made for it, and when the picture was shown."""

    answer_id: str
    shown_at: str


@dataclass(frozen=True, slots=True)
class Step:
    """Where a learner is in her drill: a pair to meet, or a question, asked or answered."""

    round: RoundView
    showing: ShowingView
    question: Question
    given: Given | None
    meets: bool


@blueprint.post("/drills")
def plan() -> Response | tuple[Response, int]:
    """Plan today's drill, or take up the one that is open, and go to it."""
    person = the_person()
    with store().work() as db:
        drill_id = drilling.start_drill(db, person.id, drill_id=str(uuid.UUID(int=dice().getrandbits(128), version=4)), at=now())
    if request.is_json:
        return jsonify(drill=drill_id, packet_url=url_for("learner.packet", drill_id=drill_id)), 201
    return redirect(url_for("learner.drill"), code=303)


@blueprint.get("/drills/<drill_id>")
def packet(drill_id: str) -> Response:
    """Give the whole drill as a packet, to be played without the network."""
    person = the_person()
    with store().look() as db:
        whole, meetings = playing.packet_to_keep(db, person.id, drill_id, now=now())
    with speak(speaking()):  # asked for once: a packet has thousands of sentences
        return jsonify(packet_json(whole, TemplateRender(meetings)))


@blueprint.get("/drill")
def drill() -> str | Response:
    """Show one question of the open drill: the one asked for if it is answered, else the first that is not."""
    person = the_person()
    meeting: Meeting | None = None
    with store().look() as db:
        current = playing.find_open_drill(db, person.id, now=now())
        if current is None:
            return redirect(url_for("learner.today"), code=303)
        whole = playing.the_packet(db, person.id, current, now=now())
        step = _step(whole)
        if step is None:
            return redirect(url_for("learner.drill_end", drill=whole.drill_id), code=303)
        if step.meets:
            meeting = explaining.the_meeting(db, person.id, step.round.pair.id, now=now())
    return render_template("learner/drill.html", packet=whole, **_shown(whole, step, meeting))


@blueprint.post("/drills/answers")
def answer() -> Response:
    """Store answers: a batch as JSON from the player, or one from a page without script."""
    person = the_person()
    if request.is_json:
        return _answer_batch(person)
    given = answers.from_form(now())
    with store().work() as db:
        stored = store_answers(db, person.id, [given], received_at=now())
        sign_ins.note_use(db, person, at=now())
    if stored.refused:
        raise BadAnswer(stored.refused[0].why, field="answer")
    return redirect(url_for("learner.drill", showing=given.showing, ask=given.ask), code=303)


@blueprint.get("/drill/end")
def drill_end() -> str | Response:
    """Say what a drill came to."""
    person = the_person()
    with store().look() as db:
        drill_id = request.args.get("drill", "") or playing.find_latest_drill(db, person.id)
        if not drill_id:
            return redirect(url_for("learner.today"), code=303)
        ended = the_drill_end(db, person.id, drill_id, now=now())
        sets = crediting.list_sets_of_drill(db, person.id, drill_id)
    return render_template("learner/drill_end.html", ended=ended, sets=sets)


def _answer_batch(person: Person) -> Response:
    if answers.queue_of_json() not in ("", queue_key(person)):
        raise SignInNeeded
    read, unreadable = answers.from_json(now())
    with store().work() as db:
        taken = hand_in(db, person.id, read, received_at=now())
        sign_ins.note_use(db, person, at=now())
    return jsonify(
        stored=taken.stored.stored,
        known=taken.stored.known,
        refused=[{"id": one.id, "why": one.why} for one in (*unreadable, *taken.stored.refused)],
        withdrawn=taken.withdrawn,
        standing={str(pair_id): standing.value for pair_id, standing in taken.standings.items()},
    )


def _step(whole: Packet) -> Step | None:
    """Return where the learner is: the answered question that the address names, else the first unanswered one."""
    wanted = (forms.asked_id("showing"), forms.asked_id("ask") or 0)
    met = forms.asked_id("met")
    steps = [(view, showing, question) for view in whole.rounds for showing in view.showings for question in showing.questions]
    for view, showing, question in steps:
        given = showing.given.get(question.place)
        if given is not None and (showing.id, question.place) == wanted:
            return Step(view, showing, question, given, meets=False)
    for view, showing, question in steps:
        if showing.left and question.place not in showing.given:
            # Whoever asks for a hint is at the question already.
            begun = "hint" in request.args or met == view.id or any(other.given for other in view.showings)
            return Step(view, showing, question, None, meets=view.meet and not begun)
    return None


def _shown(whole: Packet, step: Step, meeting: Meeting | None) -> dict[str, Any]:
    """Return what the drill's template shows of a step."""
    if meeting is not None:
        next_url = url_for("learner.drill", met=step.round.id)
        return {"meeting": meeting, "next_url": next_url, "pictures": len(step.round.showings), "numbers": None}
    return {
        "round": step.round,
        "showing": step.showing,
        "question": step.question,
        "given": step.given,
        "hint": "hint" in request.args,
        "numbers": numbers_of(whole, step.showing.id),
        "post": Post(answer_id=new_answer_id(), shown_at=now().isoformat()),
    }


def new_answer_id() -> str:
    """Return a UUID of version 7 (RFC 9562, section 5.7): 48 bits of milliseconds, then chance."""
    value = int(now().timestamp() * 1000) << 80 | dice().getrandbits(80)
    value = value & ~(0xF << 76) | 0x7 << 76
    return str(uuid.UUID(int=value & ~(0x3 << 62) | 0x2 << 62))
