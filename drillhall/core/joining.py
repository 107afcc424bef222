"""Two forms that became one: how what was asked and said of the one is judged as if it had been the other."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from drillhall.core.folding import LoggedAnswer, LoggedShowing
from drillhall.core.kinds import form
from drillhall.core.values import Ask

StandsFor = Mapping[str, str]
"""A form named in a question or an answer → the form that stands for it now, as ids in digits; others stand for themselves."""


def renamed_ask(ask: Ask, stands_for: StandsFor) -> Ask:
    """Return a question with the forms that stand for those it names; other questions than which form it is name none.

    >>> renamed_ask(Ask(kind=form.KEY, choices=("3", "5", "0"), key="3"), {"3": "2"}).choices
    ('2', '5', '0')
    """
    if ask.kind != form.KEY or not stands_for:
        return ask
    choices = tuple(stands_for.get(choice, choice) for choice in ask.choices)
    return replace(ask, choices=choices, key=stands_for.get(ask.key, ask.key))


def asks_nothing(ask: Ask) -> bool:
    """Whether two choices of a question have become one, so that it asks to tell a form from itself.

    >>> asks_nothing(renamed_ask(Ask(kind=form.KEY, choices=("3", "5"), key="3"), {"5": "3"}))
    True
    """
    return len(set(ask.choices)) < len(ask.choices)


def renamed(showing: LoggedShowing, other_id: int, stands_for: StandsFor) -> LoggedShowing:
    """Return a showing as if it had been asked and answered with the forms that stand for others.

    Parameters
    ----------
    showing : as it was planned and answered; what is kept of it stays as it is.
    other_id : the form of the showing's pair that it is not of.
    stands_for : as known now; empty changes nothing.

    Returns
    -------
    LoggedShowing : counting for nothing, prompts and all, where its pair's two forms have become one.
    """
    if not stands_for:
        return showing
    asks = tuple(renamed_ask(ask, stands_for) for ask in showing.asks)
    answers = tuple(_renamed_answer(answer, showing.asks, stands_for) for answer in showing.answers)
    form_id = _stands(showing.form_id, stands_for)
    shown = replace(showing, form_id=form_id, asks=asks, answers=answers)
    if form_id == _stands(other_id, stands_for) or any(asks_nothing(ask) for ask in asks):
        return replace(shown, counts=False, relabelled=True)
    return shown


def _renamed_answer(answer: LoggedAnswer, asks: tuple[Ask, ...], stands_for: StandsFor) -> LoggedAnswer:
    is_form = asks[answer.ask].kind == form.KEY
    return replace(answer, said=stands_for.get(answer.said, answer.said)) if is_form else answer


def _stands(form_id: int, stands_for: StandsFor) -> int:
    return int(stands_for.get(str(form_id), form_id))
