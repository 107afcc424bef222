"""Passphrases: long enough, not guessed early, hashed by Argon2id; no rule about what they are made of."""

from __future__ import annotations

from random import Random, SystemRandom
from typing import Literal

import pytest
from argon2 import PasswordHasher, extract_parameters
from argon2.low_level import Type

from drillhall.errors import Invalid
from drillhall.people import passphrases
from drillhall.people.passphrases import check_passphrase, hash_passphrase, is_outdated, is_passphrase, offer_passphrase, plain_words
from tests.cast import EVERYBODY, LEARNER


@pytest.mark.parametrize(
    "typed",
    [
        LEARNER.passphrase,
        "nutmegxy",  # eight plain letters: no digit, no capital, no sign is asked for (ASVS 5.0.0, 6.2.5)
        "   k u x   ",
        "Schlüsselbrett",
        "冬の渚に立つ鳥たち",
        "x1!" * 3 + "wet boots",
        "wet boots " * 25,
    ],
)
def test_what_is_long_enough_and_not_common_will_do(typed: str) -> None:
    assert check_passphrase(typed, name="Pell") == passphrases.normalise(typed)


def test_128_signs_and_twice_as_many_are_taken() -> None:
    # NIST SP 800-63B-4, 3.1.1.2: at least 64 permitted; ASVS 5.0.0, 6.2.9.
    for length in (64, 128, 256):
        long = ("a wader stands on one leg. " * 12)[:length]
        stored = hash_passphrase(check_passphrase(long, name="Pell"))
        assert is_passphrase(long, stored)
        assert not is_passphrase(long[:-1], stored)


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("", "it needs at least 8"),
        ("sevenxy", "it needs at least 8"),
        ("a wet boot" * 26, "more than 256"),
        ("password", "common ones"),
        ("Password2031!", "common ones"),
        ("p@ssw0rd123", "common ones"),
        ("!!dragon!!", "common ones"),
        ("sunshine99", "common ones"),
        ("iloveyou12", "common ones"),
        ("Drillhall2031", "common ones"),  # ASVS 5.0.0, 6.2.11: words of the place
        ("dragonmaster", "common ones"),
        ("Liverpool 1987", "common ones"),
        ("1qaz2wsx", "common ones"),
        ("welcome welcome", "over and over|common ones"),
        ("aaaaaaaaaaaa", "over and over"),
        ("abababababab", "over and over"),
        ("xyzxyzxyzxyz", "over and over"),
        ("12345678", "runs along"),
        ("abcdefghij", "runs along"),
        ("87654321", "runs along"),
        ("     a b c    ", "runs along"),
        ("qwertyuiop", "runs along"),
        ("qwertyasdfgh", "runs along|common ones"),
        ("Oda Querfurth", "your name"),
        ("odaquerfurth7", "your name"),
        ("Querfurth2031", "your name"),
    ],
)
def test_what_would_be_guessed_early_is_refused_with_the_reason(typed: str, why: str) -> None:
    with pytest.raises(Invalid, match=why) as caught:
        check_passphrase(typed, name=LEARNER.name)
    assert caught.value.field == "passphrase"
    assert not typed or len(typed) < 8 or typed not in caught.value.sentence


def test_the_passwords_most_often_found_in_breaches_are_refused() -> None:
    """Outside check: ASVS 5.0.0, 6.2.4 wants at least the 3,000 most common that are long enough; the list is zxcvbn's."""
    long_enough = [password for password in passphrases.known_passwords() if len(password) >= passphrases.LEAST]
    assert len(long_enough) > 3000
    for password in long_enough:
        for typed in (password, password.title()):
            with pytest.raises(Invalid, match="guessed early"):
                check_passphrase(typed, name="Pell")


def test_whoever_keeps_the_hall_needs_fifteen() -> None:
    with pytest.raises(Invalid, match="at least 15"):
        check_passphrase("wet boot sluic", name="Runa", strong=True)
    assert check_passphrase("wet boot sluice", name="Runa", strong=True)


def test_a_letter_put_together_and_in_one_is_one_passphrase() -> None:
    stored = hash_passphrase(check_passphrase("ein stu\u0308ck moor", name="Pell"))
    assert is_passphrase("ein stück moor", stored)
    assert not is_passphrase("ein stuck moor", stored)


def test_the_hash_is_argon2id_at_the_cost_that_rfc_9106_recommends() -> None:
    hasher = PasswordHasher()
    parameters = extract_parameters(hasher.hash("x"))
    # RFC 9106, section 4, second recommended option: t=3, m=2^16 KiB, p=4.
    assert (parameters.type, parameters.time_cost, parameters.memory_cost, parameters.parallelism) == (Type.ID, 3, 2**16, 4)


def test_in_earnest_the_program_hashes_at_that_cost(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()  # the light hashing of the other tests
    assert extract_parameters(passphrases.HASHER.hash("x")) == extract_parameters(PasswordHasher().hash("x"))


def test_two_hashes_of_one_passphrase_differ() -> None:
    assert hash_passphrase("wet boots by the sluice") != hash_passphrase("wet boots by the sluice")


def test_a_hash_of_other_cost_is_outdated_and_still_fits() -> None:
    old = PasswordHasher(time_cost=2, memory_cost=16, parallelism=1).hash("wet boots by the sluice")
    assert is_passphrase("wet boots by the sluice", old)
    assert is_outdated(old)
    assert not is_outdated(hash_passphrase("wet boots by the sluice"))


@pytest.mark.parametrize("stored", ["-", "", "$argon2id$broken", "plain words"])
def test_a_broken_hash_fits_nothing(stored: str) -> None:
    assert not is_passphrase("plain words", stored)


def test_a_name_that_nobody_has_costs_as_much_work(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same algorithm with the same cost is run once, whether there is such a person or not; time follows from that."""
    worked: list[str] = []

    class Watched(PasswordHasher):
        def verify(self, hash: str | bytes, password: str | bytes) -> Literal[True]:  # noqa: A002 - the name is argon2's
            worked.append(str(hash).rpartition("$")[0].rpartition("$")[0])
            return super().verify(hash, password)

    monkeypatch.setattr(passphrases, "HASHER", Watched(time_cost=2, memory_cost=2**10, parallelism=1))
    passphrases.hash_of_nobody.cache_clear()
    stored = hash_passphrase("wet boots by the sluice")
    for known in (stored, None):
        assert not is_passphrase("another guess", known)
    passphrases.hash_of_nobody.cache_clear()
    assert worked == ["$argon2id$v=19$m=1024,t=2,p=1"] * 2


def test_an_offered_passphrase_is_five_words_of_our_own_and_good_enough_for_a_keeper() -> None:
    for _ in range(200):
        offered = offer_passphrase(dice=SystemRandom())
        words = offered.split()
        assert len(words) == 5
        assert set(words) <= set(plain_words())
        check_passphrase(offered, name=EVERYBODY[0].name, strong=True)


def test_the_dice_decide_what_is_offered() -> None:
    assert offer_passphrase(dice=Random(1)) == offer_passphrase(dice=Random(1)) != offer_passphrase(dice=Random(2))


def test_plain_words_are_many_short_and_each_once() -> None:
    words = plain_words()
    assert len(words) == len(set(words)) >= 700  # five of 700: 47 bits, behind a slow hash and a limit on tries
    assert all(word.isascii() and word.islower() and 3 <= len(word) <= 10 for word in words)


def test_a_word_of_ours_is_long_enough_even_when_all_are_short() -> None:
    shortest = sorted(map(len, plain_words()))[:5]
    assert sum(shortest) + 4 >= 15
