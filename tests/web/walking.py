"""What the walks over all routes share: the routes, how each is addressed, and everything that is kept."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select
from werkzeug.routing import Rule

from drillhall.store.base import Row
from drillhall.store.session import Store
from tests.visits import Hall


def rules_of(hall: Hall) -> list[Rule]:
    """Return the routes of a hall, in order."""
    return sorted(hall.app.url_map.iter_rules(), key=lambda rule: (rule.rule, rule.endpoint))


def path_of(hall: Hall, rule: Rule, **values: Any) -> str:
    """Return the address of a route; an argument without a value is 1."""
    filled = {name: values.get(name, 1) for name in rule.arguments}
    with hall.app.test_request_context():
        return str(hall.app.url_map.bind("localhost").build(rule.endpoint, filled, method=sorted(methods_of(rule))[0]))


def methods_of(rule: Rule) -> set[str]:
    """Return the methods that a route was given."""
    return (rule.methods or set()) - {"HEAD", "OPTIONS"}


def all_rows(store: Store) -> dict[str, list[Any]]:
    """Return every row of every table."""
    with store.look() as db:
        return {table.name: sorted(map(repr, db.execute(select(table)).all())) for table in Row.metadata.sorted_tables}
