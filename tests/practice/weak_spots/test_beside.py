"""Answers side by side: each choice is a column, all add up to what the page of weak spots tells, and few are never told apart."""

from __future__ import annotations

from sqlalchemy import update

from drillhall.practice.weak_spots.beside import BY, Beside, the_beside
from drillhall.store.models.seasons import AssignmentRow
from drillhall.store.session import Session, Store
from tests.practice.weak_spots.classes import BEGAN, TODAY, SmallClass, keep, make_class
from tests.practice.weak_spots.test_report import answers
from tests.practice.weak_spots.test_seeing import agree, some


def beside(db: Session, made: SmallClass, by: str, role: str = "teacher") -> Beside:
    return the_beside(db, made.group, role, by, today=TODAY)


def in_all(told: Beside) -> dict[str, tuple[int, int]]:
    return {word: (one.missed, one.shown) for word, one in zip(told.columns, told.together, strict=True)}


def test_each_choice_is_a_column_of_its_own(store: Store) -> None:
    with store.work() as db:
        made = make_class(db, forms=6, learners=1)
        near, (a, b) = next(iter(made.pairs.items()))
        far = next(pair for pair, forms in list(made.pairs.items())[6:] if a in forms)
        left, right = answers(made, near, a, b, 2), answers(made, near, a, b, 3, orientation="right")
        early = answers(made, far, a, a, 11, days=12)
        keep(db, left + right + answers(made, near, b, a, 7, days=41) + early)
        found = {by: in_all(beside(db, made, by)) for by in BY}
        lines = [(one.shown.id, [(share.missed, share.shown) for share in one.shares]) for one in beside(db, made, "orientation").lines]
    # The first form is an adult of no sex told and no pose, the second a female juvenile that wades.
    assert found == {
        "sex": {"female": (7, 7)},
        "life_stage": {"adult": (5, 16), "juvenile": (7, 7)},
        "orientation": {"left": (9, 20), "right": (3, 3)},
        "pose": {"wading": (7, 7)},
        "rendition": {"as taken": (12, 23)},
        "stage": {"Stage 1": (12, 12), "Stage 2": (0, 11)},
        "assignment": {"The ring": (12, 23)},
        "weeks": {"the four weeks before": (5, 16), "the last four weeks": (7, 7)},
    }
    assert lines == [(b, [(0, 0), (7, 7)]), (a, [(3, 3), (2, 2)])], "right comes first"


def test_those_not_named_are_left_out_where_answers_to_a_pair_are_told_apart(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=6, kind="club")
        agree(db, made.learners[0])
        keep(db, some(made, made.learners))
        for by in BY:
            told = beside(db, made, by, "leader")
            apart = by in ("orientation", "pose", "rendition", "weeks")
            assert told.named_alone == apart, by
            assert sum(one.shown for one in told.together) in ((0, 5) if apart else (0, 30)), by
        assert in_all(beside(db, made, "stage", "leader")) == {"Stage 1": (18, 30)}
        assert beside(db, made, "weeks", "member").columns == ()


def test_where_nobody_answered_or_nothing_is_given_there_is_no_column(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=1)
        assert [beside(db, made, by).columns for by in BY] == [()] * len(BY)
        db.execute(update(AssignmentRow).values(retired_at=BEGAN))
        assert beside(db, made, "sex") == Beside("sex", (), (), (), {}, named_alone=False)
