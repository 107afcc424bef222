"""Brings a hall's database up to the schema this program knows, and refuses a newer one.

Each migration's file bears the name of its revision, and the names sort by date: so what is up to date is told without Alembic, which
takes a while to load and is needed only where a schema is to change.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import inspect, text

from drillhall.errors import Unavailable
from drillhall.store.session import Store

if TYPE_CHECKING:
    from alembic.config import Config

_SCRIPTS = Path(__file__).parent / "migrations"


def bring_up_to_date(store: Store) -> tuple[str, ...]:
    """Run every migration the database lacks and return their names, oldest first.

    Raises Unavailable when the database was written by a newer program; it is then left untouched.
    """
    now, head = schema_of(store), head_schema()
    if now is not None and not is_known(now):
        raise Unavailable("This hall's database was written by a newer Drillhall. Start the newer one, or restore a backup.")
    if now == head:
        return ()
    from alembic import command
    from alembic.script import ScriptDirectory

    config = configured(store)
    script = ScriptDirectory.from_config(config)
    wanted = [revision for revision in script.iterate_revisions(head, now or "base") if revision.revision != now]
    command.upgrade(config, "head")
    return tuple(revision.doc for revision in reversed(wanted))


def is_known(schema: str) -> bool:
    """Whether this program knows a revision, be it an older one."""
    return schema in _schemas()


def head_schema() -> str:
    """Return the newest revision that this program knows."""
    return _schemas()[-1]


def make_schema(store: Store, schema: str) -> None:
    """Give an empty hall's database the tables of a revision that this program knows; rows that are there are lost."""
    from alembic import command

    config, now = configured(store), schema_of(store)
    if now == schema:
        return
    if now is not None:
        command.downgrade(config, "base")
    command.upgrade(config, schema)


def schema_of(store: Store) -> str | None:
    """Return the revision that the database is at, or None when it is empty."""
    with store.snapshot() as connection:
        if not inspect(connection).has_table("alembic_version"):
            return None
        found: str | None = connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one_or_none()
        return found


def configured(store: Store) -> Config:
    """Return Alembic's configuration, made in code so that no file at the top level is needed."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(_SCRIPTS))
    config.attributes["engine"] = store.engine
    return config


@cache
def _schemas() -> tuple[str, ...]:
    """Return the revisions that this program knows, the oldest first."""
    return tuple(sorted(path.stem for path in (_SCRIPTS / "versions").glob("2*.py")))
