"""A trial: a learner who says that she knows a pair is asked until her answers say enough, page by page."""

from __future__ import annotations

import uuid

from flask import redirect, render_template, url_for
from werkzeug.wrappers import Response

from drillhall.errors import BadAnswer
from drillhall.practice import trying
from drillhall.practice.answering import store_answers
from drillhall.web.learner import answers
from drillhall.web.learner.drill import Post, new_answer_id
from drillhall.web.learner.room import blueprint
from drillhall.web.session import dice, now, store, the_person


@blueprint.post("/pairs/<int:pair_id>/try")
def try_pair(pair_id: int) -> Response:
    """Begin a trial of a pair, or take up the one that is open."""
    person, drill_id = the_person(), str(uuid.UUID(int=dice().getrandbits(128), version=4))
    with store().work() as db:
        begun = trying.start_trial(db, person.id, pair_id, drill_id=drill_id, at=now())
    return redirect(url_for("learner.trial", trial_id=begun), code=303)


@blueprint.get("/trials/<trial_id>")
def trial(trial_id: str) -> str:
    """Show a trial as it stands: the next picture, or what it came to."""
    person = the_person()
    with store().look() as db:
        page = trying.the_trial(db, person.id, trial_id, now=now())
    return render_template("learner/trial.html", page=page, post=Post(answer_id=new_answer_id(), shown_at=now().isoformat()))


@blueprint.post("/trials/<trial_id>")
def answer_trial(trial_id: str) -> Response:
    """Store one answer of a trial."""
    person, given = the_person(), answers.from_form(now())
    with store().work() as db:
        trying.the_trial(db, person.id, trial_id, now=now())
        stored = store_answers(db, person.id, [given], received_at=now())
    if stored.refused:
        raise BadAnswer(stored.refused[0].why, field="answer")
    return redirect(url_for("learner.trial", trial_id=trial_id), code=303)
