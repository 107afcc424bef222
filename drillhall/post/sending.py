"""Hands a letter to a mail server, which may be slow, refuse, hang or go away in the middle."""

from __future__ import annotations

import re
import smtplib
import socket
import ssl
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from email.message import EmailMessage
from threading import Timer
from typing import Final

STEP_SECONDS: Final = 20.0
"""How long is waited for each answer of the server."""
LONGEST_SECONDS: Final = 120.0
"""How long a letter may take in all; a server that dribbles is cut off then."""

_ENHANCED: Final = re.compile(rb"5\.(\d{1,3})\.(\d{1,3})\b")


@dataclass(frozen=True, slots=True)
class MailServer:
    """Where mail is handed in. `security` is "tls" from the first byte, "starttls", or "none", which is for this machine alone."""

    host: str
    port: int
    security: str
    user: str = ""
    password: str = field(default="", repr=False)
    step_seconds: float = STEP_SECONDS
    longest_seconds: float = LONGEST_SECONDS


class NotSent(Exception):
    """A letter was not taken; `for_good` says that trying again is no use, `no_such_address` that no letter will ever get there.

    The words hold no address and nothing the server wrote.
    """

    def __init__(self, words: str, *, for_good: bool = False, no_such_address: bool = False) -> None:
        super().__init__(words)
        self.for_good = for_good
        self.no_such_address = no_such_address


def send(server: MailServer, message: EmailMessage, once_taken: Callable[[], object]) -> None:
    """Hand one letter in, or raise NotSent; what the server has taken with a last 250 is sent, all else is not.

    `once_taken` is called right after that, before goodbye is said, which may take the server long: whoever writes down that the
    letter went does so there.

    Source: RFC 5321 section 4.2.1: 4yz says try again, 5yz says never again. A 5yz that concerns us rather than the letter (no
    access, sender refused) is tried again, since the keeper can mend it.
    """
    with _told(), _open(server) as smtp:
        smtp.send_message(message)
        once_taken()


def reach(server: MailServer) -> None:
    """Call the mail server and sign in, as a letter would, and hang up; raise NotSent where it would not get that far."""
    with _told(), _open(server) as smtp:
        smtp.noop()


@contextmanager
def _told() -> Iterator[None]:
    try:
        yield
    except smtplib.SMTPRecipientsRefused as refused:
        codes = [code for code, _ in refused.recipients.values()]
        gone = all(is_no_address(code, text) for code, text in refused.recipients.values())
        raise NotSent(_refused(max(codes)), for_good=min(codes) >= 500, no_such_address=gone) from None
    except smtplib.SMTPDataError as refused:
        raise NotSent(_refused(refused.smtp_code), for_good=refused.smtp_code >= 500) from None
    except smtplib.SMTPAuthenticationError as refused:
        raise NotSent(f"the mail server did not accept the name and password ({refused.smtp_code})") from None
    except smtplib.SMTPResponseException as refused:
        raise NotSent(_refused(refused.smtp_code)) from None
    except smtplib.SMTPNotSupportedError:
        raise NotSent("the mail server lacks something that is needed: STARTTLS, signing in, or addresses beyond ASCII") from None
    except TimeoutError:
        raise NotSent("the mail server did not answer in time") from None
    except ssl.SSLError:
        raise NotSent("the mail server's certificate does not hold") from None
    except (smtplib.SMTPException, OSError) as error:
        if isinstance(error.__context__, TimeoutError):  # the library takes a server that is silent for one that is gone
            raise NotSent("the mail server did not answer in time") from None
        raise NotSent(f"the mail server cannot be reached, or went away ({type(error).__name__})") from None


class _Plain(smtplib.SMTP):
    """A line to a server that is not opened before a watch can be set on it."""

    def __init__(self, server: MailServer) -> None:
        super().__init__(timeout=server.step_seconds)
        self._host = server.host  # the name that its certificate must bear


class _Tls(smtplib.SMTP_SSL):
    """The same, encrypted from the first byte."""

    def __init__(self, server: MailServer) -> None:
        super().__init__(timeout=server.step_seconds, context=ssl.create_default_context())
        self._host = server.host


@contextmanager
def _open(server: MailServer) -> Iterator[smtplib.SMTP]:
    late: list[bool] = []
    smtp = _Tls(server) if server.security == "tls" else _Plain(server)
    timer = Timer(server.longest_seconds, _cut, (smtp, late))
    timer.daemon = True
    timer.start()
    try:
        smtp.connect(server.host, server.port)
        if server.security == "starttls":
            smtp.starttls(context=ssl.create_default_context())
        if server.user:
            smtp.login(server.user, server.password)
        yield smtp
    except (smtplib.SMTPException, OSError):
        if late:
            raise TimeoutError from None
        raise
    finally:
        timer.cancel()
        _leave(smtp)


def _cut(smtp: smtplib.SMTP, late: list[bool]) -> None:
    late.append(True)
    if smtp.sock is not None:
        try:
            smtp.sock.shutdown(socket.SHUT_RDWR)
        except OSError:  # it has gone by itself
            return


def _leave(smtp: smtplib.SMTP) -> None:
    """Say goodbye; a letter that was taken stays taken even where the server has no patience for that."""
    try:
        smtp.quit()
    except (smtplib.SMTPException, OSError):
        smtp.close()


def is_no_address(code: int, text: bytes) -> bool:
    """Whether what a server answered to the name of a recipient says that there is none such, now or later.

    Source: RFC 3463 sections 3.2 and 3.3 and RFC 7505 section 4.2 where the answer begins with an enhanced code: 5.1.0 to 5.1.6 and
    5.1.10, bad address, and 5.2.1, disabled; neither 5.2.2, full, nor 5.7.z, not from us. Without one, RFC 5321 section 4.2.3.
    """
    found = _ENHANCED.match(text)
    if found:
        subject, detail = int(found[1]), int(found[2])
        return (subject == 1 and (detail <= 6 or detail == 10)) or (subject, detail) == (2, 1)
    return code in (550, 551, 553)


def _refused(code: int) -> str:
    return f"the mail server refused it ({code})"
