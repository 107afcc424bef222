"""Specimens of the parts that show pictures: pictures themselves, meeting a pair, and the drill's panel."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

from drillhall.core.values import Mark, Rendition, State, Trait, TraitKind, Why
from drillhall.practice.packets import Choice, CloseUp, MeasureTold, Meeting, PictureView, Question, RoundView, ShowingView, TraitTold
from drillhall.web.specimens.specimen import Specimen
from drillhall.web.specimens.words import LEFT, LONG, PAIR, PLAIN, RIGHT

MARK: Final = Mark("bill", 0.30, 0.30, 0.20, 0.15)
BENT: Final = (State("tip", "bent at the tip"), State("straight", "straight"))
BILL: Final = Trait("bill", "Bill", "bill", TraitKind.STRUCTURE, BENT, subject="bird")
OWN: Final = Trait("gill", "Sheen of the gill edge", "gill edge", TraitKind.COLOUR, BENT)
CHOICES: Final = (Choice("1", LEFT.name, LEFT.wears, "first"), Choice("0", "Neither of these", "", "neither"))
ANSWERS: Final = '<p class="soft">Here stand the answers.</p>'


def _show(macro: str, state: str, *args: Any, within: str = "", **named: Any) -> Specimen:
    return Specimen("parts/picture.html", macro, state, args, named, within=within)


def of_pictures(sample: PictureView) -> tuple[Specimen, ...]:
    """Return pictures in every state, made from one that the reader may see."""
    locked, framed = replace(sample, may_cut=False), replace(sample, may_cut=False, frame=MARK)
    several, altered = replace(sample, subject=MARK), replace(sample, changed="shown in grey", licence="CC BY 4.0", licence_url="")
    side = CloseUp(LEFT, sample, MARK, "bent at the tip")
    return (
        _show("whole", "an image", sample, sample.alt, within="picture"),
        _show("whole", "which of several is meant", several, sample.alt, within="picture"),
        _show("drawn", "a frame that zooms", framed, sample.alt, within="picture"),
        _show("two", "side by side", sample, sample, "Two pictures side by side", within="room"),
        _show("ring", "it decides", MARK, sample, within="svg"),
        _show("ring", "it misleads", MARK, sample, misleads=True, within="svg"),
        _show("marks", "nothing marked", sample, None),
        _show("marks", "marked", sample, MARK, within="over"),
        _show("to_whole", "of a frame", framed),
        _show("to_whole", "of a whole picture: nothing", sample),
        _show("closeup", "enlarged", side, "Bill"),
        _show("closeup", "misleading", side, "Bill", misleads=True),
        _show("closeup", "may not be altered", replace(side, picture=locked), "Bill"),
        _show("closeup", "nothing marked", replace(side, mark=None), "Bill"),
        _show("closeup", "no portrait", replace(side, picture=None), "Bill"),
        _show("licensed", "with its licence", sample),
        _show("licensed", "altered", altered),
        _show("credits", "once each", (sample, sample, altered), enlarged=True),
        _show("credits", "none: nothing", ()),
        _show("address", "of a picture", sample, within="text"),
        _show("srcset", "of a picture", sample, within="text"),
    )


def of_meeting(sample: PictureView) -> tuple[Specimen, ...]:
    """Return the parts by which a pair is met."""
    first, second = CloseUp(LEFT, sample, MARK, "bent at the tip"), CloseUp(RIGHT, sample, MARK, "straight")
    bare = CloseUp(LONG, None, None, "")
    decides = TraitTold(BILL, "decides, right 9 times in 10", misleads=False, first=first, second=second)
    misleads = replace(decides, trait=OWN, worth="misleads", misleads=True, thirds=(CloseUp(PLAIN, None, None, "straight"),))
    met = Meeting(PAIR, "Look at the bill first.", replace(first, mark=None, state=""), bare, (decides,), "Example List")
    measured = (
        MeasureTold("Bill length", "38 ± 2 mm", "44 ± 3 mm (n = 40)", "decides: a cut at 40.8 mm puts 9 in 10 right", is_weak=False),
        MeasureTold("Wing length", "120 ± 5 mm", "121 ± 5 mm", "measured, and hardly tells these two", is_weak=True),
    )
    says = (
        ("meet", "no round follows", (met, "")),
        ("meet", "measured, one of them weak", (replace(met, measures=measured), "")),
        ("meet", "a round follows, no trait is written down", (replace(met, traits=(), note=""), "/", 3)),
        ("portrait", "with a picture", (first,)),
        ("portrait", "long names, no picture", (bare,)),
        ("third_form", "with what it wears", (LONG,)),
        ("trait", "it decides", (decides, 1)),
        ("trait", "it misleads, and a third shares it", (misleads, 2)),
    )
    return tuple(Specimen("parts/meeting.html", macro, state, args) for macro, state, args in says)


def _panel(macro: str, state: str, *args: Any, body: str = "", **named: Any) -> Specimen:
    return Specimen("parts/panel.html", macro, state, args, named, body=body)


def of_panel(sample: PictureView) -> tuple[Specimen, ...]:
    """Return the drill's panel, asked and answered, and what it is made of."""
    question = Question(0, "form", CHOICES, "1", hint="Look at the bill.", hint_mark=MARK)
    one = ShowingView(1, sample, (question,), Rendition.AS_TAKEN, first_sight=True, third=False, given={})
    told = RoundView(1, PAIR, Why.DUE, "You are about to forget these two", meet=False, showings=(one,))
    silent, two = replace(told, why_words=""), replace(one, second=sample)
    asked = ("Tap how sure you are, under its name.", "#", None)
    return (
        _panel("asked_panel", "asked", one, question, told, "Which form is this?", *asked, False, body=ANSWERS),
        _panel("asked_panel", "asked, with the hint", one, question, told, "Which form is it, with the hint?", *asked, True, body=ANSWERS),
        _panel(
            "asked_panel", "two pictures", two, question, silent, "Which one is Mere piper?", "One of each.", "#", None, False, body=ANSWERS
        ),
        _panel("above_answered", "answered", "Right: Mere piper", "Decides: bill, ringed."),
        _panel("above_answered", "with the room of its question", "Missed", "Bill: straight.", "Tap what you see."),
        _panel("below_asked", "with a hint", told, True),
        _panel("below_asked", "without one", silent, False),
        _panel("below_answered", "it goes on", told, "Next picture"),
        _panel("below_answered", "the end", silent, "End the drill"),
        _panel("why", "said", told),
        _panel("why", "nothing to say: nothing", silent),
        _panel("verdict", "right", True),
        _panel("verdict", "missed", False),
        *(_rung(sure, number) for number, sure in enumerate(("certain", "probable", "possible"), 1)),
        _panel("rung", "on the right side", CHOICES[0], "certain", "KeyL", "L", "Mere piper", "rung-1", False),
        _panel("rung", "a whole side", CHOICES[0], "", "KeyS", "S", "", "rung-tall", True, "I see this"),
        _panel(
            "rung", "a long word, no key", CHOICES[0], "", "", "", "", "rung-state", True, "bent down along its whole length, or drooped"
        ),
    )


def _rung(sure: str, number: int) -> Specimen:
    return _panel("rung", sure, CHOICES[0], sure, "KeyS", "S", "Mere piper", f"rung-{number}")
