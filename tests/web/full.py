"""A hall with somebody in every role and something behind most routes, for the walks over all of them."""

from __future__ import annotations

from sqlalchemy import select, update

from drillhall.people import accounts, groups
from drillhall.people.roster import keep_draft
from drillhall.people.roster_rows import Entry
from drillhall.practice.assigning import Wanted, assign
from drillhall.practice.outings import OutingSaid, plan_outing
from drillhall.practice.shelf import list_sets
from drillhall.store.models.catalogue import CatalogueRow, StewardRow
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.people import AccountRow
from tests import cast
from tests.hall import MADE_AT
from tests.visits import Hall
from tests.web.things import GROUP


def fill_hall(hall: Hall) -> None:
    """Put into a hall that `build_hall` has built a steward with a catalogue, who leads a class in which the learner is."""
    with hall.store.work() as db:
        steward = accounts.make_account(db, name=cast.LEADER.name, passphrase=cast.LEADER.passphrase, at=MADE_AT)
        catalogue = CatalogueRow(key="hers", title="Hers", subject="bird", list_name="List", made_at=MADE_AT, changed_at=MADE_AT)
        db.add(catalogue)
        db.flush()
        db.add(StewardRow(catalogue_id=catalogue.id, account_id=steward.id))
        group = groups.make_group(db, by=steward, title="Hers", kind="class", is_paid=False, public_id=GROUP, at=MADE_AT)
        learner = db.scalars(select(AccountRow).where(AccountRow.name == cast.LEARNER.name)).one()
        groups.add_member(db, group.id, learner.id, at=MADE_AT)
        db.execute(update(MembershipRow).where(MembershipRow.account_id == learner.id).values(lets_leader_see=True))
        day = MADE_AT.date()
        keep_draft(db, group, [Entry("Wenna T.", "", 1)], by=steward, at=MADE_AT)
        given = assign(db, group.id, Wanted(list_sets(db, steward.id)[0].id, day), by=steward.id, today=day, at=MADE_AT)
        plan_outing(db, group.id, OutingSaid("Out", day, assignment_id=given), by=steward.id, today=day, at=MADE_AT)
