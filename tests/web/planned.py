"""Things for the walk of all routes: a week of a group's season, an open question, the learner's passkey."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import delete, or_, select
from sqlalchemy.orm import Session

from drillhall.core.weeks import Week
from drillhall.people import accounts, audit
from drillhall.people.calendar_links import renew_link
from drillhall.people.permissions import the_group
from drillhall.practice.seasons import EntrySaid, plan_entry
from drillhall.store.models.concepts import ConceptRow, FormRow, PairRow
from drillhall.store.models.groups import GroupRow
from drillhall.store.models.open_questions import OpenDayRow, OpenQuestionRow
from drillhall.store.models.people import PasskeyRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.session import Store
from tests import cast
from tests.visits import Hall

ELSEWHERE = "another-list-2019/one-of-them"


def plans_a_week(hall: Hall, group_key: str) -> str:
    """Plan a week of a group's season, and return the token of a link to its calendar."""
    with hall.store.work() as db:
        steward = accounts.the_person_called(db, cast.LEADER.name)
        group, week = the_group(db, steward, group_key), Week.of(hall.clock().date())
        plan_entry(db, group.id, EntrySaid("here", week, week, "Stints"), by=steward.id, today=week.first_day, at=hall.clock())
        return renew_link(db, group, steward, at=hall.clock())


def exports_are_noted(db: Session, *, at: datetime) -> None:
    """Note that teacher and keeper take out what is kept about the learner, so that they may for a while."""
    learner, subject = accounts.the_person_called(db, cast.LEARNER.name), "account {}"
    for who in (cast.LEADER, cast.KEEPER):
        audit.note(db, "export made", at=at, by=accounts.the_person_called(db, who.name).id, subject=subject.format(learner.id))


def asks_openly(hall: Hall, group_key: str, public_id: str) -> str:
    """Ask an open question that bears the same name in addresses as a picture, which it had yesterday; return that day."""
    day = hall.clock().date() - timedelta(days=1)
    with hall.store.work() as db:
        picture = db.scalars(select(PictureRow).where(PictureRow.public_id == public_id)).one()
        pair = db.scalars(select(PairRow).where(or_(PairRow.first_form_id == picture.form_id, PairRow.second_form_id == picture.form_id)))
        group = db.scalars(select(GroupRow).where(GroupRow.public_id == group_key)).one()
        named = {"public_id": public_id, "title": "Hers", "zone": "UTC", "seed": "0" * 64, "feed_id": "tag:localhost,2031-03-02:open/x"}
        question = OpenQuestionRow(group_id=group.id, pair_set_id=1, first_day=day, made_at=hall.clock(), **named)
        db.add(question)
        db.flush()
        db.add(OpenDayRow(question_id=question.id, day=day, pair_id=pair.first().id, picture_id=picture.id))
    return day.isoformat()


def has_a_passkey(hall: Hall) -> dict[str, object]:
    """Let the learner have a passkey, whose other half is lost, and return its number and whose may be asked for."""
    with hall.store.work() as db:
        learner = accounts.the_person_called(db, cast.LEARNER.name)
        db.execute(delete(PasskeyRow))
        row = PasskeyRow(account_id=learner.id, name="telephone", user_handle="AAAA", public_key="AAAA", sign_count=0, made_at=hall.clock())
        row.credential_id = "AAAA"
        db.add(row)
        db.flush()
        return {"passkey_id": row.id, "of": "anybody"}


def learnt_elsewhere(store: Store) -> dict[str, str]:
    """Let the hall know the first form by another list too, and return what would make the two one."""
    with store.work() as db:
        form = db.scalars(select(FormRow).order_by(FormRow.id)).first()
        assert form is not None
        subject = db.get_one(ConceptRow, form.concept_id).taxon_concept_id
        if db.scalar(select(ConceptRow.id).where(ConceptRow.taxon_concept_id == ELSEWHERE)) is None:
            concept = ConceptRow(taxon_concept_id=ELSEWHERE)
            db.add(concept)
            db.flush()
            wears = {"sex": form.sex, "life_stage": form.life_stage, "plumage": form.plumage, "variant": form.variant}
            db.add(FormRow(concept_id=concept.id, **wears))
    return {"subject": subject, "relation": "isCongruentWith", "object": ELSEWHERE, "according_to": ""}
