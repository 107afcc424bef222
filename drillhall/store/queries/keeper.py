"""What the keeper may read of the whole hall: how much there is of everything, nobody's answers."""

from __future__ import annotations

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from drillhall.store.models.catalogue import CatalogueRow
from drillhall.store.models.concepts import FormRow, PairRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import AnswerRow, DrillRow

_COUNTED = (
    ("accounts", select(func.count()).select_from(AccountRow).where(AccountRow.retired_at.is_(None))),
    ("catalogues", select(func.count()).select_from(CatalogueRow).where(CatalogueRow.retired_at.is_(None))),
    ("forms", select(func.count()).select_from(FormRow)),
    ("pairs", select(func.count()).select_from(PairRow)),
    ("pictures", select(func.count()).select_from(PictureRow)),
    ("drills", select(func.count()).select_from(DrillRow)),
    ("answers", select(func.count()).select_from(AnswerRow)),
)


def count_everything(db: Session) -> tuple[tuple[str, int], ...]:
    """Return what is counted and how many there are, in the order to show."""
    return tuple((what, db.scalar(query) or 0) for what, query in _COUNTED)
