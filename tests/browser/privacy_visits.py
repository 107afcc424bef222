"""The pages of what is kept about somebody that the walk visits: her own, her teacher's, the keeper's."""

from __future__ import annotations

from playwright.sync_api import Page
from sqlalchemy import select

from drillhall.people import accounts, groups
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import AccountRow
from tests import cast
from tests.browser.seasons_at_work import CLASS
from tests.browser.visiting import Values, Visit, send
from tests.hall import MADE_AT, Hall

SEASON = "a_season"
PUPIL = "Wenna T."


def learner(hall: Hall) -> Values:
    """Name the learner's account."""
    return {"account_id": hall.people[cast.LEARNER].id}


def school(_hall: Hall) -> Values:
    """Name the class."""
    return {"group_key": CLASS}


def pupil(hall: Hall) -> Values:
    """Name a pupil whose account was made in the class, and make it where it is not there yet."""
    query = select(MembershipRow.id).join(AccountRow, AccountRow.id == MembershipRow.account_id).where(AccountRow.name == PUPIL)
    with hall.store.work() as db:
        if db.scalar(query) is None:
            made = accounts.make_account(db, name=PUPIL, passphrase=cast.STRANGER.passphrase, at=MADE_AT)
            group = db.scalars(select(GroupRow.id).where(GroupRow.public_id == CLASS)).one()
            groups.add_member(db, group, made.id, at=MADE_AT)
        return {"group_key": CLASS, "membership_id": db.scalars(query).one()}


def send_wrong(page: Page) -> None:
    """Send the form with a passphrase that is not hers."""
    page.fill("main input[name=passphrase]", "not the one she has")
    send(page)


PRIVACY_VISITS = (
    Visit("privacy.kept", who=cast.LEARNER, state=SEASON),
    Visit("privacy.erase", who=cast.LEARNER),
    Visit("privacy.erase", "pictures in a catalogue", who=cast.KEEPER),
    Visit("privacy.erase", "a wrong passphrase", who=cast.KEEPER, then=send_wrong, expected=422),
    Visit("privacy.gone"),
    Visit("privacy.pupils", "one there", who=cast.KEEPER, state=SEASON, where=lambda hall: school(hall) | {"erased": "yes"} | pupil(hall)),
    Visit("privacy.pupils", "been in", who=cast.LEARNER, state=SEASON, where=school, expected=404),
    Visit("privacy.pupil_kept", who=cast.KEEPER, state=SEASON, where=pupil),
    Visit("privacy.pupil_kept", "been in", who=cast.LEARNER, state=SEASON, where=pupil, expected=404),
    Visit("privacy.erase_pupil", who=cast.KEEPER, state=SEASON, where=pupil),
    Visit("privacy.account_kept", who=cast.KEEPER, where=learner),
    Visit("privacy.erase_account", who=cast.KEEPER, where=learner),
    Visit("privacy.keeping", who=cast.KEEPER),
)
