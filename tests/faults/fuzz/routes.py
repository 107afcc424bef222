"""Sends requests that nobody means to every route of a hall, in lives: each begins with the hall as it was built, and ends after some."""

from __future__ import annotations

from random import Random
from typing import Any, Final

from werkzeug.routing import Rule

from tests.faults.fuzz.drafts import send
from tests.faults.fuzz.ground import Ground
from tests.faults.fuzz.judging import READING, Verdicts
from tests.faults.fuzz.spoiling import begin, spoil
from tests.faults.fuzz.stage import Stage

A_LIFE: Final = 80
"""How many requests the hall is asked before it is set back."""


def live(stage: Stage, seed: int, verdicts: Verdicts, *, requests: int = A_LIFE) -> None:
    """Ask for so many; the same seed asks for the same again, as the first life of a run with that seed."""
    dice, ground = Random(f"routes {seed}"), stage.ground
    stage.set_back(Random(seed))
    rules = sorted(stage.app.url_map.iter_rules(), key=lambda rule: (rule.rule, rule.endpoint))
    adapter = stage.app.url_map.bind("localhost")

    def build(rule: Rule, values: dict[str, Any]) -> str:
        methods = sorted((rule.methods or set()) - {"HEAD", "OPTIONS"})
        return str(adapter.build(rule.endpoint, {name: values[name] for name in rule.arguments}, method=methods[0]))

    for number in range(requests):
        rule = dice.choice(rules)
        draft = begin(ground, rule, build, dice)
        spoil(draft, ground, dice)
        sent = send(draft, ground.cookies[draft.who], ground.tokens[draft.who])
        draft.endpoint = stage.endpoint_of(sent)
        reply = stage.ask(sent)
        changes = stage.changes(looks_at_files=sent.method not in READING or number + 1 == requests)
        verdicts.judge(draft, sent, reply, changes, f"request {number + 1} of --seed {seed}")
        if _is_signed_out(draft.who, reply.headers, reply.status, ground):
            stage.set_back(dice)


def _is_signed_out(who: str, headers: dict[str, str], status: int, ground: Ground) -> bool:
    return who != "visitor" and status == 303 and headers.get("Location", "").startswith("/sign-in")
