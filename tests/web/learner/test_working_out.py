"""Work it out, as a page that needs no script."""

from __future__ import annotations

from tests import cast
from tests.practice.small_hall import SmallHall
from tests.practice.test_working_out import measure
from tests.visits import Hall, Visitor
from tests.web.learner.test_pages import words


def test_traits_are_marked_and_read(learner: Visitor, small: SmallHall) -> None:
    assert f"/work-it-out/{small.pair_set}" in words(learner, "/work-it-out")
    page = words(learner, f"/work-it-out/{small.pair_set}?seen.bill=curved&seen.legs=")
    assert "Likeliest:" in page
    assert "49 in 100" in page
    assert "which is an approximation" in page
    assert 'name="seen.bill" value="curved" checked' in page
    assert "Look at this next: <b>leg colour</b>" in page
    # Below a long list of traits, what comes of them would be out of sight.
    assert f'action="/work-it-out/{small.pair_set}#read"' in page
    assert 'id="read"' in page


def test_a_word_that_means_no_state_leaves_the_page_whole(learner: Visitor, small: SmallHall) -> None:
    refused = learner.get(f"/work-it-out/{small.pair_set}?seen.bill=hooked")
    assert refused.status_code == 422
    assert "is no state of bill" in refused.text
    assert 'value="curved"' in refused.text


def test_a_newcomer_is_sent_to_the_shelf_and_sees_no_set(hall: Hall, small: SmallHall) -> None:
    newcomer = hall.enter(cast.STRANGER)
    assert "/shelf" in words(newcomer, "/work-it-out")
    assert newcomer.get(f"/work-it-out/{small.pair_set}").status_code == 404


def test_a_value_is_typed_in_and_a_word_is_refused_beside_its_field(hall: Hall, learner: Visitor, small: SmallHall) -> None:
    where = f"/work-it-out/{small.pair_set}"
    assert "in the hand" not in words(learner, where)
    measure(hall.store, small)
    page = words(learner, f"{where}?measured.bill=30,5")
    assert "What is measured on a photograph is no measurement." in page
    assert 'name="measured.bill" value="30,5"' in page
    assert "75 in 100" in page
    refused = learner.get(f"{where}?measured.bill=long")
    assert refused.status_code == 422
    assert 'id="measured.bill-mend"' in refused.text
