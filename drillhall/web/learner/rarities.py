"""A rarity drill: chosen, answered page by page, and told of when it is over."""

from __future__ import annotations

import uuid

from flask import redirect, render_template, url_for
from werkzeug.wrappers import Response

from drillhall.core.rounds.rarity import WARM_UP
from drillhall.practice import explaining, rarity
from drillhall.web import forms
from drillhall.web.learner.room import blueprint
from drillhall.web.session import dice, now, store, the_person
from drillhall.words import say

USUAL_ODDS = 10


@blueprint.get("/pairs/<int:pair_id>/rarity")
def choose_rarity(pair_id: int) -> str:
    """Show what may be chosen for a rarity drill of a pair; the address may name the rare form and the odds."""
    person = the_person()
    with store().look() as db:
        meeting = explaining.the_meeting(db, person.id, pair_id, now=now())
    return render_template("learner/choose_rarity.html", meeting=meeting, warm_up=WARM_UP, rare=forms.asked_id("rare"), one_in=_odds())


@blueprint.get("/sets/<int:pair_set_id>/rarity")
def scarce_forms(pair_set_id: int) -> str:
    """Show which forms of a pair set are scarce, each with the pairs of which a rarity drill may be begun."""
    person = the_person()
    with store().look() as db:
        found = rarity.scarce_forms(db, person.id, pair_set_id, now=now())
    return render_template("learner/scarce_forms.html", found=found)


def _odds() -> int:
    asked = forms.asked_id("one_in") or USUAL_ODDS
    return min(max(asked, 2), rarity.MOST_ODDS)


@blueprint.post("/pairs/<int:pair_id>/rarity")
def start_rarity(pair_id: int) -> Response:
    """Begin a rarity drill of a pair."""
    person, drill_id = the_person(), str(uuid.UUID(int=dice().getrandbits(128), version=4))
    wish = rarity.RarityWish(
        pair_id=pair_id,
        rare_form_id=forms.chosen("rare", say("Which form is rare")),
        one_in=forms.whole("one_in", say("One in how many")),
        showings=forms.whole("showings", say("How many pictures")),
    )
    with store().work() as db:
        rarity.start_rarity(db, person.id, wish, drill_id=drill_id, at=now())
    return redirect(url_for("learner.rarity_drill", rarity_id=drill_id), code=303)


@blueprint.get("/rarity/<rarity_id>")
def rarity_drill(rarity_id: str) -> str:
    """Show a rarity drill as it stands: the next picture, or what it came to."""
    person = the_person()
    with store().look() as db:
        page = rarity.the_rarity(db, person.id, rarity_id, now=now())
    return render_template("learner/rarity_drill.html", page=page)


@blueprint.post("/rarity/<rarity_id>")
def answer_rarity(rarity_id: str) -> Response:
    """Keep what was said of one picture, and go on."""
    person = the_person()
    showing, said = forms.whole("showing", say("The picture")), forms.chosen("answer", say("The form"))
    with store().work() as db:
        rarity.answer_rarity(db, person.id, rarity_id, showing, said, at=now())
    return redirect(url_for("learner.rarity_drill", rarity_id=rarity_id), code=303)
