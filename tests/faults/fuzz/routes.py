"""Sends requests that nobody means to every route of a hall, in lives: each begins with the hall as it was built, and ends after some."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from random import Random
from typing import Any, Final

from werkzeug.routing import Rule

from tests.faults.fuzz.drafts import send
from tests.faults.fuzz.ground import Ground
from tests.faults.fuzz.judging import Verdicts
from tests.faults.fuzz.spoiling import begin, spoil
from tests.faults.fuzz.stage import Stage

A_LIFE: Final = 80
"""How many requests the hall is asked before it is set back."""
TURNS_A_LIFE: Final = 60
"""How many routes on from a life's first one the next life begins: what is left of a life is for requests that went elsewhere."""


def live(stage: Stage, seed: int, verdicts: Verdicts, *, requests: int = A_LIFE) -> None:
    """Ask for so many; the same seed asks for the same again, as the first life of a run with that seed."""
    dice, ground = Random(f"routes {seed}"), stage.ground
    stage.set_back(Random(seed))
    rules = sorted(stage.app.url_map.iter_rules(), key=lambda rule: (rule.rule, rule.endpoint))
    adapter = stage.app.url_map.bind("localhost")

    def build(rule: Rule, values: dict[str, Any]) -> str:
        methods = sorted((rule.methods or set()) - {"HEAD", "OPTIONS"})
        return str(adapter.build(rule.endpoint, {name: values[name] for name in rule.arguments}, method=methods[0]))

    turns, left_out = _turns(rules, seed * TURNS_A_LIFE), list[Rule]()
    for number in range(requests):
        again = bool(left_out)
        rule = left_out.pop() if again else next(turns)
        draft = begin(ground, rule, build, dice)
        spoil(draft, ground, dice)
        sent = send(draft, ground.cookies[draft.who], ground.tokens[draft.who])
        draft.endpoint = stage.endpoint_of(sent)
        if draft.endpoint != rule.endpoint and not again:  # it was spoilt so that it went elsewhere
            left_out.append(rule)
        reply = stage.ask(sent)
        verdicts.judge(draft, sent, reply, stage.changes(), f"request {number + 1} of --seed {seed}")
        if _is_signed_out(draft.who, reply.headers, reply.status, ground):
            stage.set_back(dice)


def _turns(rules: Sequence[Rule], place: int) -> Iterator[Rule]:
    """Yield rules from a place on in a row without end, in which each stands once before any stands again."""
    while True:
        turn, at = divmod(place, len(rules))
        yield from Random(f"turn {turn}").sample(rules, len(rules))[at:]
        place += len(rules) - at


def _is_signed_out(who: str, headers: dict[str, str], status: int, ground: Ground) -> bool:
    return who != "visitor" and status == 303 and headers.get("Location", "").startswith("/sign-in")
