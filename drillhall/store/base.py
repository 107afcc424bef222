"""The declarative base, constraint names, and a time type that is always UTC."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import DateTime, MetaData, TypeDecorator
from sqlalchemy.engine import Dialect
from sqlalchemy.orm import DeclarativeBase

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


class UtcTime(TypeDecorator[datetime]):
    """An instant: refuses naive values, stores UTC, gives back aware UTC on either engine."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Turn an aware instant into UTC."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a stored time must say its zone")
        return value if value.tzinfo is UTC else value.astimezone(UTC)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """Give the instant back as aware UTC; SQLite hands it over naive."""
        if value is None:
            return None
        given: datetime = value
        return given.astimezone(UTC) if given.tzinfo else given.replace(tzinfo=UTC)


class Row(DeclarativeBase):
    """What every table's class inherits."""

    metadata = MetaData(naming_convention=NAMES)
    type_annotation_map = {datetime: UtcTime()}  # noqa: RUF012 - SQLAlchemy reads it from the class
