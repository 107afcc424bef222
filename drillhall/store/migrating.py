"""Brings a hall's database up to the schema this program knows, and refuses a newer one."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory

from drillhall.errors import Unavailable
from drillhall.store.session import Store

_SCRIPTS = Path(__file__).parent / "migrations"


def bring_up_to_date(store: Store) -> tuple[str, ...]:
    """Run every migration the database lacks and return their names, oldest first.

    Raises Unavailable when the database was written by a newer program; it is then left untouched.
    """
    config = configured(store)
    script = ScriptDirectory.from_config(config)
    known = {revision.revision for revision in script.walk_revisions()}
    now = schema_of(store)
    if now is not None and now not in known:
        raise Unavailable("This hall's database was written by a newer Drillhall. Start the newer one, or restore a backup.")
    head = script.get_current_head()
    if now == head:
        return ()
    wanted = [revision for revision in script.iterate_revisions(head or "heads", now or "base") if revision.revision != now]
    command.upgrade(config, "head")
    return tuple(revision.doc for revision in reversed(wanted))


def is_known(schema: str) -> bool:
    """Whether this program knows a revision, be it an older one."""
    return any(revision.revision == schema for revision in ScriptDirectory(str(_SCRIPTS)).walk_revisions())


def head_schema() -> str | None:
    """Return the newest revision that this program knows."""
    return ScriptDirectory(str(_SCRIPTS)).get_current_head()


def make_schema(store: Store, schema: str) -> None:
    """Give an empty hall's database the tables of a revision that this program knows; rows that are there are lost."""
    config, now = configured(store), schema_of(store)
    if now == schema:
        return
    if now is not None:
        command.downgrade(config, "base")
    command.upgrade(config, schema)


def schema_of(store: Store) -> str | None:
    """Return the revision that the database is at, or None when it is empty."""
    with store.snapshot() as connection:
        return MigrationContext.configure(connection).get_current_revision()


def configured(store: Store) -> Config:
    """Return Alembic's configuration, made in code so that no file at the top level is needed."""
    config = Config()
    config.set_main_option("script_location", str(_SCRIPTS))
    config.attributes["engine"] = store.engine
    return config
