"""Learning records against the published validator of xAPI 1.0.3, npm @learninglocker/xapi-validation 3.0.0 (MIT), and a rule it misses."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from drillhall.practice.exports.xapi import LearningRecord, statement, write
from tests.node import bring, run

HOME = "https://club.example"
AT = datetime(2031, 3, 4, 8, 15, 30, 250_000, tzinfo=UTC)
ONE = LearningRecord(
    id="7b1f2c1e-0f1d-8c55-9c2a-1d0d2f3e4a5b",
    learner="0f" * 16,
    drill="5d2b6a7e-8f0e-8a67-9a4d-0b8b7f6b1c11",
    pair_id=12,
    catalogue_id=3,
    picture="c0ffee",
    language="en-GB",
    choices=(("4", "Sluice fiddler"), ("7", "Marsh fiddler, juvenile"), ("0", "neither")),
    key="4",
    said="7",
    sure="certain",
    seconds=4.2,
    hint=False,
    fresh=True,
    rendition="as taken",
    at=AT,
)
SCRIPT = """
const check = require('@learninglocker/xapi-validation').default;
const told = JSON.parse(require('fs').readFileSync(0));
console.log(JSON.stringify(told.map((one) => check(one).map((fault) => fault.path.join('.')))));
"""


def faults(statements: list[Any]) -> list[list[str]]:
    """Return what the validator finds, statement by statement."""
    found: list[list[str]] = json.loads(run(bring("@learninglocker/xapi-validation", "3.0.0"), SCRIPT, json.dumps(statements)))
    return found


def in_future(told: dict[str, Any], *, now: datetime) -> bool:
    """Whether a statement says a time that is still to come, which 1.0.3 (part two, 2.4.7) forbids and the validator lets pass."""
    return datetime.fromisoformat(told["timestamp"].replace("Z", "+00:00")) > now


def test_what_we_write_is_valid_and_what_is_damaged_is_not() -> None:
    kinds = [
        ONE,
        replace(ONE, said="4"),
        replace(ONE, sure="", hint=True, said="0", key="0", rendition="shape only"),
        replace(ONE, seconds=0.0, choices=ONE.choices[:2], at=AT.astimezone(tz=None)),
        replace(ONE, seconds=86_400.5),
    ]
    written = json.loads(b"".join(write(kinds, home=HOME)))
    damaged = []
    for part, field, value in (
        ("result", "duration", "4.2 s"),
        ("object", "id", "question 7"),
        ("actor", "name", None),
        ("verb", "id", "answered"),
        ("context", "registration", "drill-7"),
        ("result", "score", {"scaled": 1.4}),
    ):
        told = statement(ONE, home=HOME)
        told[part][field] = value
        damaged.append(told)
    found = faults([*written, *damaged])
    assert found[: len(kinds)] == [[]] * len(kinds)
    assert all(found[len(kinds) :])


def test_the_file_is_an_array_be_it_empty() -> None:
    assert json.loads(b"".join(write([], home=HOME))) == []
    assert len(json.loads(b"".join(write([ONE, ONE], home=HOME)))) == 2


@pytest.mark.parametrize(("later", "future"), [(0, False), (1, True)])
def test_the_rule_that_the_validator_misses_can_be_broken(later: int, future: bool) -> None:
    told = statement(replace(ONE, at=AT + timedelta(seconds=later)), home=HOME)
    assert in_future(told, now=AT) is future
    assert told["timestamp"] == f"2031-03-04T08:15:3{later}.250Z"
