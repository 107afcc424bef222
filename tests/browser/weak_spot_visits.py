"""The pages of weak spots that the walk visits: a class by name, a club in part by name, a member, and nothing yet."""

from __future__ import annotations

from sqlalchemy import select

from drillhall.store.models.groups import GroupRow, MembershipRow
from tests import cast
from tests.browser.group_visits import WORK, open_all
from tests.browser.groups_at_work import GROUP
from tests.browser.leader_visits import SEASON
from tests.browser.seasons_at_work import CLASS, CLUB
from tests.browser.visiting import Values, Visit
from tests.hall import Hall


def of(key: str, **more: object) -> Values:
    """Name a group, and which answers."""
    return {"group_key": key} | more


def a_pupil(hall: Hall) -> Values:
    """Name the learner's membership of the class."""
    with hall.store.look() as db:
        query = select(MembershipRow.id).join(GroupRow, GroupRow.id == MembershipRow.group_id)
        query = query.where(GroupRow.public_id == CLASS, MembershipRow.account_id == hall.people[cast.LEARNER].id)
        return of(CLASS, membership_id=db.scalars(query).one())


def odd(_hall: Hall) -> Values:
    """Ask for what there is not."""
    return of(CLASS, orientation="inside out")


WEAK_SPOT_VISITS = (
    Visit("weak_spots.weak_spots", "of a class", who=cast.KEEPER, state=SEASON, where=lambda _: of(CLASS), then=open_all),
    Visit("weak_spots.weak_spots", "of a club", who=cast.KEEPER, state=SEASON, where=lambda _: of(CLUB), then=open_all),
    Visit("weak_spots.weak_spots", "for a member", who=cast.LEARNER, state=SEASON, where=lambda _: of(CLUB), then=open_all),
    Visit("weak_spots.weak_spots", "fresh ones alone", who=cast.KEEPER, state=SEASON, where=lambda _: of(CLASS, fresh="yes")),
    Visit("weak_spots.weak_spots", "asked oddly", who=cast.KEEPER, state=SEASON, where=odd, expected=422),
    Visit("weak_spots.weak_spots", "nothing given", who=cast.KEEPER, state=WORK, where=lambda _: of(GROUP)),
    Visit("weak_spots.weak_spots", "anothers", who=cast.STRANGER, state=SEASON, where=lambda _: of(CLASS), expected=404),
    Visit("weak_spots.beside", "of a class", who=cast.KEEPER, state=SEASON, where=lambda _: of(CLASS, by="orientation")),
    Visit("weak_spots.beside", "asked oddly", who=cast.KEEPER, state=SEASON, where=lambda _: of(CLASS, by="moon"), expected=422),
    Visit("weak_spots.beside", "nothing given", who=cast.KEEPER, state=WORK, where=lambda _: of(GROUP)),
    Visit("weak_spots.learner", who=cast.KEEPER, state=SEASON, where=a_pupil, then=open_all),
    Visit("weak_spots.learner", "asked by a pupil", who=cast.LEARNER, state=SEASON, where=a_pupil, expected=404),
    Visit("weak_spots.own", "of a class", who=cast.LEARNER, state=SEASON, where=lambda _: of(CLASS), then=open_all),
    Visit("weak_spots.own", "before an answer", who=cast.LEARNER, state=WORK, where=lambda _: of(GROUP)),
    Visit("weak_spots.own", "who only leads", who=cast.KEEPER, state=SEASON, where=lambda _: of(CLASS), expected=404),
)
