"""Field tests over HTTP, for whoever teaches: set, seen through to what it came to, kept as files; another class's are not there."""

from __future__ import annotations

import csv
import io
import json
from datetime import timedelta

from sqlalchemy import select, update

from drillhall.store.models.catalogue import StewardRow
from drillhall.store.models.field_tests import FieldTestRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import PictureRow
from tests.cast import LEARNER, TEACHER
from tests.web.curating.curated import counted_statements
from tests.web.teacher.a_class import OTHER, Class


def _held_out(room: Class) -> list[str]:
    with room.hall.store.look() as db:
        return list(db.scalars(select(PictureRow.public_id).where(PictureRow.use == "held-out")))


def test_from_setting_to_item_analysis(room: Class) -> None:
    assert "None yet" in room.teacher.get(f"{room.base}/field-tests").text
    form = room.teacher.get(f"{room.base}/field-tests/new/{room.set_id}").text
    assert "3 held out, 3 unseen" in form
    pairs, each = form.count('name="pair"'), int(form.partition('name="per_form"')[2].partition('value="')[2].partition('"')[0])
    assert f"the {pairs} pairs ticked, with {each} a form, make {pairs * each * 2} questions" in form
    test = room.set_test()
    assert "Nobody has answered yet" in room.teacher.get(test).text
    room.sit(test)
    page = room.teacher.get(test).text
    assert LEARNER.name in page
    assert "2 of 4" in page
    assert "Too little varies" in page
    questions = room.teacher.get(f"{test}/questions").text
    assert questions.count("1 of 1") == 2
    assert "None stands out" in questions
    assert "2 unseen" not in form
    after = room.teacher.get(f"{room.base}/field-tests/new/{room.set_id}").text
    assert "3 held out, 1 unseen" in after
    assert "Nobody who may be told of has sat both" in room.teacher.get(f"{test}/compare").text


def test_the_form_warns_of_few_of_none_and_of_spent_pictures(room: Class) -> None:
    form = f"{room.base}/field-tests/new/{room.set_id}"

    def hold_out(most: int) -> str:
        with room.hall.store.work() as db:
            db.execute(update(PictureRow).values(use="practice"))
            for form_id in db.scalars(select(PictureRow.form_id).distinct()).all():
                ids = db.scalars(select(PictureRow.id).where(PictureRow.form_id == form_id).order_by(PictureRow.id).limit(most)).all()
                db.execute(update(PictureRow).where(PictureRow.id.in_(ids)).values(use="held-out"))
        return room.teacher.get(form).text

    assert "<b>None can be asked:</b> hold out more pictures of" in hold_out(0)
    assert "<b>Few:</b> hold out more pictures of" in hold_out(3)
    enough = hold_out(4)
    assert "hold out more" not in enough
    assert "<b>Spent:</b>" not in enough
    room.sit(room.set_test(per_form="4"))
    assert "<b>Spent:</b> asked again, they measure memory as well." in room.teacher.get(form).text


def test_released_results_reach_the_sitter_and_not_before(room: Class) -> None:
    test = room.set_test()
    room.sit(test)
    hers = f"/field-tests/{test.rpartition('/')[2]}"
    assert "2 of 4" not in room.pupil.get(hers).text
    refused = room.teacher.post(f"{test}/release")
    assert refused.status_code == 409
    assert "Shut it first" in refused.text
    room.hall.clock.move(minutes=1)
    assert room.teacher.post(f"{test}/shut").status_code == 303
    assert room.teacher.post(f"{test}/release").status_code == 303
    page = room.pupil.get(hers).text
    assert "2 of 4 right" in page
    assert "taken for" in page
    assert "68.8 cases of 100" in page


def test_what_one_keeps_is_whole_and_runs_no_formula(room: Class) -> None:
    with room.hall.store.work() as db:
        db.scalars(select(AccountRow).where(AccountRow.name == LEARNER.name)).one().name = "=HYPERLINK(1)"
    test = room.set_test()
    room.sit(test)
    kept = room.teacher.post(f"{test}/sitters/csv")
    assert kept.headers["Content-Disposition"].startswith("attachment; filename=sitters-")
    rows = list(csv.DictReader(io.StringIO(kept.data.decode("utf-8-sig"))))
    assert [(row["name"], row["right"], row["asked"]) for row in rows] == [("'=HYPERLINK(1)", "2", "4")]
    assert sorted(rows[0][f"question_{number}"] for number in range(1, 5)) == ["0", "0", "1", "1"]
    told = json.loads(room.teacher.post(f"{test}/questions/json").data)
    assert [row["of"] for row in told["rows"]] == [1] * 4
    assert [row["dropped"] for row in told["rows"]] == [0] * 4
    for address in ("sitters/xlsx", "everything/csv"):
        assert room.teacher.post(f"{test}/{address}").status_code == 404


FAULTS = [
    ("title", {"title": ""}),
    ("pair", {"pair": []}),
    ("pair", {"pair": "x"}),
    ("per_form", {"per_form": "many"}),
    ("per_form", {"per_form": "4"}),
    ("minutes", {"minutes": "-5"}),
    ("opens_at", {"opens_at": "tomorrow"}),
    ("until", {"until": "2031-03-03T13:00+05:00"}),
    ("until", {"until": ""}),
    ("extra-2", {"extra-2": "33"}),
]


def test_a_form_with_a_fault_comes_back_and_names_it(room: Class) -> None:
    fields = room.fields()
    for field, more in FAULTS:
        answer = room.teacher.post(f"{room.base}/field-tests/new/{room.set_id}", fields | more)
        assert (answer.status_code, f'id="{field}-mend"' in answer.text) == (422, True), more
        assert "pairs ticked" not in answer.text, "she has ticked what she wants"
    with room.hall.store.look() as db:
        assert not db.scalars(select(FieldTestRow)).all()


def test_odds_are_read_and_odd_ones_refused(room: Class) -> None:
    fields = room.fields()
    pair = fields["pair"][0]  # type: ignore[index]
    page = room.teacher.get(f"{room.base}/field-tests/new/{room.set_id}").text
    odds = page.partition(f'name="odds-{pair}"')[2].partition('value="even"')[2].partition('value="')[2].partition('"')[0]
    test = room.set_test(**{f"odds-{pair}": odds, "per_form": "1"})
    room.sit(test)
    assert "as one in 3" in room.teacher.get(test).text
    refused = room.teacher.post(f"{room.base}/field-tests/new/{room.set_id}", fields | {f"odds-{pair}": "1:2:3"})
    assert refused.status_code == 422
    assert f'id="odds-{pair}-mend"' in refused.text


def test_a_steward_may_look_at_the_pictures_and_a_teacher_may_not(room: Class) -> None:
    test = room.set_test()
    room.sit(test)
    ids = _held_out(room)
    pages = [test, f"{test}/questions", f"{test}/compare"]
    texts = [room.teacher.get(page).text for page in pages]
    texts += [room.teacher.post(f"{test}/{table}/json").text for table in ("sitters", "questions")]
    assert not any(one in text for text in texts for one in ids)
    with room.hall.store.work() as db:
        teacher = db.scalars(select(AccountRow).where(AccountRow.name == TEACHER.name)).one()
        db.add(StewardRow(catalogue_id=1, account_id=teacher.id))
    shown = room.teacher.get(f"{test}/questions").text
    assert sum(one in shown for one in ids) == 4


def test_another_class_is_not_there_on_any_route(room: Class) -> None:
    test = room.set_test(repeats="yes")
    room.sit(test)
    number = test.rpartition("/")[2]
    reading = ("", "/questions", "/compare")
    writing = ("/shut", "/release", "/off", "/sitters/csv", "/questions/json")
    for base in (test, f"/groups/{OTHER}/field-tests/{number}"):
        for visitor in (room.other, room.stranger):
            assert {visitor.get(f"{base}{path}").status_code for path in reading} == {404}
            assert {visitor.post(f"{base}{path}").status_code for path in writing} == {404}
    assert room.other.get(f"{room.base}/field-tests").status_code == 404
    assert room.other.post(f"{room.base}/field-tests/new/{room.set_id}", room.fields()).status_code == 404
    # A pupil sits tests and does not set them; nor does she see what others came to.
    assert room.pupil.get(test).status_code == 404
    assert room.pupil.post(f"{test}/release").status_code == 404
    theirs = f"/groups/{OTHER}/field-tests/new/{room.set_id}"
    made = str(room.other.post(theirs, room.fields()).location)
    assert room.teacher.get(f"{test}/compare?with={made.rpartition('/')[2]}").status_code == 404


def test_two_tests_and_a_test_sat_twice_are_compared(room: Class) -> None:
    first = room.set_test(repeats="yes", per_form="1")
    for _ in range(2):
        room.sit(first)
    second = room.set_test(title="Winter test", per_form="3")
    room.sit(second)
    page = room.teacher.get(f"{first}/compare").text
    assert "+0.0 in 100" in page
    assert "The same was said in 2 of 2 answers" in page
    page = room.teacher.get(f"{second}/compare?with={first.rpartition('/')[2]}").text
    assert "Autumn test first, then Winter test" in page
    assert "Of fewer than six learners no range is told" in page
    again = room.teacher.get(second).text
    assert "had been seen before by somebody who learns here" in again


def test_once_a_test_is_over_the_form_says_how_many_questions_are_needed(room: Class) -> None:
    form, test = f"{room.base}/field-tests/new/{room.set_id}", room.set_test()
    address = room.begin(test)
    sitting = address.rpartition("/")[0]
    room.pupil.post(address, {"said": room.choices(address)[0]})
    room.pupil.post(f"{sitting}/hand-in")
    room.sit(test, room.join("Second pupil"))
    assert "a published test of ten questions" in room.teacher.get(form).text
    room.hall.clock.move(hours=3)
    known = room.teacher.get(form).text
    page = room.teacher.get(test).text
    # One of the two had one question right or none, the other two of four: what KR-20 is, the page itself works out.
    kr20 = page.partition("KR-20 ")[2].partition(";")[0]
    assert f"(4 questions, 2 sitters, KR-20 {kr20})" in known
    assert "From so few sitters it is rough" in known
    assert ("the scores part nobody from another" in page) == (float(kr20) <= 0)


def test_called_off_it_is_gone_for_sitters_and_kept_in_the_list(room: Class) -> None:
    test = room.set_test()
    question = room.begin(test)
    assert room.teacher.post(f"{test}/off").status_code == 303
    assert room.pupil.get(question).status_code == 404
    assert room.pupil.get(f"/field-tests/{test.rpartition('/')[2]}").status_code == 404
    assert "called off" in room.teacher.get(f"{room.base}/field-tests").text


def test_statements_do_not_grow_with_tests_and_sitters(room: Class) -> None:
    def count(path: str) -> int:
        with counted_statements() as made:
            assert room.teacher.get(path).status_code == 200
        return len(made)

    first = room.set_test(repeats="yes")
    room.sit(first)
    pages = (f"{room.base}/field-tests", first, f"{first}/questions", f"{first}/compare")
    before = [count(page) for page in pages]
    for _ in range(3):
        room.sit(room.set_test(until=(room.hall.clock() + timedelta(days=2)).isoformat()[:16]))
        room.sit(first)
    assert [count(page) for page in pages] == before
