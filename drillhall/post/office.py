"""How a hall sends its mail: by which server, from whom, and where the links in it lead."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Final

from drillhall.post.sealing import seal
from drillhall.post.sending import MailServer

LINKS: Final = "/mail"
"""Where the links in letters lead; the purpose and its seal follow."""


@dataclass(frozen=True, slots=True)
class Office:
    """The mail server, the sender, the hall's public address without a final slash, and the secret that seals links.

    `language` is the hall's own, for whoever has chosen none or has no account.
    """

    server: MailServer
    sender: str
    public_url: str
    key: str = field(repr=False)
    language: str = "en"

    def link(self, purpose: str, public_id: str, *, until: datetime | None = None) -> str:
        """Return the address of a sealed link for one purpose and thing, good until a time where the purpose has one."""
        return f"{self.public_url}{LINKS}/{purpose.replace(' ', '-')}/{seal(self.key, purpose, public_id, until=until)}"
