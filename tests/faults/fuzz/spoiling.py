"""Begins with requests that may well be taken, and spoils them in one place or a few."""

from __future__ import annotations

from collections.abc import Callable
from random import Random
from typing import Final
from urllib.parse import parse_qsl, quote_from_bytes, urlsplit

from werkzeug.routing import Rule

from tests.faults.fuzz import nasty
from tests.faults.fuzz.drafts import Draft, as_bytes
from tests.faults.fuzz.forms import fill
from tests.faults.fuzz.ground import PEOPLE, Ground
from tests.web.walking import methods_of

METHODS: Final = ("GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS", "PATCH", "TRACE", "CONNECT", "get", "X\xff")
HOW_MANY: Final = (0, 0, 1, 1, 1, 1, 2, 2, 3)
"""Of how many places a request is spoilt."""


def begin(ground: Ground, rule: Rule, build: Callable[..., str], dice: Random) -> Draft:
    """Return a request to a route: a form of it filled in by whoever has it, else what is known of its arguments."""
    seeds = ground.seeds.get(rule.endpoint)
    if rule.endpoint == "learner.answer" and dice.random() < 0.6:
        return Draft(
            "learner", "POST", "/drills/answers", tree={"answers": [dice.choice(ground.answers) for _ in range(dice.randint(1, 4))]}
        )
    if rule.endpoint == "pictures.known" and dice.random() < 0.6:
        return Draft("learner", "POST", "/my-pictures/known", tree={"sha256": ["0" * 64, "a" * 64][: dice.randint(0, 2)]})
    if rule.endpoint == "pictures.send" and dice.random() < 0.6:
        return Draft("learner", "POST", "/my-pictures/send", fields=[("undisturbed", "on")], files=[_file(ground, "file", dice)])
    if seeds and dice.random() < 0.9:
        seed = dice.choice(seeds)
        parts = urlsplit(seed.form.action)
        filled = fill(seed.form, ground.knows(seed.who), dice)
        asked = parse_qsl(parts.query)
        if seed.form.method == "GET":
            return Draft(seed.who, "GET", parts.path, asked=[*asked, *filled])
        draft = Draft(seed.who, seed.form.method, parts.path, asked=list(asked), fields=list(filled), has_files=seed.form.has_files)
        for one in seed.form.fields:
            if one.kind == "file" and dice.random() < 0.9:
                draft.files.append(_file(ground, one.name, dice))
        return draft
    who, method = dice.choice(ground.openers.get(rule.endpoint) or list(PEOPLE)), dice.choice(sorted(methods_of(rule)))
    path = build(rule, {name: ground.values.get(name, 1) for name in rule.arguments} | {"token": ground.values.get(rule.endpoint, "wrong")})
    draft = Draft(who, method, path, asked=[one for one in ground.asked.get(rule.endpoint, []) if dice.random() < 0.3])
    if method != "GET" and ground.names:
        draft.fields = [(dice.choice(ground.names), "1") for _ in range(dice.randint(0, 4))]
    return draft


def _file(ground: Ground, name: str, dice: Random) -> tuple[str, str, str, bytes]:
    kind = "zip" if name == "zip" else dice.choice(("jpg", "jpg", "png", "csv"))
    return name, f"a.{kind}", "application/octet-stream", ground.files[kind]


def spoil(draft: Draft, ground: Ground, dice: Random) -> Draft:
    """Spoil a request in one place or a few, or not at all."""
    for _ in range(dice.choice(HOW_MANY)):
        spoilers = [
            *_ANYWHERE,
            *(_FIELDS * 3 if draft.fields else ()),
            *(_FILES if draft.files else ()),
            *((_tree,) * 8 if draft.tree is not ... else ()),
        ]
        dice.choice(spoilers)(draft, ground, dice)
    return draft


def _value(value: object, dice: Random) -> str | bytes:
    told = value.decode("latin-1") if isinstance(value, bytes) else str(value)
    return nasty.near(told, dice) if dice.random() < 0.3 else nasty.text(dice)


def _spoil_field(draft: Draft, _: Ground, dice: Random) -> None:
    place = dice.randrange(len(draft.fields))
    name, value = draft.fields[place]
    draft.fields[place] = (name, _value(value, dice))


def _drop_field(draft: Draft, _: Ground, dice: Random) -> None:
    draft.fields.pop(dice.randrange(len(draft.fields)))


def _double_field(draft: Draft, _: Ground, dice: Random) -> None:
    name, value = dice.choice(draft.fields)
    again = _value(value, dice) if dice.random() < 0.7 else value
    draft.fields += [(name, again)] * (dice.choice((1, 1, 1, 2, 3000)) if len(again) < 100 else 1)


def _swap_fields(draft: Draft, _: Ground, dice: Random) -> None:
    one, other = dice.randrange(len(draft.fields)), dice.randrange(len(draft.fields))
    (first, value), (second, another) = draft.fields[one], draft.fields[other]
    draft.fields[one], draft.fields[other] = (first, another), (second, value)


def _rename_field(draft: Draft, ground: Ground, dice: Random) -> None:
    place = dice.randrange(len(draft.fields))
    name, value = draft.fields[place]
    told = as_bytes(name).decode("latin-1")
    draft.fields[place] = (
        dice.choice((f"{told}[]", f"{told}.0", told.upper(), nasty.text(dice), dice.choice(ground.names or ("a",)))),
        value,
    )


def _add_field(draft: Draft, ground: Ground, dice: Random) -> None:
    draft.fields.append((dice.choice(ground.names or ("a",)), _value("1", dice)))


def _spoil_path(draft: Draft, ground: Ground, dice: Random) -> None:
    parts = draft.path.split("/")
    places = [place for place, part in enumerate(parts) if part and (part.isdigit() or "-" in part or ":" in part or dice.random() < 0.2)]
    other = dice.choice([str(value) for value in ground.values.values()]) if dice.random() < 0.3 else dice.choice(nasty.IDS)
    quoted = other if "%" in other else quote_from_bytes(as_bytes(other), safe="/~:@!$&'()*+,;=-._")
    if places:
        parts[dice.choice(places)] = quoted
    draft.path = "/".join(parts) or "/"


def _ask(draft: Draft, ground: Ground, dice: Random) -> None:
    known = sorted({name for pairs in ground.asked.values() for name, _ in pairs} | {"next", "page", "form", "pair"})
    own = [name for name, _ in draft.asked]
    name = dice.choice(own) if own and dice.random() < 0.7 else dice.choice(known)
    draft.asked = [one for one in draft.asked if one[0] != name or dice.random() < 0.2] + [(name, _value("1", dice))]


def _method(draft: Draft, _: Ground, dice: Random) -> None:
    draft.method = dice.choice(METHODS)


def _header(draft: Draft, _: Ground, dice: Random) -> None:
    name, values = dice.choice(nasty.HEADERS)
    draft.headers[name] = dice.choice(values)


def _kind(draft: Draft, _: Ground, dice: Random) -> None:
    draft.kind = dice.choice(nasty.TYPES)


def _break_off(draft: Draft, _: Ground, dice: Random) -> None:
    draft.broken_at = dice.random()


def _cookie(draft: Draft, ground: Ground, dice: Random) -> None:
    name = dice.choice(list(ground.cookies["learner"]))
    value = ground.cookies[dice.choice(list(ground.cookies))].get(name, "")
    at = dice.randint(0, len(value))
    draft.cookies[name] = dice.choice((value, value[:at] + "x" + value[at + 1 :], value[:at], "", "\xff", '"\\', "x" * 5000))


def _who(draft: Draft, _: Ground, dice: Random) -> None:
    draft.who = dice.choice(list(PEOPLE))


def _raw(draft: Draft, _: Ground, dice: Random) -> None:
    draft.raw = dice.choice(
        (
            b"",
            b"{",
            b"[" * 100_000,
            b"\xff\xfe",
            b"a=%",
            b"&" * 5000,
            b"null",
            b'{"answers": NaN}',
            dice.randbytes(60),
            b"--" + b"x" * 70_000,
        )
    )


def _make_tree(draft: Draft, _: Ground, dice: Random) -> None:
    draft.tree = nasty.tree(dice)


def _tree(draft: Draft, _: Ground, dice: Random) -> None:
    draft.tree = nasty.within(draft.tree, dice)


def _spoil_file(draft: Draft, ground: Ground, dice: Random) -> None:
    place = dice.randrange(len(draft.files))
    name, file, kind, content = draft.files[place]
    at = dice.randint(0, len(content))
    others: tuple[bytes, ...] = (
        b"",
        content[:at],
        content[:at] + dice.randbytes(3) + content[at + 3 :],
        *ground.files.values(),
        dice.randbytes(99),
    )
    names: tuple[str | bytes, ...] = (file, "", nasty.text(dice), "../../x", "a.jpg.exe")
    draft.files[place] = (name, dice.choice(names), dice.choice((kind, kind, *nasty.TYPES)), dice.choice(others))


def _more_files(draft: Draft, _: Ground, dice: Random) -> None:
    draft.files *= dice.choice((2, 13))


def _file_as_field(draft: Draft, _: Ground, dice: Random) -> None:
    name, _, _, content = draft.files.pop()
    draft.fields.append((name, content[:500]))


_ANYWHERE: Final = (
    _spoil_path,
    _spoil_path,
    _ask,
    _ask,
    _add_field,
    _method,
    _header,
    _header,
    _kind,
    _break_off,
    _cookie,
    _who,
    _raw,
    _make_tree,
)
_FIELDS: Final = (_spoil_field, _spoil_field, _spoil_field, _spoil_field, _drop_field, _double_field, _swap_fields, _rename_field)
_FILES: Final = (_spoil_file, _spoil_file, _spoil_file, _more_files, _file_as_field)
