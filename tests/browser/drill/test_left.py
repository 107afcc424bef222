"""The player and the hall say alike what of a drill is still to be shown."""

from __future__ import annotations

from pathlib import Path
from random import Random

from playwright.sync_api import Browser

from drillhall.core.rounds.minutes import minutes_told
from drillhall.core.rounds.misses import AfterMiss, RoundSoFar, left_of_drill

SOURCE = Path("static/js/drill/left.js").read_text(encoding="utf-8").replace("export ", "")

TAKES = [(0, 9.0), (1, 0.5), (5, 12.0), (6, 12.0), (20, 9.0), (21, 9.1)]
"""Pictures, and seconds that each takes."""


def thrown(dice: Random) -> list[dict[str, object]]:
    """Return the rounds of a drill, played at random, as a packet has them."""
    return [
        {
            "spare": number > 2,
            "ends_at_miss": dice.random() < 0.8,
            "showings": [
                {
                    "third": dice.random() < 0.1,
                    "rendition": "as taken",
                    "asks": [{"kind": "form", "answer_key": "1"}],
                    "said": dice.choice(["1", "1", "2", None, None]),
                }
                for _ in range(dice.randint(2, 4))
            ],
        }
        for number in range(5)
    ]


def as_the_hall_has_it(rounds: list[dict]) -> list[list[bool]]:  # type: ignore[type-arg]
    so_far = [
        RoundSoFar(
            answered=tuple(showing["said"] is not None for showing in one["showings"]),
            missed=any(showing["said"] == "2" and not showing["third"] for showing in one["showings"]),
            after_miss=AfterMiss.END if one["ends_at_miss"] else AfterMiss.FINISH,
            spare=one["spare"],
        )
        for one in rounds
    ]
    return [list(left) for left in left_of_drill(so_far)]


def test_the_player_leaves_out_what_the_hall_leaves_out(browser: Browser) -> None:
    dice = Random(4)
    drills = [thrown(dice) for _ in range(200)]
    page = browser.new_page()
    told = page.evaluate(
        "(drills) => {" + SOURCE + "return drills.map((rounds) => { const left = leftToShow(rounds, (one) => one.said ?? undefined);"
        " return rounds.map((round) => round.showings.map((one) => left.has(one))); }); }",
        drills,
    )
    minutes = page.evaluate("(takes) => {" + SOURCE + "return takes.map(([n, seconds]) => minutesTold(n, seconds)); }", TAKES)
    page.close()
    assert minutes == [minutes_told(*one) for one in TAKES]
    assert told == [as_the_hall_has_it(rounds) for rounds in drills]
    assert {left for rounds in told for one in rounds[3:] for left in one} == {True, False}, "some spare rounds should be played"
