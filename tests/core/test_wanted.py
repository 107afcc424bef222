"""What is wanted: counts by use, views that give the answer away, and the order in which a picture helps."""

from __future__ import annotations

from drillhall.core.wanted import AIM, HELD_OUT, PORTRAITS, Drilled, FormWanted, Held, most_needed_first, views_wanted, wanted_of

PAIR = ("dunlin", "knot")


def full(form: str, **views: str) -> list[Held]:
    uses = ["practice"] * AIM + ["portrait"] * PORTRAITS + ["held-out"] * HELD_OUT
    return [Held(form, use, views) for use in uses]


def test_nothing_is_wanted_of_a_form_that_has_enough_of_each_use() -> None:
    [wanted] = wanted_of(["dunlin"], [], full("dunlin"))
    assert wanted.is_complete
    assert most_needed_first([wanted]) == ()


def test_more_than_enough_is_not_wanted_back() -> None:
    [wanted] = wanted_of(["dunlin"], [], full("dunlin") * 2)
    assert (wanted.practice_wanted, wanted.portraits_wanted, wanted.held_out_wanted) == (0, 0, 0)


def test_a_form_without_pictures_wants_all() -> None:
    [wanted] = wanted_of(["dunlin"], [], [])
    assert (wanted.practice_wanted, wanted.portraits_wanted, wanted.held_out_wanted) == (AIM, PORTRAITS, HELD_OUT)
    assert wanted.is_few


def test_what_is_seen_of_one_form_alone_is_wanted_of_the_other() -> None:
    pictures = full("dunlin", orientation="left", setting="mud") + full("knot", orientation="right", setting="mud")
    found = [(view.form, view.view, view.words, view.other) for view in views_wanted([PAIR], pictures)]
    assert found == [("dunlin", "orientation", ("right",), "knot"), ("knot", "orientation", ("left",), "dunlin")]


def test_portraits_and_held_out_pictures_show_no_view_to_a_learner() -> None:
    pictures = [Held("dunlin", "portrait", {"pose": "feeding"}), Held("dunlin", "held-out", {"pose": "feeding"})]
    assert list(views_wanted([PAIR], pictures)) == []


def test_what_is_not_said_of_a_picture_is_not_wanted() -> None:
    assert list(views_wanted([PAIR], full("dunlin", pose="") + full("knot", pose=""))) == []


def test_a_plumage_is_wanted_only_of_a_form_whose_plumage_is_told() -> None:
    told = full("dunlin", plumage="breeding")
    assert list(views_wanted([PAIR], told + full("knot"))) == []
    wanted = list(views_wanted([PAIR], told + full("knot", plumage="moulting")))
    assert [(view.form, view.words) for view in wanted] == [("dunlin", ("moulting",)), ("knot", ("breeding",))]


def test_drills_of_all_its_pairs_count_for_a_form() -> None:
    drilled = {PAIR: Drilled(3, 10), ("dunlin", "sanderling"): Drilled(1, 5)}
    [dunlin, knot] = wanted_of(["dunlin", "knot"], [PAIR], [], drilled=drilled)
    assert (dunlin.drilled, knot.drilled) == (Drilled(4, 15), Drilled(3, 10))


def test_the_most_needed_stand_first() -> None:
    wanted = [
        FormWanted("undrilled", practice=12, portraits=3, held_out=4),
        FormWanted("drilled", practice=12, portraits=3, held_out=4, drilled=Drilled(0, 40)),
        FormWanted("mixed up", practice=19, portraits=3, held_out=4, drilled=Drilled(9, 20)),
        FormWanted("none", practice=0, portraits=3, held_out=4),
        FormWanted("fewer", practice=2, portraits=3, held_out=4),
    ]
    assert [one.form for one in most_needed_first(wanted)] == ["none", "mixed up", "drilled", "fewer", "undrilled"]
