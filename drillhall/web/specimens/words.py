"""Specimens of the parts that are words and fields: fields, notices, ways to more pages, pairs, measurements."""

from __future__ import annotations

from typing import Any, Final

from drillhall.core.confusion import sensitivity, wilson
from drillhall.core.values import Form, Pair, Sure, Trait, TraitKind
from drillhall.errors import Invalid
from drillhall.practice.field_tests.results import FormTold, PairTold
from drillhall.practice.today import JudgedAnew
from drillhall.web.specimens.specimen import Specimen
from drillhall.words import say

LEFT: Final = Form(1, "Mere piper", "Totanulus stagni", life_stage="adult", plumage="non-breeding")
RIGHT: Final = Form(2, "Saltmarsh mudpiper", "Totanulus salsus", life_stage="juvenile")
LONG: Final = Form(
    3, "Greater broad-shouldered saltmarsh sandrunner", "Arenicursor latihumeralis major", "female", "immature", "first winter", "pale"
)
PLAIN: Final = Form(4, "Reed piper", "")
PAIR: Final = Pair(1, LEFT, RIGHT)
"""Invented forms: no such birds are."""

ASKED: Final = say("Name what you saw: at least one word.")


def _panel(part: str, subject: str) -> Trait:
    return Trait("panel", "Panel", part, TraitKind.PATTERN, (), subject=subject)


def wrong(field: str) -> Invalid:
    """Return what is wrong with a field, as a form is told it."""
    return Invalid(ASKED, field=field)


def _field(macro: str, state: str, *args: Any, **named: Any) -> Specimen:
    return Specimen("parts/field.html", macro, state, args, named)


FIELDS: Final = (
    _field("summary", "something to mend", wrong("note")),
    _field("text", "empty, may stay so", "t-empty", "A note", required=False, note="Nobody else reads it."),
    _field("text", "filled", "t-filled", "A note", "Two on the far bank"),
    _field("text", "to mend", "t-wrong", "A note", wrong=wrong("t-wrong")),
    _field("number", "filled", "n-filled", "Minutes a day", 10, 1, 120, note="A drill stops on time."),
    _field("number", "to mend", "n-wrong", "Minutes a day", 0, 1, 120, wrong=wrong("n-wrong")),
    _field("passphrase", "known", "p-known", "Passphrase", "current-password"),
    _field("passphrase", "new, one offered", "p-new", "New passphrase", "new-password", least=8, offered="four dull lanterns hum"),
    _field("passphrase", "to mend", "p-wrong", "Passphrase", "current-password", wrong=wrong("p-wrong")),
    _field("code", "empty", "c-empty", "Code", note="From the device that you named."),
    _field("code", "to mend", "c-wrong", "Code", wrong=wrong("c-wrong")),
    _field("choice", "chosen", "o-chosen", "Seen from", (("left", "the left"), ("right", "the right")), given="right"),
    _field("choice", "to mend", "o-wrong", "Seen from", (("", "choose"), ("left", "the left")), wrong=wrong("o-wrong")),
    _field("tick", "not ticked", "k-off", "Keep the files as they came"),
    _field("tick", "ticked", "k-on", "Keep the files as they came", given=True, note="For you alone."),
    _field("tick", "to mend", "k-wrong", "I have asked whoever is in the picture", wrong=wrong("k-wrong")),
    _field("button", "the one thing to do", "#", "Keep it", class_="act"),
    _field("button", "beside others", "#", "Keep it"),
    _field("button", "among words", "#", "Put these away", class_="quiet"),
    Specimen("parts/field.html", "csrf", "in every form, unseen"),
    Specimen("parts/passkey.html", "by_passkey", "unseen until a script knows that the browser can", ("own", "With a passkey")),
    Specimen("parts/passkey.html", "new_passkey", "unseen likewise", ("Make it now",)),
    Specimen("parts/passkey.html", "needs_script", "seen without scripts alone"),
    Specimen("parts/field.html", "typed", "what was typed", ("note", "Two on the far bank"), within="text"),
    Specimen("parts/field.html", "mend", "tells the field that it is wrong", ("note", wrong("note")), within="text"),
    Specimen("parts/field.html", "told", "what to mend", ("note", wrong("note"))),
)

NOTICES: Final = (
    Specimen("parts/notice.html", "banners", "a caution that stays", (("Never eat, pick or handle on the strength of a drill.",),)),
    Specimen("parts/notice.html", "judged_anew", "one picture", (JudgedAnew(1, 1),)),
    Specimen("parts/notice.html", "judged_anew", "several", (JudgedAnew(3, 14),)),
)


class _Page:
    """A page of a long list."""

    size, total = 20, 55

    def __init__(self, page: int) -> None:
        self.page, self.has_more = page, page < 2


PAGES: Final = tuple(
    Specimen("parts/pages.html", "pages", state, (_Page(page), "specimens.parts", f"Pages, {state}"))
    for page, state in enumerate(("the first page", "in the midst", "the last page"))
)

PAIRS: Final = (
    Specimen("parts/pair.html", "pair_name", "usual", (PAIR,)),
    Specimen("parts/pair.html", "pair_name", "long names", (Pair(2, LONG, RIGHT),)),
    Specimen("parts/pair.html", "form_line", "with what it wears", (LONG,)),
    Specimen("parts/pair.html", "form_line", "the name alone", (PLAIN,)),
    Specimen("parts/pair.html", "wear", "each its own", (PAIR,)),
    Specimen("parts/pair.html", "wear", "one of them any plumage", (Pair(3, PLAIN, RIGHT),)),
    Specimen("parts/pair.html", "wear", "both the same", (Pair(4, RIGHT, RIGHT),)),
    Specimen("parts/pair.html", "wear", "neither says", (Pair(5, PLAIN, PLAIN),)),
    Specimen("parts/pair.html", "side", "asked", (LEFT.name, LEFT.wears), {"language": "en"}, within="facing"),
    Specimen("parts/pair.html", "side", "right: this one", (LEFT.name, LEFT.wears, "true", "en", "this one"), within="facing"),
    Specimen("parts/pair.html", "side", "missed: said this", (RIGHT.name, RIGHT.wears, "mistaken", "en", "said certain"), within="facing"),
    Specimen("parts/pair.html", "side", "a state", ("bent down at the tip", "or drooped"), {"state": True}, within="facing"),
    Specimen("parts/pair.html", "side", "a long name", (LONG.name, LONG.wears), {"language": "en"}, within="facing"),
    Specimen("parts/pair.html", "sentence", "without its point", ("One bird on wet mud",)),
    Specimen("parts/pair.html", "said_sure", "certain", (Sure.CERTAIN,)),
    Specimen("parts/pair.html", "said_sure", "not told yet", (None,)),
    Specimen("parts/pair.html", "sure_slot", "possible", (Sure.POSSIBLE,)),
    Specimen("parts/part.html", "part_link", "in the glossary", (_panel("wing-panel", "bird"),)),
    Specimen("parts/part.html", "part_link", "of no bird: the word alone", (_panel("wing-panel", "other animal"),)),
    Specimen("parts/part.html", "part_link", "a word of the catalogue's own: nothing", (_panel("gill edge", "bird"),)),
)


def _measured(state: str, right: int, shown: int, **named: Any) -> Specimen:
    return Specimen("parts/interval.html", "row", state, ("Mere piper", right, shown, wilson(right, shown)), named, within="plot")


INTERVALS: Final = (
    _measured("past the field", 24, 25, field=0.7, guess=0.5),
    _measured("not there yet", 9, 14, field=0.7, guess=0.5),
    _measured("few answers", 1, 2, field=0.7, guess=0.5),
    _measured("not seen yet", 0, 0, field=0.7, guess=0.5),
    _measured("against what the word promises", 30, 40, post=0.95, means="certain"),
    Specimen("parts/interval.html", "percent", "a share", (0.257,), within="text"),
)


def _told(right: int, shown: int) -> PairTold:
    """Return a pair as a test tells it, half the pictures of either form."""
    first, second = FormTold(LEFT, right // 2, shown // 2), FormTold(RIGHT, right - right // 2, shown - shown // 2)
    apart = sensitivity(hits=first.right, shown_first=first.shown, false_alarms=second.shown - second.right, shown_second=second.shown)
    return PairTold(PAIR, right, shown, wilson(right, shown), first, second, RIGHT if apart else None, 10 if apart else None, apart)


TOLD: Final = (
    Specimen("parts/pairs_told.html", "pairs_told", "a class", ((_told(35, 40), _told(5, 8)), "To see: which pairs are told.")),
    Specimen("parts/pairs_told.html", "pairs_told", "one sitter", ((_told(3, 4),), "To see: which pairs are told."), {"forms": False}),
)
