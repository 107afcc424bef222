"""What helps whoever is lost: how the drill decides, and the parts of a bird."""

from __future__ import annotations

from typing import Final

from flask import Blueprint, render_template

from drillhall.core.topography import DRAWING, GLOSSARY, RAISED_WING
from drillhall.practice import deciding
from drillhall.web.session import find_person
from drillhall.words import say

blueprint: Final = Blueprint("help", __name__)

SOURCES: Final = (
    (say("When a pair is due"), say("FSRS, version 6, with its published numbers, of which each round is one rating")),
    (say("Where the truth likely lies"), say("Wilson 1927, the score interval, at 95 in 100; differences by Newcombe 1998")),
    (say("A pair you say you know"), say("Wald 1945, the sequential test")),
    (say("Sure and right, in one figure"), say("Brier 1950, with the three terms of Murphy 1973")),
    (
        say("Telling two forms apart, whatever one leans to"),
        say("Detection theory after Macmillan and Creelman; cells set right by Hautus 1995"),
    ),
    (say("What a trait tells"), say("Shannon 1948, mutual information; chances from counts by Jeffreys 1961")),
    (
        say("What a measure tells"),
        say("Cohen 1988, d; Green and Swets 1966, the area under the curve; Inman and Bradley 1989, overlap"),
    ),
    (say("Working a form out"), say("Bayes' rule with traits taken as independent, Duda and Hart 1973")),
    (say("Chances on a day to come"), say("Platt 1999, a logistic curve fitted to rounds that were held")),
    (say("Colours as others see them"), say("Machado, Oliveira and Fernandes 2009; differences by the CIE's formula of 1976")),
    (say("Haze far off"), say("Koschmieder 1924")),
    (say("Labels that learners doubt"), say("Dawid and Skene 1979")),
)
"""What is reckoned, and the published method by which."""


@blueprint.get("/how-the-drill-decides")
def how_the_drill_decides() -> str:
    """Tell what the drill asks and why, how answers are judged, and by which numbers."""
    person = find_person()
    by = {**deciding.Numbers().by_name(), "percent": deciding.PERCENT}
    ready, running = deciding.field_ready_by(), deciding.running_right()
    wishes = person.preferences if person else None
    return render_template("help/how_the_drill_decides.html", by=by, ready=ready, running=running, wishes=wishes, sources=SOURCES)


@blueprint.get("/parts-of-a-bird")
def parts_of_a_bird() -> str:
    """Show the parts of a bird on our drawing, and say in words what each is."""
    return parts_page()


def parts_page(**reader: None) -> str:
    """Return the page of the parts of a bird, to whoever asks; with `person=None` as nobody gets it, for a device to keep."""
    told = list(GLOSSARY.values())
    return render_template(
        "help/parts_of_a_bird.html",
        **reader,
        on_bird=[one for one in told if one.spot and not one.on_wing],
        on_wing=[one for one in told if one.spot and one.on_wing],
        elsewhere=[one for one in told if not one.spot],
        sizes={"bird": DRAWING, "wing": RAISED_WING},
    )
