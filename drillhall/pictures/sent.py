"""Takes in pictures that somebody sends one by one: kept at once, nothing said of them yet, nobody's to see but hers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.rights import Rights
from drillhall.errors import Invalid
from drillhall.pictures.found import refuse_generated
from drillhall.pictures.ingest import Taken, add_picture
from drillhall.pictures.own import WhatItShows, plain_alt
from drillhall.pictures.storage import Storage
from drillhall.store.queries import own_pictures as queries
from drillhall.words import say

MOST_ASKED: Final = 1000
"""So many SHA-256 may be asked after at once."""


@dataclass(frozen=True, slots=True)
class Sent:
    """A picture that has been sent; `already`: its owner had these very bytes, and nothing was added."""

    public_id: str
    already: bool


def keep_sent(db: Session, storage: Storage, taken: Taken, *, public_id: str, owner_id: int, at: datetime) -> Sent:
    """Keep a picture that somebody has sent; the same bytes once more are no fault, they are there already."""
    known = queries.known_bytes(db, owner_id, [taken.content_sha256])
    if known:
        return Sent(known[taken.content_sha256], already=True)
    refuse_generated(taken.found)
    add_picture(
        db,
        storage,
        taken,
        public_id=public_id,
        owner_id=owner_id,
        form_id=None,
        rights=Rights(),
        at=at,
        alt=plain_alt(WhatItShows(None)),
        described=False,
    )
    return Sent(public_id, already=False)


def list_known(db: Session, owner_id: int, digests: Sequence[str]) -> dict[str, str]:
    """Return, of some SHA-256, those whose very bytes somebody has sent already, with the name of her picture."""
    if len(digests) > MOST_ASKED:
        raise Invalid(say("Ask after at most {most_asked} pictures at a time.", most_asked=MOST_ASKED), field="sha256")
    return queries.known_bytes(db, owner_id, digests)
