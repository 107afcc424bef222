"""Learning records as statements of xAPI 1.0.3: one an answer, of learners who are told apart and not named.

Source: Experience API 1.0.3, part two; verb and activity types of the ADL vocabulary.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Final

from drillhall.words import say

NAME: Final = "xapi"
TITLE: Final = say("xAPI 1.0.3, for a store of learning records")
MEDIA_TYPE: Final = "application/json"
VERB: Final = "http://adlnet.gov/expapi/verbs/answered"
QUESTION: Final = "http://adlnet.gov/expapi/activities/cmi.interaction"


@dataclass(frozen=True, slots=True)
class LearningRecord:
    """One answer to the question which form it is.

    id, drill: UUIDs; learner, picture: opaque names; choices: (key, name), the last may be *neither*; key: what was right;
    seconds: from seeing the picture to the answer; at: when it was given, never in the future.
    """

    id: str
    learner: str
    drill: str
    pair_id: int
    catalogue_id: int
    picture: str
    language: str
    choices: tuple[tuple[str, str], ...]
    key: str
    said: str
    sure: str
    seconds: float
    hint: bool
    fresh: bool
    rendition: str
    at: datetime


def write(records: Iterable[LearningRecord], *, home: str) -> Iterator[bytes]:
    """Yield the statements as one JSON array, piece by piece; `home` is the hall's address, on which every name of ours hangs."""
    between = b"[\n"
    for record in records:
        yield between + json.dumps(statement(record, home=home), ensure_ascii=False, separators=(",", ":")).encode()
        between = b",\n"
    yield b"\n]\n" if between == b",\n" else b"[]\n"


def statement(record: LearningRecord, *, home: str) -> dict[str, Any]:
    """Return one answer as a statement."""
    right = record.said == record.key
    ours = f"{home}/records"
    extensions: dict[str, Any] = {f"{ours}/fresh": record.fresh, f"{ours}/rendition": record.rendition, f"{ours}/hint": record.hint}
    if record.sure:
        extensions[f"{ours}/sure"] = record.sure
    return {
        "id": record.id,
        "actor": {"objectType": "Agent", "account": {"homePage": home, "name": record.learner}},
        "verb": {"id": VERB, "display": {"en": "answered"}},
        "object": {
            "objectType": "Activity",
            "id": f"{ours}/questions/{record.pair_id}/{record.picture}",
            "definition": {
                "type": QUESTION,
                "interactionType": "choice",
                "correctResponsesPattern": [record.key],
                "choices": [{"id": key, "description": {record.language: name}} for key, name in record.choices],
            },
        },
        "result": {"success": right, "completion": True, "response": record.said, "duration": f"PT{record.seconds:.2f}S"},
        "context": {
            "registration": record.drill,
            "platform": "Drillhall",
            "language": record.language,
            "contextActivities": {
                "parent": [{"id": f"{ours}/pairs/{record.pair_id}"}],
                "grouping": [{"id": f"{ours}/catalogues/{record.catalogue_id}"}],
            },
            "extensions": extensions,
        },
        "timestamp": record.at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%f")[:-3] + "Z",
        "version": "1.0.0",
    }
