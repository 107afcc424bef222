"""The blueprint that the learner's views hang in."""

from __future__ import annotations

from typing import Final

from flask import Blueprint

from drillhall.people.person import Person
from drillhall.web import session

blueprint: Final = Blueprint("learner", __name__)


def queue_key(person: Person) -> str:
    """Return the name under which a device keeps this person's unsent answers: hers alone, and this hall's alone."""
    return f"{session.cookie_name('queue')}-{person.id}"
