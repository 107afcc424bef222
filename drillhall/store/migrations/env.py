"""What Alembic runs: one transaction for all migrations, batch mode where SQLite needs it."""

from alembic import context

import drillhall.store.models  # noqa: F401 - makes every table known
from drillhall.store.base import Row

engine = context.config.attributes["engine"]
with engine.begin() as connection:
    context.configure(
        connection=connection,
        target_metadata=Row.metadata,
        render_as_batch=True,
        compare_type=True,
    )
    context.run_migrations()
