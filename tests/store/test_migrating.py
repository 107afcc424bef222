"""Migrations: up gives the models' schema, down and up again give it back, and a newer database is refused."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, fields
from datetime import UTC, datetime
from pathlib import Path

import pytest
from alembic import command
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import MetaData, inspect, select, text
from sqlalchemy.exc import IntegrityError

from drillhall.core.confusion import YearSum, sum_years
from drillhall.core.values import Rendition, TallyKey
from drillhall.errors import Unavailable
from drillhall.store.migrating import bring_up_to_date, configured, head_schema, is_known, schema_of
from drillhall.store.models.people import SettingRow
from drillhall.store.models.practice import TallyYearRow
from drillhall.store.session import Store
from tests.store.older_halls import make_older_hall, what_is_lost

NOON = datetime(2031, 3, 3, 12, tzinfo=UTC)


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
        assert is_known(script.revision)
    assert [script.revision for script in scripts] == sorted((script.revision for script in scripts), reverse=True)
    assert scripts[0].revision == head_schema()


HALL_OF_20261125 = {
    "account": {"id": 1, "name": "Ada", "name_folded": "ada", "passphrase_hash": "x", "is_keeper": True, "zone": "UTC", "language": "en",
                "minutes_a_day": 10, "target_recall": 0.9, "new_a_day": 5, "colour_vision": "", "single_keys": False, "created_at": NOON},
    "concept": {"id": 1, "taxon_concept_id": "a list#one"},
    "form": {"id": 1, "concept_id": 1, "sex": "", "life_stage": "adult", "plumage": "", "variant": ""},
    "catalogue": {"id": 1, "key": "mud", "title": "Mud", "language": "en", "subject": "bird", "list_name": "a list", "note": "",
                  "extra": {}, "made_at": NOON, "changed_at": NOON},
    "catalogue_form": {"id": 1, "catalogue_id": 1, "form_id": 1, "key": "one", "note": "", "place": 0, "extra": {}},
    "trait": {"id": 1, "catalogue_id": 1, "key": "bill", "label": "Bill", "ask": "", "part": "bill", "kind": "structure", "note": "",
              "place": 0, "extra": {}},
    "picture": {"id": 1, "public_id": "p1", "owner_id": 1, "form_id": 1, "use": "practice", "medium": "Drawing", "orientation": "",
                "pose": "", "setting": "", "typical": True, "alt": "", "width_px": 300, "height_px": 200, "content_sha256": "0" * 64,
                "fingerprint": 1, "cluster": "", "made_at": NOON},
    "rights": {"picture_id": 1, "creator": "Ada", "licence": "CC0-1.0", "licence_url": "", "credit": "Ada", "rights_owner": "",
               "source": "", "title": "", "statement": "", "agreed": "", "may_group": True, "may_public": True, "may_alter": True,
               "may_paid": True},
    "file": {"id": 1, "picture_id": 1, "size_name": "large", "recipe": "r", "storage_key": "k", "media_type": "image/webp",
             "width_px": 300, "height_px": 200, "bytes": 10},
    "mark": {"id": 1, "picture_id": 1, "trait_id": 1, "x": 0.1, "y": 0.1, "width": 0.2, "height": 0.2},
    "catalogue_picture": {"catalogue_id": 1, "picture_id": 1, "file": "one.webp", "place": 0, "extra": {}, "accepted_by": 1},
    "sight": {"account_id": 1, "picture_id": 1, "first_at": NOON, "last_at": NOON, "times": 1},
    "invitation": {"id": 1, "token_hash": "t", "made_by": 1, "note": "", "made_at": NOON, "until": NOON, "places": 1, "taken": 0},
}  # fmt: skip
"""A row in every table that a later migration makes anew or that points to one, as the schema of that day had it."""


def test_what_an_older_hall_holds_survives_every_migration_since(bare: Store) -> None:
    command.upgrade(configured(bare), "20261125_open_the_hall")
    old = MetaData()
    old.reflect(bare.engine)
    with bare.engine.begin() as connection:
        for name, values in HALL_OF_20261125.items():
            connection.execute(old.tables[name].insert().values(**values))
    bring_up_to_date(bare)
    now = MetaData()
    now.reflect(bare.engine)
    with bare.engine.connect() as connection:
        for name, values in HALL_OF_20261125.items():
            table = now.tables[name]
            (row,) = connection.execute(select(table)).mappings()
            for column in values:
                assert row[column] == values[column] or column.endswith("_at") or column == "until", (name, column)
        assert connection.scalar(select(now.tables["picture"].c.described_at)) is not None


def test_no_row_of_an_older_hall_is_lost_and_a_lost_one_is_seen(bare: Store) -> None:
    rows = make_older_hall(bare, "20261214_names_in_languages")
    assert len(rows) == 76
    bring_up_to_date(bare)
    with bare.engine.begin() as connection:
        assert what_is_lost(connection, rows) == []
        connection.execute(text("DELETE FROM job"))
        (lost,) = what_is_lost(connection, rows)
    assert lost.startswith("job: ")


def test_a_tally_is_added_up_by_year_as_the_fold_does(bare: Store) -> None:
    make_older_hall(bare, "20261218_traits_in_languages")
    cells = [(202653, True, Rendition.AS_TAKEN, 2), (202601, False, Rendition.AS_TAKEN, 3), (202701, False, Rendition.FAR_OFF, 2)]
    tally = {TallyKey(1, 2, week, fresh, True, how, "left", choices): 5 for week, fresh, how, choices in cells}
    with bare.engine.begin() as connection:
        connection.execute(text("DELETE FROM tally"))
        names = (*(field.name for field in fields(TallyKey)), "count")
        statement = text(f"INSERT INTO tally (account_id, pair_id, {', '.join(names)}) VALUES (1, 1, :{', :'.join(names)})")
        connection.execute(statement, [asdict(key) | {"rendition": key.rendition.value, "count": count} for key, count in tally.items()])
    bring_up_to_date(bare)
    with bare.look() as db:
        told = {(row.year, row.shown_form_id, row.said_form_id): row for row in db.scalars(select(TallyYearRow))}
        sums = {key: YearSum(row.answers, row.fresh, row.plain, row.weighed) for key, row in told.items()}
    assert sums == sum_years(tally)
    assert {row.account_id for row in told.values()} == {row.pair_id for row in told.values()} == {1}


def test_foreign_keys_hold_again_after_a_migration(bare: Store) -> None:
    bring_up_to_date(bare)
    with pytest.raises(IntegrityError), bare.engine.begin() as connection:
        connection.execute(text("INSERT INTO taken_set (account_id, pair_set_id, taken_at) VALUES (7, 7, '2031-03-03')"))
