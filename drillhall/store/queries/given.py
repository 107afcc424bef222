"""What a statement that is made once is given whenever it is sent: making one takes many times as long as sending it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from sqlalchemy import Date, Executable, Integer, bindparam
from sqlalchemy.orm import Session

from drillhall.store.base import UtcTime

ACCOUNT: Final[Any] = bindparam("account_id", type_=Integer())
CATALOGUE: Final[Any] = bindparam("catalogue_id", type_=Integer())
NOW: Final[Any] = bindparam("now", type_=UtcTime())
ON: Final[Any] = bindparam("on", type_=Date())
SINCE: Final[Any] = bindparam("since", type_=UtcTime())
PAIRS: Final[Any] = bindparam("pair_ids", expanding=True, type_=Integer())
FORMS: Final[Any] = bindparam("form_ids", expanding=True, type_=Integer())
SHOWINGS: Final[Any] = bindparam("showing_ids", expanding=True, type_=Integer())


def ask(db: Session, statement: Executable, **given: Any) -> Sequence[Any]:
    """Return all rows of columns that a statement finds; what the session has not yet written is written first.

    It is asked past the session, which would take as long again over thousands of rows to see that none of them is mapped.
    """
    db.flush()
    return db.connection().execute(statement, given).all()
