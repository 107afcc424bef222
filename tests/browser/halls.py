"""Halls in the states that the walk of all pages visits: before anybody is there, before a drill, within one and after one."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterator
from datetime import timedelta
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from zipfile import ZipFile

from drillhall.catalogues import staging
from drillhall.core.kinds import the_kind
from drillhall.people import hall as halls
from drillhall.people import invitations, links
from drillhall.practice import drilling, playing
from drillhall.practice.answering import NewAnswer, store_answers
from drillhall.practice.packets import Packet, Question, ShowingView
from tests import cast
from tests.browser.field_tests_at_work import tests_at_work
from tests.browser.groups_at_work import groups_at_work
from tests.browser.mail_visits import a_hall_that_mails
from tests.browser.roster_visits import a_list_at_work
from tests.browser.seasons_at_work import a_season
from tests.browser.sent_pictures import pictures_sent
from tests.hall import Hall
from tests.small_catalogue import write_small_catalogue
from tests.web.curating.curated import make_work


def nothing_yet(hall: Hall) -> None:
    """Leave the hall as it was built: the learner has taken a pair set and met no pair."""


def a_drill_begun(hall: Hall) -> None:
    """Plan the learner's drill; nothing is answered yet."""
    with hall.store.work() as db:
        drilling.start_drill(db, _learner(hall), drill_id=str(uuid.UUID(int=1, version=4)), at=hall.clock.now)


def a_form_asked(hall: Hall) -> None:
    """Answer the questions about traits that come before the first one about a form."""
    a_drill_begun(hall)
    questions = list(asked(the_packet(hall)))
    _answer(hall, questions[: next(place for place, (_, question) in enumerate(questions) if question.kind == "form")])


def a_drill_within(hall: Hall) -> None:
    """Answer the first two thirds of a drill, one in three wrongly."""
    a_drill_begun(hall)
    questions = list(asked(the_packet(hall)))
    _answer(hall, questions[: len(questions) * 2 // 3])


def a_drill_ended(hall: Hall) -> None:
    """Answer a whole drill, one in three wrongly."""
    a_drill_begun(hall)
    _answer(hall, list(asked(the_packet(hall))))


def a_week_later(hall: Hall) -> None:
    """Let a week pass after a drill, so that pairs are due and there is something to look back on."""
    a_drill_ended(hall)
    hall.clock.pass_by(days=7)


def open_to_all(hall: Hall) -> None:
    """Let anybody make an account."""
    with hall.store.work() as db:
        halls.set_open(db, is_open=True)


def a_catalogue_to_curate(hall: Hall) -> None:
    """Let learners dispute a label, and let some pictures be nearly the same."""
    make_work(hall.store)
    hall.clock.pass_by(days=2)


def people_who_share(hall: Hall) -> None:
    """Let people share, offer and correct after the learner's drill."""
    a_drill_ended(hall)
    groups_at_work(hall)


STATES: dict[str, Callable[[Hall], None]] = {
    state.__name__: state
    for state in (
        nothing_yet,
        a_drill_begun,
        a_form_asked,
        a_drill_within,
        a_drill_ended,
        a_week_later,
        open_to_all,
        pictures_sent,
        a_catalogue_to_curate,
        people_who_share,
        a_season,
        tests_at_work,
        a_list_at_work,
        a_hall_that_mails,
    )
}


def the_packet(hall: Hall) -> Packet:
    """Return the learner's drill."""
    with hall.store.look() as db:
        drill_id = playing.find_latest_drill(db, _learner(hall))
        assert drill_id is not None
        return playing.the_packet(db, _learner(hall), drill_id, now=hall.clock.now)


def asked(packet: Packet) -> Iterator[tuple[ShowingView, Question]]:
    """Yield every question of a drill in order."""
    yield from ((showing, question) for view in packet.rounds for showing in view.showings for question in showing.questions)


def an_invitation(hall: Hall) -> str:
    """Make an invitation and return its token."""
    with hall.store.work() as db:
        return invitations.invite(db, by=hall.people[cast.KEEPER], at=hall.clock.now)


def a_link(hall: Hall, purpose: str, someone: cast.Someone | None = None) -> str:
    """Make a one-time link and return its token."""
    with hall.store.work() as db:
        account_id = hall.people[someone].id if someone else None
        return links.make_link(db, purpose, until=hall.clock.now + timedelta(days=1), account_id=account_id)


def a_zip(key: str, *, faulty: bool = False) -> bytes:
    """Zip the small catalogue under another key; in a faulty one a form is missing that pairs and pictures name."""
    content = BytesIO()
    with TemporaryDirectory() as folder, ZipFile(content, "w") as packed:
        small = write_small_catalogue(Path(folder) / "small")
        said = (small / "catalogue.toml").read_text(encoding="utf-8").replace('key = "small-estuary"', f'key = "{key}"')
        (small / "catalogue.toml").write_text(said.replace('key = "stilt_fiddler"', 'key = "lost"') if faulty else said, encoding="utf-8")
        for file in sorted(path for path in small.rglob("*") if path.is_file()):
            packed.write(file, file.relative_to(small))
    return content.getvalue()


def an_upload(hall: Hall, someone: cast.Someone, key: str) -> str:
    """Let somebody upload the small catalogue under a key, to be looked at before it comes in, and return the upload's token."""
    account_id, folder = hall.people[someone].id, hall.folder / "uploads"
    token = f"{account_id:032x}"
    if not list(folder.glob(f"{account_id}-*.zip")):
        staging.stage(folder, BytesIO(a_zip(key)), account_id=account_id, token=token, at=hall.clock.now)
    return token


def _learner(hall: Hall) -> int:
    return hall.people[cast.LEARNER].id


def _answer(hall: Hall, questions: list[tuple[ShowingView, Question]]) -> None:
    answers = [
        NewAnswer(
            id=str(uuid.UUID(int=number, version=4)),
            showing=showing.id,
            ask=question.place,
            said=question.key if number % 3 else next(choice.key for choice in question.choices if choice.key != question.key),
            sure="probable" if the_kind(question.kind).takes_sure else None,
            seconds=4.0,
            hint=False,
            at=hall.clock.now + timedelta(seconds=5 * number),
        )
        for number, (showing, question) in enumerate(questions, 1)
    ]
    hall.clock.pass_by(seconds=5 * len(answers) + 5)
    with hall.store.work() as db:
        stored = store_answers(db, _learner(hall), answers, received_at=hall.clock.now)
    assert not stored.refused, stored.refused
