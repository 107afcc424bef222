"""Sending pictures over HTTP as the script does, and finding them in the hall."""

from __future__ import annotations

from io import BytesIO
from typing import Any

from sqlalchemy import select
from werkzeug.test import TestResponse

from drillhall.store.models.pictures import PictureRow
from tests.visits import Hall, Visitor

AS_SCRIPT = {"Accept": "application/json"}


def send_one(visitor: Visitor, source: bytes, name: str = "IMG_1.jpg", **fields: str) -> TestResponse:
    """Send one picture as the script does."""
    told: dict[str, Any] = {"undisturbed": "yes"} | fields | {"file": (BytesIO(source), name)}
    headers = AS_SCRIPT | {"Referer": f"{visitor.base}/"}
    return visitor.post("/my-pictures/send", told, content_type="multipart/form-data", headers=headers)


def ask_known(visitor: Visitor, asked: Any) -> TestResponse:
    """Ask which SHA-256 the hall has, as the script does."""
    headers = AS_SCRIPT | {"X-CSRFToken": visitor.token(), "Referer": f"{visitor.base}/"}
    return visitor.client.post("/my-pictures/known", json=asked, headers=headers, base_url=visitor.base)


def rows(hall: Hall) -> list[PictureRow]:
    """Return every picture of the hall, the earliest first."""
    with hall.store.look() as db:
        return list(db.scalars(select(PictureRow).order_by(PictureRow.id)))


def sent_ids(hall: Hall, visitor: Visitor, *sources: bytes) -> list[str]:
    """Send pictures and return their names."""
    for source in sources:
        assert send_one(visitor, source).status_code == 200
    return [row.public_id for row in rows(hall)][-len(sources) :]
