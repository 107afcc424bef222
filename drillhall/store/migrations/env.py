"""What Alembic runs: one transaction for all migrations, batch mode where SQLite needs it."""

from alembic import context

import drillhall.store.models  # noqa: F401 - makes every table known
from drillhall.store.base import Row

engine = context.config.attributes["engine"]
is_sqlite = engine.dialect.name == "sqlite"
with engine.connect() as connection:
    # Batch mode makes a table anew and drops the old one; with foreign keys on, SQLite would let the drop cascade into
    # the rows that point to it. The setting cannot be changed within a transaction, so it is changed before.
    raw = connection.connection.driver_connection
    if is_sqlite:
        raw.execute("PRAGMA foreign_keys=OFF")
    try:
        with connection.begin():
            context.configure(
                connection=connection,
                target_metadata=Row.metadata,
                render_as_batch=True,
                compare_type=True,
            )
            context.run_migrations()
            if is_sqlite and (broken := connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()):
                raise RuntimeError(f"a migration left rows that point to nothing: {broken[:5]}")
    finally:
        if is_sqlite:
            raw.execute("PRAGMA foreign_keys=ON")
