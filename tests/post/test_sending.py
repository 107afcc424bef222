"""Handing letters to real mail servers: taken whole, refused, hung, dribbled, cut off in the middle."""

from __future__ import annotations

import socket
import time
from dataclasses import replace
from datetime import UTC, datetime
from email.message import EmailMessage

import pytest

from drillhall.post.mail import Block, Enclosed, Written, write_html, write_message, write_text
from drillhall.post.sending import MailServer, NotSent, is_no_address, send
from tests.post.postbox import answering, taking

AT = datetime(2031, 3, 3, 9, tzinfo=UTC)
BLOCKS = [
    Block("Two birds <on> mud & water. " * 8),
    Block("Look:", "https://hall.example/" + "x" * 90),
    Block("A bird", "https://h.example", is_picture=True),
]
LETTER = Written(
    "Sluice Wächter <hall@hall.example>",
    "oda@club.example",
    "Sandpipers: späte?",
    write_text(BLOCKS),
    write_html(BLOCKS, title="T <b>"),
    "<1@hall.example>",
    "https://hall.example/mail/stop/x",
    Enclosed(b"\x89picture", "image/webp"),
)


def nothing() -> None:
    """What is done once a letter is taken, where nothing is."""


def message() -> EmailMessage:
    return write_message(LETTER, at=AT)


def test_a_real_server_gets_both_parts_and_the_picture_and_nothing_is_to_be_fetched() -> None:
    with taking() as (box, server):
        send(server, message(), nothing)
    (letter,) = box.letters
    assert box.to == [["oda@club.example"]]
    assert letter["From"] == "Sluice Wächter <hall@hall.example>"
    assert letter["Subject"] == "Sandpipers: späte?"
    assert letter.get_content_type() == "multipart/alternative"
    plain, related = letter.iter_parts()
    assert plain.get_content().splitlines() == LETTER.text.splitlines()
    assert "\nhttps://hall.example/" + "x" * 90 + "\n" in LETTER.text, "an address is never broken"
    page, picture = related.iter_parts()
    html = page.get_content()
    assert "&lt;on&gt; mud &amp; water" in html
    assert 'src="cid:picture"' in html
    assert html.count("src=") == 1
    assert not any(word in html for word in ("<script", "<link", "<style", "url(", "<iframe"))
    assert (picture["Content-ID"], picture.get_content()) == ("<picture>", b"\x89picture")


def test_the_headers_are_those_that_the_rfcs_ask_for() -> None:
    """RFC 8058 section 3.1 (both), RFC 3834 section 5 (Auto-Submitted), RFC 5322 section 3.6 (Date, Message-ID); from memory."""
    sent = message()
    assert sent["List-Unsubscribe"] == "<https://hall.example/mail/stop/x>"
    assert sent["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert sent["Auto-Submitted"] == "auto-generated"
    assert sent["Date"] == "Mon, 03 Mar 2031 09:00:00 +0000"
    assert sent["Message-ID"] == "<1@hall.example>"
    assert all(len(line) <= 998 for line in sent.as_bytes().split(b"\r\n"))


def test_without_https_no_one_click_is_promised() -> None:
    plain = write_message(replace(LETTER, unsubscribe="http://192.0.2.7:8410/mail/stop/x"), at=AT)
    assert plain["List-Unsubscribe"] == "<http://192.0.2.7:8410/mail/stop/x>"
    assert "List-Unsubscribe-Post" not in plain


def test_a_title_with_a_line_end_adds_no_header() -> None:
    sent = write_message(replace(LETTER, subject="Birds\r\nBcc: all@club.example"), at=AT)
    assert sent["Subject"] == "Birds Bcc: all@club.example"
    assert "Bcc" not in sent


@pytest.mark.parametrize(
    ("at", "reply", "for_good"),
    [("rcpt", "550 no such box", True), ("rcpt", "450 later", False), ("data", "554 no", True), ("data", "451 later", False)],
)
def test_a_refusal_says_whether_to_try_again(at: str, reply: str, for_good: bool) -> None:
    with taking() as (box, server):
        (box.rcpt_replies if at == "rcpt" else box.data_replies).append(reply)
        with pytest.raises(NotSent, match=reply[:3]) as failed:
            send(server, message(), nothing)
    assert failed.value.for_good is for_good
    assert "oda" not in str(failed.value)
    assert reply[4:] not in str(failed.value)


@pytest.mark.parametrize(
    ("reply", "gone"),
    [
        # RFC 3463 sections 3.2 and 3.3, RFC 7505 section 4.2
        ("550 5.1.1 no such box", True),
        ("551 5.1.6 moved", True),
        ("556 5.1.10 takes no mail", True),
        ("550 5.2.1 disabled", True),
        ("550 5.1.8 bad sender", False),
        ("552 5.2.2 full", False),
        ("550 5.7.1 not from you", False),
        # RFC 5321 section 4.2.3, without an enhanced code
        ("553 no such name", True),
        ("552 too full", False),
        ("554 no", False),
        ("450 4.1.1 later", False),
    ],
)
def test_which_refusal_says_that_there_is_no_such_address(reply: str, gone: bool) -> None:
    code, text = reply.split(" ", 1)
    assert is_no_address(int(code), text.encode()) is gone
    if gone or code == "552":
        with taking() as (box, server):
            box.rcpt_replies.append(reply)
            with pytest.raises(NotSent) as failed:
                send(server, message(), nothing)
        assert (failed.value.no_such_address, failed.value.for_good) == (gone, True)


def test_that_it_went_is_written_down_before_goodbye_is_said() -> None:
    talked: list[str] = []

    def talk(line: socket.socket) -> None:
        lines = line.makefile("rwb")

        def say(words: bytes) -> None:
            lines.write(words + b"\r\n")
            lines.flush()

        say(b"220 here")
        while words := lines.readline().decode().strip():
            talked.append(words[:4].upper())
            if words.upper() == "DATA":
                say(b"354 go on")
                while lines.readline() != b".\r\n":
                    pass
            say(b"250 OK")

    with answering(talk, step_seconds=2.0) as server:
        send(server, message(), lambda: talked.append("noted"))
    assert talked[-2:] == ["noted", "QUIT"]


def test_a_server_that_hangs_costs_no_more_than_it_may() -> None:
    begun = time.monotonic()
    with answering(lambda line: line.recv(1) and time.sleep(9), step_seconds=0.3) as server, pytest.raises(NotSent, match="in time"):
        send(server, message(), nothing)
    assert time.monotonic() - begun < 3


def test_a_server_that_dribbles_is_cut_off_in_the_end() -> None:
    def dribble(line: socket.socket) -> None:
        for _ in range(100):
            line.sendall(b"2")
            time.sleep(0.05)

    begun = time.monotonic()
    with answering(dribble, step_seconds=1, longest_seconds=0.5) as server, pytest.raises(NotSent, match="in time"):
        send(server, message(), nothing)
    assert time.monotonic() - begun < 3


def test_a_server_that_goes_away_in_the_middle_is_tried_again() -> None:
    def hang_up(line: socket.socket) -> None:
        line.sendall(b"220 here\r\n")
        for reply in (b"250 hello\r\n", b"250 from\r\n", b"250 to\r\n", b"354 go on\r\n"):
            line.recv(1000)
            line.sendall(reply)
        line.recv(100)
        line.close()

    with answering(hang_up) as server, pytest.raises(NotSent, match="went away") as failed:
        send(server, message(), nothing)
    assert not failed.value.for_good


def test_one_that_takes_a_letter_and_has_no_goodbye_has_taken_it() -> None:
    def abrupt(line: socket.socket) -> None:
        line.sendall(b"220 here\r\n")
        for reply in (b"250 hello\r\n", b"250 from\r\n", b"250 to\r\n", b"354 go on\r\n"):
            line.recv(1000)
            line.sendall(reply)
        got = b""
        while not got.endswith(b"\r\n.\r\n"):
            got += line.recv(10_000)
        line.sendall(b"250 taken\r\n")
        line.close()

    with answering(abrupt) as server:
        send(server, message(), nothing)


def test_nobody_there_is_told_without_words_of_the_system() -> None:
    with socket.create_server(("127.0.0.1", 0)) as plug:
        port = plug.getsockname()[1]
    with pytest.raises(NotSent, match="cannot be reached"):
        send(MailServer("127.0.0.1", port, "none"), message(), nothing)


def test_a_server_that_offers_no_encryption_is_not_given_a_password() -> None:
    with taking() as (box, server), pytest.raises(NotSent, match="lacks"):
        send(replace(server, security="starttls", user="hall", password="hush"), message(), nothing)
    assert box.raw == []
    assert "hush" not in repr(replace(server, password="hush"))
