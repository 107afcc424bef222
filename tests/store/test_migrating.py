"""Migrations: up gives the models' schema, down and up again give it back, and a newer database is refused."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from alembic import command
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import inspect, text

from drillhall.errors import Unavailable
from drillhall.store.migrating import bring_up_to_date, configured, schema_of
from drillhall.store.models.people import SettingRow
from drillhall.store.session import Store


@pytest.fixture(params=["sqlite", "postgresql"])
def bare(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Store]:
    """A database without a single table, on either engine."""
    if request.param == "sqlite":
        store = Store(f"sqlite:///{tmp_path / 'bare.sqlite'}")
        yield store
        store.close()
        return
    server = Store(request.getfixturevalue("pg_dsn"))
    with server.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.execute(text("DROP DATABASE IF EXISTS bare"))
        connection.execute(text("CREATE DATABASE bare"))
    store = Store(request.getfixturevalue("pg_dsn").replace("/postgres?", "/bare?"))
    yield store
    store.close()
    with server.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.execute(text("DROP DATABASE bare WITH (FORCE)"))
    server.close()


def test_up_gives_what_the_models_say(bare: Store) -> None:
    assert bring_up_to_date(bare)
    command.check(configured(bare))  # raises where the models would still change anything


def test_up_twice_changes_nothing(bare: Store) -> None:
    bring_up_to_date(bare)
    assert bring_up_to_date(bare) == ()


def test_down_and_up_again(bare: Store) -> None:
    bring_up_to_date(bare)
    command.downgrade(configured(bare), "base")
    assert set(inspect(bare.engine).get_table_names()) == {"alembic_version"}
    bring_up_to_date(bare)
    command.check(configured(bare))


def test_what_is_kept_survives_a_start(bare: Store) -> None:
    bring_up_to_date(bare)
    with bare.work() as db:
        db.add(SettingRow(key="colour", value="grey"))
    bring_up_to_date(bare)
    with bare.look() as db:
        assert db.get_one(SettingRow, "colour").value == "grey"


def test_a_newer_database_is_refused_and_left_alone(bare: Store) -> None:
    bring_up_to_date(bare)
    with bare.engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '29991231_from_the_future'"))
    with pytest.raises(Unavailable, match="newer Drillhall"):
        bring_up_to_date(bare)
    assert schema_of(bare) == "29991231_from_the_future"


def test_a_migration_that_fails_midway_leaves_no_trace(bare: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    original = MigrationContext.run_migrations

    def fails_at_the_end(self: MigrationContext, **kw: object) -> None:
        original(self, **kw)
        raise RuntimeError("pulled the plug")

    monkeypatch.setattr(MigrationContext, "run_migrations", fails_at_the_end)
    with pytest.raises(RuntimeError):
        bring_up_to_date(bare)
    assert schema_of(bare) is None
    assert [name for name in inspect(bare.engine).get_table_names() if name != "alembic_version"] == []


def test_every_migration_is_dated_and_one_line_long(bare: Store) -> None:
    scripts = list(ScriptDirectory.from_config(configured(bare)).walk_revisions())
    assert scripts
    for script in scripts:
        assert script.revision[:8].isdigit()
        assert Path(script.path).stem == script.revision
