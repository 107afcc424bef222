"""Reports: what each tells of a group, that it names nobody who has not agreed, and that every format can write it."""

from __future__ import annotations

import csv
import json
from collections import Counter
from datetime import UTC, date, datetime, timedelta
from io import StringIO

import pytest
from sqlalchemy import event, select, update
from sqlalchemy.orm import Session

from drillhall.errors import NotFound
from drillhall.practice.exports import FORMATS, csv_table, json_table
from drillhall.practice.reports import REPORTS, audience, progress, set_readiness, the_report
from drillhall.practice.tables import Scope, Table
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.open_questions import OpenAnswerRow, OpenDayRow, OpenQuestionRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.session import Store
from tests.practice.playing import play
from tests.practice.small_hall import SmallHall
from tests.practice.test_assigning import OUTING, TODAY
from tests.practice.test_readiness import LATER, given

AT = datetime(2031, 3, 30, 9, tzinfo=UTC)


def scope(group: int, kind: str = "club") -> Scope:
    return Scope(group, kind, TODAY, AT)


def column(table: Table, key: str) -> list[object]:
    place = [one.key for one in table.columns].index(key)
    return [row[place] for row in table.rows]


def test_progress_names_those_who_agreed_and_counts_five_others(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        _, group, _, learners = given(db, 6)
        db.execute(update(MembershipRow).where(MembershipRow.account_id == learners[0]).values(lets_leader_see=True))
        for account_id in learners[:3]:
            play(db, account_id, at=LATER)
        table = progress.build(db, scope(group))
    assert [name for name in column(table, "who") if name != "not named"] == ["P0"]
    assert sum(row[3] for row in table.rows) == 6  # type: ignore[misc]
    assert set(column(table, "day")) == {OUTING}
    assert [row[-1] is None for row in table.rows] == [name == "not named" for name in column(table, "who")]


def test_of_fewer_than_five_neither_report_tells_anything(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        _, group, _, learners = given(db, 4)
        for account_id in learners:
            play(db, account_id, at=LATER)
        table, pairs = progress.build(db, scope(group)), set_readiness.build(db, scope(group))
    assert [row[2:] for row in table.rows] == [("not named", 4, None, None, None, None, None)]
    assert pairs.rows == ()


def test_readiness_counts_every_one_told_of_in_every_pair(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        _, group, _, learners = given(db, 2, kind="class")
        play(db, learners[0], at=LATER)
        table = set_readiness.build(db, scope(group, "class"))
    assert [sum(row[4:]) for row in table.rows] == [2, 2, 2]  # type: ignore[arg-type]
    assert "Lesser mudpiper, non-breeding" in column(table, "first")


def asks(db: Session, hall: SmallHall, group: int, key: str) -> int:
    question = OpenQuestionRow(
        public_id=key, group_id=group, pair_set_id=hall.pair_set, title=key, zone="UTC", seed="0", sites=[], feed_id=key, first_day=TODAY
    )
    question.made_at = AT
    db.add(question)
    db.flush()
    return question.id


def falls(db: Session, question: int, day: date, pair: int, shown: int, said: dict[int, int]) -> None:
    picture = db.scalars(select(PictureRow.id).where(PictureRow.form_id == shown, PictureRow.use == "practice")).first()
    db.add(OpenDayRow(question_id=question, day=day, pair_id=pair, picture_id=picture))
    db.flush()
    db.add_all(OpenAnswerRow(question_id=question, day=day, said_form_id=form, times=times) for form, times in said.items())


def audience_of(db: Session) -> int:
    """Two questions of one group, the one asked no more, and a question of another group."""
    hall, group, _, _ = given(db, 1)
    lesser, greater = hall.forms[:2]
    first, second = asks(db, hall, group, "one"), asks(db, hall, group, "two")
    db.get_one(OpenQuestionRow, second).ended_at = AT
    falls(db, first, TODAY, hall.pairs[0], lesser, {lesser: 6, greater: 4})
    falls(db, second, AT.date(), hall.pairs[0], lesser, {lesser: 1, greater: 9})
    falls(db, first, AT.date(), hall.pairs[0], greater, {lesser: 1, greater: 30})
    other = GroupRow(public_id="others", title="Others", made_at=AT)
    db.add(other)
    db.flush()
    falls(db, asks(db, hall, other.id, "theirs"), AT.date(), hall.pairs[0], lesser, {greater: 50})
    return group


def test_the_audience_is_summed_over_all_questions_of_the_group_and_lately(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        group = audience_of(db)
        table = audience.build(db, scope(group))
    first, second = table.rows
    assert first[:4] == ("Lesser mudpiper, non-breeding", "Greater mudpiper, non-breeding", 13, 20)
    assert first[6:] == (13, 20), "28 days back from 30 March is 2 March: 3 March is within"
    assert second[2:4] == (1, 31)
    # Wilson's interval of 13 of 20, as Newcombe (1998) has it, reckoned by hand from his formula.
    assert first[4:6] == (0.433, 0.819)
    assert table.notes[0] == "51 answers since 3 March 2031."


def test_what_is_longer_ago_than_28_days_is_not_lately(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        group = audience_of(db)
        table = audience.build(db, Scope(group, "club", TODAY, AT + timedelta(days=2)))
    assert table.rows[0][2:4] == (13, 20)
    assert table.rows[0][6:] == (9, 10)


def test_a_picture_relabelled_since_is_judged_anew_and_one_of_neither_form_counts_nowhere(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        group = audience_of(db)
        shown = select(OpenDayRow.picture_id).where(OpenDayRow.day == TODAY)
        row = db.scalars(select(PictureRow).where(PictureRow.id == db.scalars(shown).first())).one()
        pair = db.scalars(select(OpenDayRow.pair_id)).first()
        others = {form for (form,) in db.execute(select(PictureRow.form_id).distinct())} - {row.form_id}
        before = sum(one[3] for one in audience.build(db, scope(group)).rows)  # type: ignore[misc]
        row.form_id = max(others)
        db.flush()
        assert pair is not None
        assert sum(one[3] for one in audience.build(db, scope(group)).rows) == before - 20  # type: ignore[misc]


@pytest.mark.parametrize("report", REPORTS, ids=lambda one: one.NAME)
def test_every_report_is_written_in_every_format_and_reads_back(sqlite_store: Store, report: object) -> None:
    with sqlite_store.work() as db:
        group = audience_of(db)
        learner = db.scalars(select(MembershipRow.account_id).where(MembershipRow.group_id == group, MembershipRow.role == "member")).one()
        play(db, learner, at=LATER, knows=lambda *_: False)
        table = the_report(report.NAME).build(db, scope(group, "class"))  # type: ignore[attr-defined]
    assert table.rows
    assert len(FORMATS) == 2
    rows = list(csv.DictReader(StringIO(csv_table.write(table).decode("utf-8-sig"))))
    told = json.loads(json_table.write(table))["rows"]
    assert len(rows) == len(told) == len(table.rows)
    assert set(rows[0]) == set(told[0]) == {one.key for one in table.columns}
    assert [[str(cell) if cell is not None else "" for cell in one.values()] for one in told] == [list(one.values()) for one in rows]


@pytest.mark.parametrize("report", [progress, set_readiness], ids=lambda one: one.NAME)
def test_a_report_takes_no_more_statements_for_more_people(sqlite_store: Store, report: object) -> None:
    counted: Counter[str] = Counter()
    with sqlite_store.work() as db:
        _, group, _, learners = given(db, 6, kind="class")
        for account_id in learners:
            play(db, account_id, at=LATER)
        event.listen(db.get_bind(), "before_cursor_execute", lambda *_: counted.update(["many" if len(learners) == 6 else "one"]))
        report.build(db, scope(group, "class"))  # type: ignore[attr-defined]
        db.execute(update(MembershipRow).where(MembershipRow.account_id.in_(learners[1:])).values(until=LATER))
        counted["many"] -= 1  # the update just now
        learners = learners[:1]
        db.expire_all()
        report.build(db, scope(group, "class"))  # type: ignore[attr-defined]
    assert counted["many"] <= counted["one"]


def test_an_unknown_report_is_refused() -> None:
    with pytest.raises(NotFound, match="no such report"):
        the_report("league")
