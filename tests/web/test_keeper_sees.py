"""Whoever keeps the hall is told on no page what somebody answered: every page of hers is the same whatever that was."""

from __future__ import annotations

import re

from sqlalchemy import select

from drillhall.practice.folding import rebuild
from drillhall.store.models.concepts import PairRow
from drillhall.store.models.practice import AnswerRow, RoundRow, ShowingRow
from drillhall.web.who_may import ACTION_OF
from tests import cast
from tests.visits import Hall, Visitor
from tests.web.learner.test_drill import answers_to, begin, send
from tests.web.walking import methods_of, path_of, rules_of

LEARNERS_ID = 2
MADE_ANEW = re.compile(r'<input[^>]*name="csrf_token"[^>]*>|<dt>It takes</dt><dd>[^<]*</dd>')
"""What no answer decides: the token of a form, and how large files are."""


def _pages(hall: Hall, visitor: Visitor) -> dict[str, str]:
    """Return every page that is the keeper's alone, without what is made anew each time.

    What is about an account is asked for about the learner's. The zip about somebody is none of them: that it is taken out is
    noted, and told to whom it is about.
    """
    wanted = {endpoint for endpoint, action in ACTION_OF.items() if action == "keep the hall"} - {"privacy.account_everything"}
    told = {}
    for rule in rules_of(hall):
        if "GET" in methods_of(rule) and rule.endpoint in wanted:
            answer = visitor.get(path_of(hall, rule, account_id=LEARNERS_ID))
            assert answer.status_code == 200, rule
            told[rule.endpoint] = MADE_ANEW.sub("", answer.text)
    return told


def _pages_of(learner: Visitor) -> list[str]:
    return [MADE_ANEW.sub("", learner.get(path).text) for path in ("/", "/standing")]


def _say_the_other(hall: Hall) -> int:
    """Turn whatever was said about a form into the other form of its pair, and return how often."""
    query = (
        select(AnswerRow, PairRow)
        .join(ShowingRow, ShowingRow.id == AnswerRow.showing_id)
        .join(RoundRow, RoundRow.id == ShowingRow.round_id)
        .join(PairRow, PairRow.id == RoundRow.pair_id)
        .where(AnswerRow.sure.is_not(None))
    )
    with hall.store.work() as db:
        found = db.execute(query).all()
        for answer, pair in found:
            answer.said = str(pair.second_form_id if answer.said == str(pair.first_form_id) else pair.first_form_id)
        db.flush()
        rebuild(db)
    return len(found)


def test_what_somebody_answered_changes_no_page_of_the_keepers(full_hall: Hall) -> None:
    learner, keeper = full_hall.enter(cast.LEARNER, known=True), full_hall.enter(cast.KEEPER, known=True)
    send(learner, answers_to(begin(learner), full_hall.clock().isoformat()))
    hers, keepers = _pages_of(learner), _pages(full_hall, keeper)
    assert cast.LEARNER.name in keepers["privacy.account_kept"]
    assert _say_the_other(full_hall) > 10
    assert _pages(full_hall, keeper) == keepers
    assert all(page != before for page, before in zip(_pages_of(learner), hers, strict=True)), "else this test sees nothing"
