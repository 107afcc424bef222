"""A device that makes and shows passkeys, written from the standard (W3C, Web Authentication, level 2, sections 6 and 7).

The bytes are put together by fido2, which is not what the hall reads them with; each part can be bent, as a liar or a fault would.
"""

from __future__ import annotations

import json
import secrets
from base64 import urlsafe_b64decode, urlsafe_b64encode
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any

from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from fido2.cose import ES256
from fido2.webauthn import AttestationObject, AttestedCredentialData, AuthenticatorData, CollectedClientData

UP, UV, AT = 0x01, 0x04, 0x40
"""Somebody is present; the device knows who; a new key goes along (level 2, section 6.1)."""


@dataclass
class Key:
    """One passkey on the device, with the half that never leaves it."""

    host: str
    handle: bytes
    private: ec.EllipticCurvePrivateKey
    id: bytes = field(default_factory=lambda: secrets.token_bytes(32))
    count: int = 0


@dataclass
class Authenticator:
    """A device: the address at which its browser is, whether it counts, and its passkeys."""

    origin: str = "http://localhost"
    step: int = 1
    keys: list[Key] = field(default_factory=list)

    def make(self, options: dict[str, Any], *, flags: int = UP | UV | AT, **bent: Any) -> str:
        """Make a passkey as was asked and return what the browser says."""
        key = Key(options["rp"]["id"], _bytes(options["user"]["id"]), ec.generate_private_key(ec.SECP256R1()))
        self.keys.append(key)
        public = ES256.from_cryptography_key(key.private.public_key())
        made = AttestedCredentialData.create(b"\0" * 16, key.id, public)
        told = self._authenticator_data(key, flags, made, bent)
        attestation = AttestationObject.create(bent.get("format", "none"), told, {})
        client = self._client_data("webauthn.create", options, bent)
        return _said(key, {"clientDataJSON": client, "attestationObject": attestation}, transports=["internal"])

    def show(self, options: dict[str, Any], *, key: Key | None = None, flags: int = UP | UV, **bent: Any) -> str:
        """Show a passkey (the last one made, if none is named) and return what the browser says."""
        key = key or self.keys[-1]
        key.count += self.step
        told = self._authenticator_data(key, flags, b"", bent)
        client = self._client_data("webauthn.get", options, bent)
        signature = key.private.sign(bytes(told) + sha256(client).digest(), ec.ECDSA(hashes.SHA256()))
        handle = {"userHandle": bent.get("handle", key.handle)} if bent.get("handle", key.handle) else {}
        return _said(key, {"clientDataJSON": client, "authenticatorData": told, "signature": signature} | handle)

    def _authenticator_data(self, key: Key, flags: int, made: bytes, bent: dict[str, Any]) -> AuthenticatorData:
        host = sha256(bent.get("host", key.host).encode()).digest()
        return AuthenticatorData.create(host, AuthenticatorData.FLAG(flags), bent.get("count", key.count), made)

    def _client_data(self, kind: str, options: dict[str, Any], bent: dict[str, Any]) -> bytes:
        challenge, origin = bent.get("challenge", options["challenge"]), bent.get("origin", self.origin)
        return bytes(CollectedClientData.create(bent.get("kind", kind), challenge, origin, cross_origin=bent.get("framed", False)))


def _said(key: Key, parts: dict[str, bytes], **more: Any) -> str:
    response = {name: _text(bytes(value)) for name, value in parts.items()}
    return json.dumps({"id": _text(key.id), "rawId": _text(key.id), "type": "public-key", "response": response | more})


def _bytes(text: str) -> bytes:
    return urlsafe_b64decode(text + "=" * (-len(text) % 4))


def _text(value: bytes) -> str:
    return urlsafe_b64encode(value).rstrip(b"=").decode()
