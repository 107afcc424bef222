"""What is kept about somebody, at the doors: her own, her teacher's, the keeper's."""

from __future__ import annotations

import json
import zipfile
from io import BytesIO

import pytest
from sqlalchemy import select
from werkzeug.test import TestResponse

from drillhall.acts.export_person import TOP
from drillhall.catalogues import staging
from drillhall.people import accounts, groups, invitations
from drillhall.people.kept import SUBJECTS
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.people import AccountRow, AuditRow
from drillhall.store.models.post import AddressRow
from tests.cast import KEEPER, LEARNER, STRANGER, TEACHER, Someone
from tests.visits import Hall, Visitor

CLASS = "00000000-0000-4000-8000-000000000007"
MEANT = {"passphrase": LEARNER.passphrase, "for_good": "yes"}


@pytest.fixture
def teacher(hall: Hall) -> Visitor:
    """A teacher, signed in, in whose class the learner made her account; a keeper is there too."""
    hall.add(KEEPER, is_keeper=True)
    hall.add(TEACHER)
    with hall.store.work() as db:
        who = accounts.the_person_called(db, TEACHER.name)
        group = groups.make_group(db, by=who, title="The class", kind="class", is_paid=False, public_id=CLASS, at=hall.clock())
        token = invitations.invite(db, by=who, at=hall.clock(), group=group)
        invitations.join(db, token, name=LEARNER.name, passphrase=LEARNER.passphrase, at=hall.clock())
    return hall.enter(TEACHER, known=True)


def is_there(hall: Hall, someone: Someone) -> bool:
    with hall.store.look() as db:
        return db.scalar(select(AccountRow.id).where(AccountRow.name == someone.name)) is not None


def account_of(hall: Hall, someone: Someone) -> int:
    with hall.store.look() as db:
        return accounts.the_person_called(db, someone.name).id


def page_of(hall: Hall, someone: Someone) -> str:
    with hall.store.look() as db:
        query = select(MembershipRow.id).join(AccountRow, AccountRow.id == MembershipRow.account_id)
        return f"/groups/{CLASS}/pupils/{db.scalars(query.where(AccountRow.name == someone.name)).one()}"


def name_in(answer: TestResponse) -> str:
    content = BytesIO(answer.data)
    answer.close()
    with zipfile.ZipFile(content) as packed:
        return str(json.loads(packed.read(f"{TOP}/data/account.json"))[0]["name"])


def acts(hall: Hall) -> list[tuple[str, int | None, str]]:
    with hall.store.look() as db:
        return [(row.act, row.account_id, row.subject) for row in db.scalars(select(AuditRow).order_by(AuditRow.id))]


def test_she_reads_all_that_is_kept_takes_it_along_and_is_erased(hall: Hall, teacher: Visitor) -> None:
    learner = hall.enter(LEARNER, known=True)
    page = learner.get("/you/kept").text
    assert all(one.title in page for one in SUBJECTS)
    assert "once closed, 400 days" in page
    answer = learner.get("/you/everything.zip")
    assert name_in(answer) == LEARNER.name
    assert answer.headers["Content-Disposition"] == f"attachment; filename={TOP}.zip"
    staging.stage(hall.folder / "uploads", BytesIO(b"zip"), account_id=account_of(hall, LEARNER), token="a" * 32, at=hall.clock())
    gone = learner.post("/you/erase", MEANT)
    assert list((hall.folder / "uploads").iterdir()) == []
    assert (gone.status_code, gone.location) == (303, "/gone")
    assert gone.headers["Clear-Site-Data"] == '"cache", "storage"'
    assert learner.get("/gone").status_code == 200
    assert not learner.is_in()
    assert not is_there(hall, LEARNER)


@pytest.mark.parametrize(("sent", "word"), [(MEANT | {"passphrase": "seven wet boots"}, "not your passphrase"), ({**MEANT}, "Tick that")])
def test_without_passphrase_or_will_she_stays(hall: Hall, teacher: Visitor, sent: dict[str, str], word: str) -> None:
    learner = hall.enter(LEARNER, known=True)
    if word == "Tick that":
        del sent["for_good"]
    answer = learner.post("/you/erase", sent)
    assert answer.status_code == 422
    assert word in answer.text
    assert sent["passphrase"] not in answer.text
    assert is_there(hall, LEARNER)


def test_passphrases_are_not_guessed_at_this_door(hall: Hall, teacher: Visitor) -> None:
    learner = hall.enter(LEARNER, known=True)
    tries = [learner.post("/you/erase", MEANT | {"passphrase": f"wrong {number}"}).status_code for number in range(11)]
    assert tries == [422] * 10 + [429]
    assert learner.post("/you/erase", MEANT).status_code == 429
    assert is_there(hall, LEARNER)


def test_a_form_without_its_token_erases_nobody(hall: Hall, teacher: Visitor) -> None:
    learner = hall.enter(LEARNER, known=True)
    assert learner.post("/you/erase", MEANT | {"csrf_token": "wrong"}).status_code == 400
    assert is_there(hall, LEARNER)


def test_a_teacher_takes_out_and_erases_what_is_a_pupils_and_the_pupil_sees_it(hall: Hall, teacher: Visitor) -> None:
    pupil = page_of(hall, LEARNER)
    assert pupil in teacher.get(f"/groups/{CLASS}/pupils").text
    assert teacher.get(f"{pupil}/everything.zip").status_code == 404, "nothing is taken out that is not written down"
    going = teacher.post(f"{pupil}/export")
    assert name_in(teacher.get(going.location)) == LEARNER.name
    assert ("export made", account_of(hall, TEACHER), f"account {account_of(hall, LEARNER)}") in acts(hall)
    told = hall.enter(LEARNER, known=True).get("/you/kept").text
    assert f"Export made, by {TEACHER.name}" in told
    hall.clock.move(minutes=11)
    assert teacher.get(going.location).status_code == 404
    answer = teacher.post(f"{pupil}/erase", {"passphrase": TEACHER.passphrase, "for_good": "yes"})
    assert answer.status_code == 303
    assert not is_there(hall, LEARNER)
    assert ("person erased", account_of(hall, TEACHER), "") in acts(hall)
    assert teacher.get(pupil).status_code == 404


def test_a_pupils_passphrase_is_not_the_teachers(hall: Hall, teacher: Visitor) -> None:
    answer = teacher.post(f"{page_of(hall, LEARNER)}/erase", MEANT)
    assert answer.status_code == 422
    assert is_there(hall, LEARNER)


def test_whoever_has_an_address_or_was_here_before_sees_to_it_herself(hall: Hall, teacher: Visitor) -> None:
    stranger = hall.add(STRANGER)
    hall.clock.move(hours=1)
    pupil = page_of(hall, LEARNER)
    with hall.store.work() as db:
        group_id = db.scalars(select(MembershipRow.group_id)).first()
        groups.add_member(db, group_id or 0, stranger.id, at=hall.clock())
        her = accounts.the_person_called(db, LEARNER.name).id
        db.add(AddressRow(account_id=her, public_id="x", address="oda@mail.example", asked_at=hall.clock()))
    listed = teacher.get(f"/groups/{CLASS}/pupils").text
    for someone in (STRANGER, LEARNER):
        assert someone.name not in listed
        page = page_of(hall, someone)
        assert [teacher.get(page).status_code, teacher.post(f"{page}/export").status_code] == [404, 404]
        assert teacher.post(f"{page}/erase", {"passphrase": TEACHER.passphrase, "for_good": "yes"}).status_code == 404
    assert pupil == page_of(hall, LEARNER)


def test_another_teacher_and_the_pupil_find_nothing_behind_the_teachers_door(hall: Hall, teacher: Visitor) -> None:
    pupil, stranger, learner = page_of(hall, LEARNER), hall.add(STRANGER), hall.enter(LEARNER, known=True)
    with hall.store.work() as db:
        groups.make_group(db, by=stranger, title="Another", kind="class", is_paid=False, public_id=CLASS[:-1] + "8", at=hall.clock())
    other = hall.enter(STRANGER, known=True)
    assert other.get(pupil).status_code == 404
    assert other.get(pupil.replace(CLASS, CLASS[:-1] + "8")).status_code == 404
    assert other.post(f"{pupil}/erase", {"passphrase": STRANGER.passphrase, "for_good": "yes"}).status_code == 404
    assert learner.get(pupil).status_code == 404
    assert is_there(hall, LEARNER)


def test_a_keeper_sees_how_much_hands_it_over_and_erases(hall: Hall, teacher: Visitor) -> None:
    keeper, page = hall.enter(KEEPER, known=True), f"/hall/people/{account_of(hall, LEARNER)}"
    assert page in keeper.get("/hall/people").text
    assert keeper.get(f"{page}/everything.zip").status_code == 404
    assert name_in(keeper.get(keeper.post(f"{page}/export").location)) == LEARNER.name
    assert keeper.post(f"{page}/erase", {"passphrase": KEEPER.passphrase, "for_good": "yes"}).status_code == 303
    assert not is_there(hall, LEARNER)
    assert keeper.get(f"{page}/kept").status_code == 404


def test_the_only_keeper_is_told_why_she_stays(hall: Hall, teacher: Visitor) -> None:
    keeper = hall.enter(KEEPER, known=True)
    answer = keeper.post("/you/erase", {"passphrase": KEEPER.passphrase, "for_good": "yes"})
    assert answer.status_code == 422
    assert "without a keeper" in answer.text


def test_the_keeper_sets_how_long_things_are_kept_and_everybody_reads_it(hall: Hall, teacher: Visitor) -> None:
    keeper = hall.enter(KEEPER, known=True)
    days = {"audit": "90", "sign_ins": "1", "letters": "2", "closed_accounts": "30"}
    wrong = keeper.post("/hall/keeping", days | {"audit": "0"})
    assert wrong.status_code == 422
    assert "from 1 to 3650" in wrong.text
    assert keeper.post("/hall/keeping", days).status_code == 303
    told = teacher.get("/you/kept").text
    assert "once closed, 30 days" in told
    assert "until it is over, and 1 day after" in told
