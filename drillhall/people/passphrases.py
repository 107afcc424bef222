"""What makes a passphrase good enough, and how it is kept: Argon2id, and never as it was typed."""

from __future__ import annotations

import re
import unicodedata
from functools import cache
from pathlib import Path
from random import Random
from threading import BoundedSemaphore
from typing import Final

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from drillhall.errors import Invalid
from drillhall.words import say

LEAST: Final = 8
LEAST_STRONG: Final = 15
"""For whoever keeps a hall, leads or teaches: NIST SP 800-63B-4 asks for it where a passphrase stands alone."""
MOST: Final = 256
WORDS_OFFERED: Final = 5

HASHER = PasswordHasher()
"""The library's defaults: Argon2id, 64 MiB, 3 passes, 4 lanes (RFC 9106, second recommended option)."""

# Each hash takes 64 MiB; two at once keep a crowd at the door from filling the machine's memory.
_TURN = BoundedSemaphore(2)

_HERE = Path(__file__).parent
_LOOKS_LIKE = str.maketrans("013457@$!", "oieastasi")
_RUNS = ("abcdefghijklmnopqrstuvwxyz", "01234567890123456789", "qwertyuiop", "asdfghjkl", "zxcvbnm", "qwertzuiop", "azertyuiop")


def normalise(typed: str) -> str:
    """Return a passphrase in the one spelling that is hashed (NFKC), so that it is the same from every keyboard."""
    return unicodedata.normalize("NFKC", typed)


def check_passphrase(typed: str, *, name: str, strong: bool = False, field: str = "passphrase") -> str:
    """Return the passphrase in its hashed spelling, or raise Invalid saying why it will not do."""
    passphrase = normalise(typed)
    least = LEAST_STRONG if strong else LEAST
    if len(passphrase) < least:
        raise Invalid(
            say("That passphrase has {len} signs; it needs at least {least}. A few plain words will do.", len=len(passphrase), least=least),
            field=field,
        )
    if len(typed) > MOST or len(passphrase) > MOST:
        raise Invalid(say("That passphrase has more than {most} signs. Take a shorter one.", most=MOST), field=field)
    if why := _why_too_easy(passphrase.casefold(), name.casefold()):
        raise Invalid(
            say("That passphrase would be guessed early: {why}. Take another, for example the one offered.", why=why), field=field
        )
    return passphrase


def hash_passphrase(passphrase: str) -> str:
    """Return the Argon2id hash of a passphrase in its hashed spelling."""
    with _TURN:
        return HASHER.hash(_bytes(passphrase))


def is_passphrase(typed: str, stored: str | None) -> bool:
    """Whether the passphrase fits the stored hash; where there is no hash, as much work is done and the answer is no."""
    with _TURN:
        try:
            HASHER.verify(hash_of_nobody() if stored is None else stored, _bytes(normalise(typed[: MOST + 1])))
        except (VerificationError, InvalidHashError):
            return False
    return stored is not None


def is_outdated(stored: str) -> bool:
    """Whether a hash was made with other parameters than today's."""
    return HASHER.check_needs_rehash(stored)


def offer_passphrase(*, dice: Random) -> str:
    """Return a passphrase of plain words drawn from our own list; the dice must be the system's for it to be secret."""
    words = plain_words()
    return " ".join(words[dice.randrange(len(words))] for _ in range(WORDS_OFFERED))


@cache
def known_passwords() -> frozenset[str]:
    """Return the 30,000 passwords found most often in breaches, as a library for judging passwords carries them."""
    from zxcvbn.frequency_lists import FREQUENCY_LISTS  # here, since only a new passphrase needs it

    return frozenset(FREQUENCY_LISTS["passwords"])


@cache
def plain_words() -> tuple[str, ...]:
    """Return our list of plain words."""
    return _read("plain_words.txt")


@cache
def common_stems() -> frozenset[str]:
    """Return the words that stand at the heart of common passphrases."""
    return frozenset(_read("common_stems.txt"))


def _read(name: str) -> tuple[str, ...]:
    lines = (_HERE / name).read_text(encoding="utf-8").splitlines()
    return tuple(word for line in lines if not line.startswith("#") for word in line.split())


def _why_too_easy(passphrase: str, name: str) -> str:
    bare = re.sub(r"[\W_]+", "", passphrase)
    if len(set(bare)) <= 2:
        return say("it is one or two signs over and over")
    if _is_repeated(bare):
        return say("it is the same few signs over and over")
    if _is_run(bare):
        return say("it runs along the keyboard or the alphabet")
    hearts = _hearts(passphrase)
    name_parts = {re.sub(r"[\W_]+", "", name), *re.findall(r"\w{4,}", name)}
    if name_parts & hearts or bare in name_parts:
        return say("it is your name with little added")
    if passphrase in known_passwords() or any(_is_common(heart) for heart in hearts):
        return say("it is one of the common ones")
    return ""


def _hearts(passphrase: str) -> set[str]:
    """Strip what is commonly put before, after and between words, with signs read as themselves and as the letters they look like."""
    stripped = (re.sub(r"^[\W\d_]{0,6}|[\W\d_]{0,8}$", "", one) for one in (passphrase, passphrase.translate(_LOOKS_LIKE)))
    return {re.sub(r"[\W_]+", "", spelling) for one in stripped for spelling in (one, one.translate(_LOOKS_LIKE))}


def _is_common(heart: str) -> bool:
    """Whether the heart is a common word, two of them, or one of them twice."""
    stems = common_stems()
    return (
        heart in stems
        or heart in known_passwords()
        or any(heart[:cut] in stems and heart[cut:] in stems for cut in range(2, len(heart) - 1))
    )


def _is_repeated(bare: str) -> bool:
    return any(bare == (bare[:size] * (len(bare) // size + 1))[: len(bare)] for size in range(1, min(5, len(bare) // 2) + 1))


def _is_run(bare: str) -> bool:
    """Whether all of it is one to three runs of at least three neighbours, forwards or backwards."""
    rest, runs = bare, 0
    lines = [line for run in _RUNS for line in (run, run[::-1])]
    while rest and runs < 3:
        size = max((n for n in range(3, len(rest) + 1) if any(rest[:n] in line for line in lines)), default=0)
        if not size:
            break
        rest, runs = rest[size:], runs + 1
    return runs > 0 and len(rest) <= 2


def _bytes(passphrase: str) -> bytes:
    return passphrase.encode("utf-8", "surrogatepass")


@cache
def hash_of_nobody() -> str:
    """Return a hash that no sign-in leads to, on which as much work is spent as on a real one."""
    return HASHER.hash("a passphrase that nobody has")
