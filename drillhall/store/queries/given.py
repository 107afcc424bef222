"""What a statement that is made once is given whenever it is sent: making one takes many times as long as sending it."""

from __future__ import annotations

from typing import Any, Final

from sqlalchemy import Date, Integer, bindparam

from drillhall.store.base import UtcTime

ACCOUNT: Final[Any] = bindparam("account_id", type_=Integer())
CATALOGUE: Final[Any] = bindparam("catalogue_id", type_=Integer())
NOW: Final[Any] = bindparam("now", type_=UtcTime())
ON: Final[Any] = bindparam("on", type_=Date())
PAIRS: Final[Any] = bindparam("pair_ids", expanding=True, type_=Integer())
FORMS: Final[Any] = bindparam("form_ids", expanding=True, type_=Integer())
SHOWINGS: Final[Any] = bindparam("showing_ids", expanding=True, type_=Integer())
