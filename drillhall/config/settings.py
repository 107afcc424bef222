"""Turns options and environment into one frozen Settings, and finds the folders that travel with the program."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

from drillhall.config import addresses
from drillhall.config.addresses import BucketSettings, MailSettings, is_loopback
from drillhall.config.secret_file import read_secret
from drillhall.errors import Invalid
from drillhall.words import say
from drillhall.words.speaking import OFFERED, known_language

DEFAULT_PORT = 8410
PORTS_TRIED = 20
"""How many ports from the default on are tried when nobody has named one."""

_PACKAGE = Path(__file__).resolve().parents[1]


@dataclass(frozen=True, slots=True)
class Settings:
    """Where a hall keeps its things and who may reach it.

    `port` is None where nobody has named one; `public_url` is without a final slash, or empty; `trusted_proxy` is the
    address of the one machine whose forwarded headers are believed, or empty; `language` is what the hall speaks to
    whoever asks for none that it knows; `secret` is what `secret_file` holds, empty where the secret lies in the database.
    """

    data_folder: Path
    database_url: str
    listen: str = "127.0.0.1"
    port: int | None = None
    public_url: str = ""
    trusted_proxy: str = ""
    demo: bool = False
    mail: MailSettings | None = None
    metrics_token: str = field(default="", repr=False)
    language: str = "en"
    bucket: BucketSettings | None = None
    secret: str = field(default="", repr=False)
    secret_file: Path | None = None

    @property
    def why_no_mail(self) -> str:
        """Why the hall sends no mail, in a sentence for a page, or empty where it does."""
        if self.mail is None:
            return say("This hall sends no mail: its keeper has named no mail server.")
        if not self.public_url:
            return say(
                "This hall sends no mail: its keeper has not said by which address people reach it, so its letters could lead nowhere."
            )
        return ""

    @property
    def pictures_folder(self) -> Path:
        """Where the bytes of pictures lie, unless they lie in a bucket."""
        return self.data_folder / "pictures"

    @property
    def uploads_folder(self) -> Path:
        """Where zips of catalogues wait, a day at most, until they are imported."""
        return self.data_folder / "uploads"

    @property
    def log_file(self) -> Path:
        """Where faults are written down for the keeper."""
        return self.data_folder / "faults.log"

    @property
    def requests_file(self) -> Path:
        """Where a line is written for each request."""
        return self.data_folder / "requests.log"

    @property
    def refusals_file(self) -> Path:
        """Where a line is written for what somebody was refused."""
        return self.data_folder / "refusals.log"

    @property
    def is_https(self) -> bool:
        """Whether people reach the hall by https."""
        return self.public_url.startswith("https://")

    @property
    def is_local(self) -> bool:
        """Whether this machine alone can reach the hall's port."""
        return is_loopback(self.listen)

    @property
    def hosts(self) -> tuple[str, ...]:
        """The host names by which the hall may be asked for."""
        names = ["localhost", "127.0.0.1", "[::1]"]
        if not self.is_local and self.listen not in {"0.0.0.0", "::"}:  # noqa: S104 - compared, not bound
            names.append(f"[{self.listen}]" if ":" in self.listen else self.listen)
        host = urlsplit(self.public_url).hostname
        if host:
            names.append(f"[{host}]" if ":" in host else host)
        return tuple(dict.fromkeys(names))


def read_settings(
    env: Mapping[str, str] | None = None,
    *,
    data: str | Path | None = None,
    listen: str | None = None,
    port: int | None = None,
    demo: bool = False,
) -> Settings:
    """Return the settings of a hall; what is given as an option wins over the environment.

    Raises Invalid, naming the variable or option, when a value cannot be meant.
    """
    env = os.environ if env is None else env
    folder = Path(data or env.get("DRILLHALL_DATA") or default_data_folder(env, demo=demo)).expanduser().absolute()
    public_url = addresses.public_url(env.get("DRILLHALL_PUBLIC_URL", ""))
    here = listen or env.get("DRILLHALL_LISTEN") or "127.0.0.1"
    if demo and not (is_loopback(here) and not public_url):
        raise Invalid(
            say("The demo hall lets anybody step in, so it listens on this machine alone. Leave out --listen and the public address.")
        )
    if here in {"0.0.0.0", "::"} and not public_url:  # noqa: S104 - compared, not bound
        raise Invalid(
            say("Say by which address others reach the hall: set DRILLHALL_PUBLIC_URL, for example to http://192.0.2.7:8410."),
            field="listen",
        )
    secret_file = _path(env.get("DRILLHALL_SECRET_FILE", "")) if not demo else None
    return Settings(
        data_folder=folder,
        database_url=_database_url(env.get("DRILLHALL_DATABASE_URL", "") if not demo else "", folder),
        listen=here,
        port=port if port is not None else _port(env.get("DRILLHALL_PORT", "")),
        public_url=public_url,
        trusted_proxy=addresses.proxy_address(env.get("DRILLHALL_TRUSTED_PROXY", "")),
        demo=demo,
        mail=addresses.mail(env.get("DRILLHALL_SMTP", ""), env.get("DRILLHALL_MAIL_FROM", "")) if not demo else None,
        metrics_token=_token(env.get("DRILLHALL_METRICS_TOKEN", "")),
        language=_language(env.get("DRILLHALL_LANGUAGE", "")),
        bucket=addresses.bucket(env) if not demo else None,
        secret=read_secret(secret_file) if secret_file else "",
        secret_file=secret_file,
    )


def default_data_folder(env: Mapping[str, str], *, demo: bool = False, platform: str = sys.platform) -> Path:
    """Return where a hall lives when nobody has said: the system's own place for a person's program data."""
    name = "drillhall-demo" if demo else "drillhall"
    home = Path(env.get("HOME") or Path.home())
    if platform == "win32":
        return Path(env.get("LOCALAPPDATA") or home / "AppData" / "Local") / name
    if platform == "darwin":
        return home / "Library" / "Application Support" / name
    given = env.get("XDG_DATA_HOME", "")
    # The XDG Base Directory Specification says that a path which is not absolute must be ignored.
    return (Path(given) if given.startswith("/") else home / ".local" / "share") / name


def asset_folder(name: str) -> Path:
    """Return the folder `templates`, `static` or `demo_cards`: inside the package in a wheel, beside it in a checkout."""
    inside = _PACKAGE / name
    return inside if inside.is_dir() else _PACKAGE.parent / name


def _database_url(given: str, folder: Path) -> str:
    if not given:
        return f"sqlite:///{folder / 'hall.sqlite'}"
    kind, _, rest = given.partition("://")
    if kind in {"postgres", "postgresql", "postgresql+psycopg"} and rest:
        return f"postgresql+psycopg://{rest}"
    if kind == "sqlite" and rest:
        return given
    # The address may hold a password, so it is not repeated here.
    raise Invalid(
        say("DRILLHALL_DATABASE_URL must begin with postgresql:// or sqlite:///. Mend it or leave it out."), field="DRILLHALL_DATABASE_URL"
    )


def _path(given: str) -> Path | None:
    return Path(given).expanduser().absolute() if given else None


def _port(given: str) -> int | None:
    if not given:
        return None
    if not given.isascii() or not given.isdigit() or len(given) > 5 or not 1 <= int(given) <= 65535:
        raise Invalid(say("DRILLHALL_PORT must be a number from 1 to 65535. Mend it or leave it out."), field="DRILLHALL_PORT")
    return int(given)


def _token(given: str) -> str:
    if given and (len(given) < 16 or not given.isascii() or " " in given):
        raise Invalid(
            say("DRILLHALL_METRICS_TOKEN must be at least 16 letters, digits and signs without a space. Mend it or leave it out."),
            field="DRILLHALL_METRICS_TOKEN",
        )
    return given


def _language(given: str) -> str:
    language = known_language(given or "en")
    if not language:
        raise Invalid(
            say("DRILLHALL_LANGUAGE must be one of {languages}. Mend it or leave it out.", languages=", ".join(OFFERED)),
            field="DRILLHALL_LANGUAGE",
        )
    return language
