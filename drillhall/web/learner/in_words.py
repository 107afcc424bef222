"""A drill in words: birds told instead of shown, one a page, each explained on a page of its own."""

from __future__ import annotations

import uuid

from flask import redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from drillhall.practice import in_words
from drillhall.web import forms
from drillhall.web.learner.room import blueprint
from drillhall.web.session import dice, now, store, the_person
from drillhall.words import say


@blueprint.get("/words")
def words() -> str:
    """Show where the learner is in words, and begin or go on."""
    person = the_person()
    with store().look() as db:
        page = in_words.the_words(db, person.id, now=now())
    return render_template("learner/words.html", page=page)


@blueprint.post("/words")
def start_words() -> Response:
    """Begin a drill in words, or go on with today's."""
    person, drill_id = the_person(), str(uuid.UUID(int=dice().getrandbits(128), version=4))
    with store().work() as db:
        drill_id = in_words.start_words(db, person.id, drill_id=drill_id, at=now())
    return redirect(url_for("learner.word_drill", word_drill_id=drill_id), code=303)


@blueprint.get("/words/<word_drill_id>")
def word_drill(word_drill_id: str) -> str:
    """Show the bird asked for now; the one at the place named `told`, explained; a new pair until `met` names it; or the end."""
    person = the_person()
    with store().look() as db:
        page = in_words.the_word_drill(db, person.id, word_drill_id, now=now())
    told = next((bird for bird in page.answered if str(bird.place) == request.args.get("told")), None)
    meets = bool(page.meets and page.asked and request.args.get("met") != str(page.asked.pair.id))
    return render_template("learner/word_drill.html", page=page, told=told, meets=meets)


@blueprint.post("/words/<word_drill_id>")
def answer_words(word_drill_id: str) -> Response:
    """Keep what was said of one bird, and explain it."""
    person, bird = the_person(), forms.whole("bird", say("The description"))
    form_id, _, sure = forms.text("answer", most=40).partition(":")
    said = (int(form_id) if form_id.isdecimal() else 0, sure)
    with store().work() as db:
        place = in_words.answer_words(db, person.id, word_drill_id, bird, said, at=now())
    return redirect(url_for("learner.word_drill", word_drill_id=word_drill_id, told=place), code=303)
