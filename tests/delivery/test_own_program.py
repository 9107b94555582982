"""A letter for the person's own mail program: its files beside it, nothing written over, nothing cut."""

from __future__ import annotations

from urllib.parse import parse_qs, unquote, urlsplit

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from workshop_log.delivery.messages import Attachment, plain_text
from workshop_log.delivery.own_program import OwnProgramError, mailto_url, save_files
from workshop_log.exchange.letter import Letter

LETTER = Letter(recipients=("Ottoline Brásk <o.brask@example.org>", "b@example.org"), copies=("c@example.org",),
                subject="Report & more?", body="Dear all,\n100 %.")


def test_a_file_is_never_written_over(tmp_path):
    """The second of a name gets a number."""
    files = [Attachment("Report.pdf", "application/pdf", data) for data in (b"1", b"2", b"3")]
    paths = save_files(tmp_path / "new", files)
    assert [path.name for path in paths] == ["Report.pdf", "Report (2).pdf", "Report (3).pdf"]
    assert [path.read_bytes() for path in paths] == [b"1", b"2", b"3"]


def test_a_folder_that_cannot_be_written_is_said(tmp_path):
    """With its name and what to do."""
    (tmp_path / "file").write_text("x")
    with pytest.raises(OwnProgramError, match=r"Nothing could be written into .*\.$"):
        save_files(tmp_path / "file", [Attachment("a.pdf", "application/pdf", b"x")])


def test_an_address_of_a_letter_says_all_of_it():
    """Bare addresses; the text with its line ends."""
    url, is_whole = mailto_url(LETTER)
    assert is_whole
    parts = urlsplit(url)
    assert (parts.scheme, unquote(parts.path)) == ("mailto", "o.brask@example.org,b@example.org")
    assert parse_qs(parts.query) == {"cc": ["c@example.org"], "subject": ["Report & more?"],
                                     "body": ["Dear all,\r\n100 %."]}


@given(st.text(max_size=200).filter(lambda text: text.strip()), st.text(max_size=400))
def test_nothing_typed_adds_to_the_address(subject, body):
    """It is refused, or comes back as it was."""
    letter = replace(LETTER, subject=subject, body=body)
    try:
        url, is_whole = mailto_url(letter)
    except ValueError:
        return
    assert url.isascii()
    told = parse_qs(urlsplit(url).query, keep_blank_values=True)
    assert set(told) <= {"cc", "subject", "body"}
    assert told["subject"] == [subject.strip()]
    if is_whole and body:
        assert told["body"] == [plain_text(body).replace("\n", "\r\n")]
