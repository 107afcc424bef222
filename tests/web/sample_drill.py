"""An invented drill in plain values: two pairs, one met for the first time, with a trait prompt, *neither* and a third."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from drillhall.core.values import Form, Mark, Pair, Rendition, State, Sure, Trait, TraitKind, Why
from drillhall.practice.packets import (
    Choice,
    CloseUp,
    Explained,
    Given,
    Meeting,
    Packet,
    PictureView,
    Question,
    RoundView,
    ShowingView,
    Size,
    TraitTold,
)

MERE = Form(1, "Mere piper", "Totanulus stagni", life_stage="adult", plumage="non-breeding")
SALT = Form(2, "Saltmarsh mudpiper", "Totanulus salsus", life_stage="juvenile")
RUSH = Form(3, "Rush piper", "Totanulus junci")
PAIR = Pair(1, MERE, SALT)
OTHER_PAIR = Pair(2, MERE, RUSH)

BILL = Trait(
    "bill",
    "Bill",
    "bill",
    TraitKind.STRUCTURE,
    (State("tip", "bent down at the tip", ("drooped",)), State("curved", "curved all along")),
    "Look at the bill. Which shape is it?",
)
LEGS = Trait(
    "legs", "Legs", "leg", TraitKind.COLOUR, (State("dark", "black"), State("green", "green"), State("pale", "yellow"), State("red", "red"))
)
MARK = Mark("bill", 0.18, 0.29, 0.13, 0.1)
PLANNED_AT = datetime(2031, 3, 4, 7, tzinfo=UTC)


def picture(number: int, *, may_cut: bool = True, marked: bool = True) -> PictureView:
    """Return one of the invented pictures."""
    return PictureView(
        public_id=f"picture{number:02}",
        sizes=(Size("small", 600, 450), Size("large", 1200, 900)),
        width_px=1200,
        height_px=900,
        alt="One small shorebird on wet mud, seen from the side, facing left.",
        medium="Drawing",
        credit=f"Drawing {number}: Orla Invented, CC BY 4.0",
        credit_short="Drawing: Orla Invented, CC BY 4.0",
        marks={"bill": MARK} if marked else {},
        shows=frozenset({"bill"}) if marked else None,
        may_cut=may_cut,
    )


def explained(truth: Form, shown: PictureView) -> Explained:
    """Return what is told of a picture of a form; a third has no side of its own."""
    first, second = picture(1), picture(2)
    return Explained(
        truth=truth,
        trait=BILL,
        decides=True,
        first=CloseUp(MERE, shown if truth == MERE else first, MARK, "bent down at the tip"),
        second=CloseUp(SALT, shown if truth == SALT else second, MARK, "curved all along"),
        mark=None if truth == RUSH else MARK,
    )


def form_question(place: int, truth: Form, shown: PictureView, *, neither: bool) -> Question:
    """Return the question which of the two forms it is."""
    choices = (
        Choice("1", MERE.name, MERE.wears, "first"),
        Choice("2", SALT.name, SALT.wears, "second"),
        *((Choice("0", "Neither of these", "", "neither"),) if neither else ()),
    )
    key = "0" if truth == RUSH else str(truth.id)
    return Question(
        place, "form", choices, key, explained=explained(truth, shown), hint="Look at the bill.", hint_mark=shown.marks.get("bill")
    )


def trait_question(place: int, trait: Trait, key: str) -> Question:
    """Return the question which state of a trait it is."""
    choices = tuple(Choice(state.key, state.label) for state in trait.states)
    return Question(place, "trait", choices, key, trait=trait, hint="Look at it along the edge.", hint_mark=MARK)


def showing(number: int, truth: Form, *before: Question, neither: bool = False, may_cut: bool = True) -> ShowingView:
    """Return one picture with its questions, the form's the last."""
    shown = picture(10 + number, may_cut=may_cut)
    questions = (*before, form_question(len(before), truth, shown, neither=neither))
    return ShowingView(number, shown, questions, Rendition.AS_TAKEN, first_sight=True, third=truth == RUSH, given={})


def packet(*, meet: bool = True, single_keys: bool = False) -> Packet:
    """Return the drill: a pair that is met, then one that is steady."""
    new = RoundView(
        1,
        PAIR,
        Why.NEW,
        "New to you.",
        meet,
        (showing(1, SALT, trait_question(0, BILL, "curved")), showing(2, MERE, trait_question(0, LEGS, "green"))),
    )
    steady = RoundView(
        2,
        PAIR,
        Why.DUE,
        "You are about to forget it.",
        False,
        (showing(3, MERE, neither=True), showing(4, SALT, neither=True, may_cut=False), showing(5, RUSH, neither=True)),
    )
    return Packet(
        "0196aaaa-0000-7000-8000-000000000001",
        PLANNED_AT,
        PLANNED_AT + timedelta(days=14),
        10,
        (new, steady),
        (),
        75.0,
        single_keys,
    )


def meeting() -> Meeting:
    """Return the meeting of the pair."""
    told = TraitTold(BILL, "decides, right 9 times in 10", False, explained(MERE, picture(1)).first, explained(SALT, picture(2)).second)
    third = CloseUp(RUSH, picture(3), MARK, "green")
    legs = TraitTold(LEGS, "misleads", True, CloseUp(MERE, picture(1), MARK, "green"), CloseUp(SALT, picture(2), None, "black"), (third,))
    return Meeting(
        PAIR,
        "Autumn, on open mud.",
        CloseUp(MERE, picture(1), None, ""),
        CloseUp(SALT, picture(2), None, ""),
        (told, legs),
        "List of the Sluice",
    )


GIVEN = Given("1", Sure.CERTAIN)
