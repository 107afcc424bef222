"""The two ceremonies of passkeys (W3C, Web Authentication, level 2): what a browser is asked for, and whether what it says is true.

The library `webauthn` does the reading and the signatures; it is an extra of ours, called "passkeys", and this is its one door.
"""

from __future__ import annotations

import json
from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Iterable
from dataclasses import dataclass
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any, Final

from drillhall.errors import Invalid
from drillhall.words import say

if TYPE_CHECKING:
    from webauthn.helpers.structs import PublicKeyCredentialDescriptor

WAIT_MS: Final = 120_000
"""How long a browser lets its owner find her device."""

LONGEST_ID: Final = 1023
"""Bytes of a credential's id (level 2, section 4)."""

FORMATS: Final = frozenset({"none", "packed"})
"""No attestation is asked for, so a browser sends none, or what a device says of itself."""

NOT_MADE: Final = say("That passkey was not made as the hall asked for it. Try again; if it stays, another browser or device may do.")
NOT_IT: Final = say("That passkey does not open this, or was asked for too long ago. Try again, or type a code.")


@dataclass(frozen=True, slots=True)
class Site:
    """Where passkeys are made for and shown: the host by which they are bound (the standard's RP id), and the address of its pages."""

    host: str
    origin: str


@dataclass(frozen=True, slots=True)
class Known:
    """A passkey as a browser is told of it: its id in base64url, and how it may be reached."""

    credential_id: str
    transports: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Made:
    """A new passkey: what is kept of it, ids and keys in base64url."""

    credential_id: str
    public_key: str
    sign_count: int
    transports: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Named:
    """Which passkey somebody says to show, and whose (`user_handle`, empty where the device does not say); not proven yet."""

    credential_id: str
    user_handle: str


def is_installed() -> bool:
    """Whether the extra is here; without it the hall says nothing of passkeys."""
    return find_spec("webauthn") is not None


def ask_to_make(site: Site, *, challenge: str, user_handle: str, name: str, known: Iterable[Known]) -> dict[str, Any]:
    """Return what a browser is asked so that it makes a passkey: one that names its owner and asks her who she is, and none of `known`."""
    import webauthn
    from webauthn.helpers import options_to_json_dict, structs

    wanted = structs.AuthenticatorSelectionCriteria(
        resident_key=structs.ResidentKeyRequirement.REQUIRED, user_verification=structs.UserVerificationRequirement.REQUIRED
    )
    options = webauthn.generate_registration_options(
        rp_id=site.host,
        rp_name="Drillhall",
        user_id=_bytes(user_handle),
        user_name=name,
        challenge=_bytes(challenge),
        timeout=WAIT_MS,
        attestation=structs.AttestationConveyancePreference.NONE,
        authenticator_selection=wanted,
        exclude_credentials=[_described(one) for one in known],
    )
    return options_to_json_dict(options)


def ask_to_show(site: Site, *, challenge: str, known: Iterable[Known]) -> dict[str, Any]:
    """Return what a browser is asked so that a passkey is shown: one of `known`, or whichever names its owner where none is."""
    import webauthn
    from webauthn.helpers import options_to_json_dict, structs

    options = webauthn.generate_authentication_options(
        rp_id=site.host,
        challenge=_bytes(challenge),
        timeout=WAIT_MS,
        allow_credentials=[_described(one) for one in known],
        user_verification=structs.UserVerificationRequirement.REQUIRED,
    )
    return options_to_json_dict(options)


def check_made(site: Site, said: str, *, challenge: str) -> Made:
    """Return the passkey that a browser says it has made, or raise Invalid: level 2, section 7.1."""
    import webauthn
    from webauthn.helpers import decode_credential_public_key, decoded_public_key_to_cryptography, parse_attestation_object
    from webauthn.helpers import parse_registration_credential_json as read

    try:
        told = read(said)
        _check_not_framed(told.response.client_data_json)
        if parse_attestation_object(told.response.attestation_object).fmt not in FORMATS:
            raise ValueError("a format that was not asked for")
        made = webauthn.verify_registration_response(
            credential=told,
            expected_challenge=_bytes(challenge),
            expected_rp_id=site.host,
            expected_origin=site.origin,
            require_user_verification=True,
        )
        if len(made.credential_id) > LONGEST_ID:
            raise ValueError("an id longer than the standard has")
        decoded_public_key_to_cryptography(decode_credential_public_key(made.credential_public_key))
    except _wrong() as error:
        raise Invalid(NOT_MADE) from error
    reached_by = tuple(one.value for one in told.response.transports or ())
    return Made(_text(made.credential_id), _text(made.credential_public_key), made.sign_count, reached_by)


def read_named(said: str) -> Named:
    """Return which passkey a browser says is shown, or raise Invalid."""
    from webauthn.helpers import parse_authentication_credential_json as read

    try:
        told = read(said)
    except _wrong() as error:
        raise Invalid(NOT_IT) from error
    return Named(_text(told.raw_id), _text(told.response.user_handle or b""))


def check_shown(site: Site, said: str, *, challenge: str, public_key: str) -> int:
    """Return what the device of a passkey has counted, or raise Invalid where it is not shown as was asked: level 2, section 7.2.

    Whether it has counted on is for whoever knows its last count to ask, once it is known that the passkey is hers.
    """
    import webauthn
    from webauthn.helpers import parse_authentication_credential_json as read

    try:
        told = read(said)
        _check_not_framed(told.response.client_data_json)
        shown = webauthn.verify_authentication_response(
            credential=told,
            expected_challenge=_bytes(challenge),
            expected_rp_id=site.host,
            expected_origin=site.origin,
            credential_public_key=_bytes(public_key),
            credential_current_sign_count=0,
            require_user_verification=True,
        )
    except _wrong() as error:
        raise Invalid(NOT_IT) from error
    return shown.new_sign_count


def _check_not_framed(client_data: bytes) -> None:
    if json.loads(client_data).get("crossOrigin"):
        raise ValueError("within a page from elsewhere")


def _described(known: Known) -> PublicKeyCredentialDescriptor:
    from webauthn.helpers.structs import AuthenticatorTransport, PublicKeyCredentialDescriptor

    reached_by = [AuthenticatorTransport(one) for one in known.transports]
    return PublicKeyCredentialDescriptor(id=_bytes(known.credential_id), transports=reached_by or None)


def _wrong() -> tuple[type[Exception], ...]:
    """What the library raises where it cannot read what a stranger sent: errors of its own, and those of Python and its parts."""
    from cryptography.exceptions import UnsupportedAlgorithm
    from webauthn.helpers.exceptions import WebAuthnException

    python = (ValueError, TypeError, LookupError, AttributeError, ArithmeticError, RecursionError)
    return (WebAuthnException, UnsupportedAlgorithm, *python)


def _bytes(text: str) -> bytes:
    return urlsafe_b64decode(text + "=" * (-len(text) % 4))


def _text(value: bytes) -> str:
    return urlsafe_b64encode(value).rstrip(b"=").decode()
