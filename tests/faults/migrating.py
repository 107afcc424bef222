"""Kills the program while it brings an older hall up to date, and looks whether the next start goes on and the data is whole."""

from __future__ import annotations

import io
from functools import partial
from typing import Final

from alembic import command
from alembic.script import ScriptDirectory
from alembic.util.exc import CommandError

from drillhall.store.checking import damaged_pages, loose_keys
from drillhall.store.migrating import bring_up_to_date, configured, head_schema, schema_of
from tests.engines import ENGINES
from tests.faults.halls import Hall
from tests.faults.rows import Ground, Row, Told
from tests.faults.syscalls import count_calls, kill_at
from tests.store.older_halls import Rows, make_older_hall, what_is_lost

UPGRADES: Final = ("people", "list")
"""The least command that brings a hall up to date."""
CALLS: Final = {"sqlite": "pwrite64", "postgresql": "sendto"}
"""What a migration is done by: writes into the file's log, statements to the server."""


def rows() -> list[Row]:
    """Return the rows."""
    return [
        row
        for engine in ENGINES
        for row in (
            Row(f"migrate:{engine}", f"killed while it upgrades a hall of an older schema, on {engine}", partial(_killed, engine)),
            Row(
                f"upgrade:{engine}",
                f"every schema before the newest, upgraded with data in every table, on {engine}",
                partial(_upgraded, engine),
            ),
        )
    ]


def _killed(engine: str, ground: Ground, told: Told) -> None:
    dice, call, calls = ground.dice(f"migrate {engine}"), CALLS[engine], dict[str, int]()
    for number in range(ground.of(10, 60)):
        schema = dice.choice(_schemas_before(ground))
        if schema not in calls:
            unharmed = ground.place.bare(engine)
            _make(unharmed, schema)
            calls[schema] = count_calls(unharmed, call, *UPGRADES)
        hall = ground.place.bare(engine)
        before = _make(hall, schema)
        told.count("kills", int(kill_at(hall, call, dice.randint(1, calls[schema]), *UPGRADES)))
        with hall.store() as store:
            told.count("found as before", int(schema_of(store) == schema))
            told.count("found upgraded", int(schema_of(store) == head_schema()))
        told.lost += [f"{schema}, kill {number + 1}: {one}" for one in _lost(hall, before)]
        again = hall.command(*UPGRADES)
        told.wants(again.returncode == 0, f"{schema}, kill {number + 1}: the next start ended with {again.returncode}: {again.stderr}")
        told.lost += [f"{schema}, started after kill {number + 1}: {one}" for one in (*_lost(hall, before), *_unlike_models(hall))]


def _upgraded(engine: str, ground: Ground, told: Told) -> None:
    for schema in _schemas_before(ground):
        hall = ground.place.bare(engine)
        before = _make(hall, schema)
        with hall.store() as store:
            bring_up_to_date(store)
        told.count("schemas")
        told.count("rows", sum(len(rows) for rows in before.values()))
        told.lost += [f"{schema}: {one}" for one in (*_lost(hall, before), *_unlike_models(hall))]


def _schemas_before(ground: Ground) -> list[str]:
    """Return every schema that a hall may come from, the oldest first."""
    with ground.place.bare("sqlite").store() as store:
        every = [one.revision for one in ScriptDirectory.from_config(configured(store)).walk_revisions()]
    return every[:0:-1]


def _make(hall: Hall, schema: str) -> Rows:
    with hall.store() as store:
        return make_older_hall(store, schema)


def _lost(hall: Hall, before: Rows) -> list[str]:
    with hall.store() as store:
        loose = [f"{count} rows of {name} point at nothing" for name, count in loose_keys(store)]
        with store.engine.connect() as connection:
            return [*damaged_pages(store), *loose, *what_is_lost(connection, before)]


def _unlike_models(hall: Hall) -> list[str]:
    """Return how the schema of a hall that was brought up to date differs from the models."""
    try:
        with hall.store() as store:
            config = configured(store)
            config.stdout = io.StringIO()
            command.check(config)
    except CommandError as error:
        return [str(error)]
    return []
