"""What the pages of corrected labels share: reading the fields, and telling what was judged anew."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from flask import request

from drillhall.acts.correct_label import JudgedAnew
from drillhall.core.labels import Label
from drillhall.errors import Invalid
from drillhall.web import forms
from drillhall.words import say


@dataclass(frozen=True, slots=True)
class Told:
    """What a correction did, for the page after it: nothing, or so many answers of so many learners."""

    changed: bool
    answers: int
    learners: int


def typed_label() -> Label:
    """Return the label that was typed: a form, one of two, or that nobody can say."""
    chosen, other = forms.text("form", most=20), forms.text("or_form", most=20)
    if not chosen:
        raise Invalid(say("Choose what the picture shows."), field="form")
    if chosen == "unsure":
        return Label()
    form_id = forms.chosen("form", say("What it shows"))
    if not other:
        return Label(form_id)
    other_id = forms.chosen("or_form", say("The other form"))
    if other_id == form_id:
        raise Invalid(say("Choose two different forms, or leave the second one empty."), field="or_form")
    return Label(None, (form_id, other_id))


def tell(done: JudgedAnew) -> dict[str, Any]:
    """Return what the next page's address says of a correction."""
    return {"did": "corrected" if done.changed else "nothing", "answers": done.answers, "learners": done.learners}


def told() -> Told | None:
    """Return what this page's address says of a correction just made, or None."""
    if request.args.get("did") not in ("corrected", "nothing"):
        return None
    answers, learners = (forms.asked_id(name) or 0 for name in ("answers", "learners"))
    return Told(request.args["did"] == "corrected", answers, learners)
