"""From a letter to the bytes that travel: nothing that anybody types makes more of the head than was meant."""

from __future__ import annotations

from datetime import UTC, datetime
from email import message_from_bytes
from email.header import decode_header, make_header
from email.policy import SMTP

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from workshop_log.delivery.addresses import AddressError, address_of, has_controls, parts_of, read_addresses
from workshop_log.delivery.messages import MAX_BYTES, Attachment, MessageError, message_bytes, new_message_id
from workshop_log.exchange.letter import Letter

NOW = datetime(2031, 4, 2, 8, 35, tzinfo=UTC)
ID = "<4711@example.org>"
PDF = Attachment("Report 2031-0007.pdf", "application/pdf", b"%PDF-1.7 \x00\xff" * 50)
LETTER = Letter(sender="Invented Electrics <desk@example.org>", recipients=("Ottoline Brásk <o.brask@example.org>",),
                copies=("second@example.org",), subject="Report 2031-0007: Brannick Tarn",
                body="Dear Ottoline Brásk,\n.\nFrom here on: 12.4 V − fine.\n")
HEAD = ["From", "To", "Cc", "Subject", "Date", "Message-ID"]
OF_CONTENT = {"Content-Type", "MIME-Version", "Content-Transfer-Encoding"}


def parsed(letter=LETTER, attachments=(PDF,), **options):
    return message_from_bytes(message_bytes(letter, attachments, ID, NOW, **options), policy=SMTP)


def test_a_message_says_what_was_written():
    """Names with accents, text with its signs, the file with its name and every byte."""
    message = parsed()
    assert [str(one) for one in message["From"].addresses] == ["Invented Electrics <desk@example.org>"]
    assert [(one.display_name, one.addr_spec) for one in message["To"].addresses] == [
        ("Ottoline Brásk", "o.brask@example.org")]
    assert message["Cc"] == "second@example.org"
    assert message["Subject"] == LETTER.subject
    assert message["Date"].datetime == NOW
    assert message["Message-ID"] == ID
    text, file = message.iter_parts()
    assert text.get_content().replace("\r\n", "\n").rstrip("\n") == LETTER.body.rstrip("\n")
    assert (file.get_filename(), file.get_content_type()) == (PDF.name, "application/pdf")
    assert file.get_content() == PDF.data
    assert not message.defects


def test_every_try_is_the_same_bytes():
    """Borders included; a new message has other ones."""
    assert message_bytes(LETTER, (PDF,), ID, NOW) == message_bytes(LETTER, (PDF,), ID, NOW)
    assert new_message_id("desk@example.org") != new_message_id("desk@example.org")
    assert message_bytes(LETTER, (PDF,), new_message_id("desk@example.org"), NOW) != message_bytes(
        LETTER, (PDF,), ID, NOW)


def test_a_message_travels_as_plain_letters_in_short_lines():
    """Every server takes that, old ones too."""
    data = message_bytes(replace(LETTER, body="long " * 3000 + "ä€" * 2000, subject="Über " * 60), (PDF,), ID, NOW)
    assert data.isascii()
    assert max(len(line) for line in data.split(b"\r\n")) <= 998
    assert b"\n" not in data.replace(b"\r\n", b"")
    assert b"\r" not in data.replace(b"\r\n", b"")


def test_a_message_without_attachments_is_text_alone():
    """Nothing around it."""
    message = parsed(attachments=())
    assert message.get_content_type() == "text/plain"
    assert message.get_content().replace("\r\n", "\n").rstrip("\n") == LETTER.body.rstrip("\n")


def test_a_draft_is_opened_as_one():
    """A mail program then offers to send it."""
    draft = parsed(replace(LETTER, sender=""), is_draft=True)
    assert draft["X-Unsent"] == "1"
    assert {"From", "Date", "Message-ID"} & set(draft.keys()) == set()
    assert parsed(is_draft=True)["From"] == LETTER.sender
    assert parsed()["X-Unsent"] is None


@pytest.mark.parametrize("name", ["Bericht Übung 7.pdf", 'a "quoted" name.pdf', "a;b=c.pdf", "100 %.pdf", "日本.pdf"])
def test_a_file_keeps_its_name(name):
    """Whatever letters it has."""
    (_, file) = parsed(attachments=(Attachment(name, "application/pdf", b"x"),)).iter_parts()
    assert file.get_filename() == name


# --- what is refused ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("address", [
    "", "o.brask", "@example.org", "o.brask@", "o.brask@example", "o brask@example.org", "o..brask@example.org",
    ".o@example.org", "o.brask@example..org", "o.brask@-example.org", "ö.brask@example.org", "o@b@example.org",
    "o.brask@192.168.0.1", "a" * 65 + "@example.org", "o@" + "a" * 64 + ".org", "<o.brask@example.org",
    "o.brask@exa_mple.org", "x" * 200 + " <o.brask@example.org>", "o.brask@example.org\r\nBcc: all@example.org",
    "o.brask@example.org\x00", "A\nB <o.brask@example.org>", "o.brask@exam\u2028ple.org", "o" + "@a.example" * 40])
def test_a_bad_address_is_named_in_one_sentence(address):
    """The first thing that a person mistypes."""
    with pytest.raises(AddressError) as caught:
        parts_of(address)
    words = str(caught.value)
    assert words.startswith("“")
    assert "is no email address" in words
    assert words.endswith(".")
    assert len(words.splitlines()) == 1
    assert len(words) < 250


@pytest.mark.parametrize(("typed", "read"), [
    ("o.brask@example.org", ("o.brask@example.org",)), ("", ()), (" , ; ", ()),
    ("a@example.org, b@example.org; c@example.org", ("a@example.org", "b@example.org", "c@example.org")),
    ('"Brásk, Ottoline" <o@example.org>, b@example.org', ('"Brásk, Ottoline" <o@example.org>', "b@example.org"))])
def test_addresses_are_typed_in_one_line(typed, read):
    """Between commas or semicolons; a name may have a comma in quotes."""
    assert read_addresses(typed) == read


def test_of_several_addresses_the_bad_one_is_named():
    """And one message is no mailing list."""
    with pytest.raises(AddressError, match="“b@example”"):
        read_addresses("a@example.org, b@example, c@example.org")
    with pytest.raises(AddressError, match="30 people"):
        read_addresses(", ".join(f"a{n}@example.org" for n in range(31)))


def test_a_place_with_accents_is_written_as_servers_know_it():
    """The name behind the @ may have them."""
    assert address_of("o@bücher.example.org") == "o@xn--bcher-kva.example.org"


@pytest.mark.parametrize(("change", "words"), [
    ({"recipients": ()}, "Nobody is named"), ({"subject": ""}, "subject is blank"), ({"subject": "  "}, "is blank"),
    ({"subject": "x\r\nBcc: all@example.org"}, "line break"), ({"subject": "x\ny"}, "line break"),
    ({"subject": "x\x0by"}, "line break"), ({"subject": "x\u2028y"}, "line break"),
    ({"subject": "x\x85y"}, "line break"), ({"subject": "x" * 401}, "401 letters")])
def test_a_letter_that_cannot_be_sent_says_why(change, words):
    """One sentence with what to do."""
    with pytest.raises(MessageError, match=words):
        message_bytes(replace(LETTER, **change), (), ID, NOW)


@pytest.mark.parametrize("name", ["", " ", "a/b.pdf", "a\\b.pdf", "a\nb.pdf", "a\r\nX-Evil: 1.pdf", "x" * 151])
def test_a_name_that_no_file_has_is_refused(name):
    """It would be a folder or a line of the head."""
    with pytest.raises(MessageError, match="attachment"):
        message_bytes(LETTER, (Attachment(name, "application/pdf", b"x"),), ID, NOW)


def test_a_message_that_servers_refuse_is_refused_here():
    """Its size is said and what to do; just below that it goes."""
    fits = int(MAX_BYTES * 3 / 4 * 76 / 78) - 4000
    assert len(message_bytes(LETTER, (Attachment("a.pdf", "application/pdf", bytes(fits)),), ID, NOW)) <= MAX_BYTES
    with pytest.raises(MessageError, match=r"has 25\.0 MB.*25\.0 MB at most: attach less"):
        message_bytes(LETTER, (Attachment("a.pdf", "application/pdf", bytes(fits + 5000)),), ID, NOW)
    with pytest.raises(MessageError, match=r"has 41\.1 MB"):
        message_bytes(LETTER, (Attachment("a.pdf", "application/pdf", bytes(30_000_000)),), ID, NOW)


def test_what_nobody_sees_in_the_text_is_left_out():
    """A pasted text may have anything in it; half a sign does not stop the rest."""
    (text, _) = parsed(replace(LETTER, body="a\x00b\x1bc\td\r\ne\rf\udc80g")).iter_parts()
    assert text.get_content().replace("\r\n", "\n").rstrip() == "a b c\td\ne\nf?g"


# --- whatever is typed ----------------------------------------------------------------------------------------------

SPITEFUL = st.one_of(
    st.text(max_size=200),
    st.text(st.sampled_from('ab@.,;:<>"\\()[]=?_ \r\n\t\x00\x85\u2028ä€😀'), max_size=120),
    st.lists(st.sampled_from(["\r\nBcc: ", "all@example.org", ", ", "<", ">", '"', "=?utf-8?q?", "?=", "=0D=0A", "ä",
                              "\n", "X: y", " ", "Content-Type: text/html", "\r\n\r\n"]), max_size=20).map("".join))


@settings(max_examples=400)
@given(subject=SPITEFUL, name=SPITEFUL, address=SPITEFUL, file=SPITEFUL, body=SPITEFUL)
def test_nothing_typed_makes_more_of_the_head(subject, name, address, file, body):
    """It is refused, or it is exactly where it was meant to be."""
    typed = f"{name} <o.brask@example.org>"
    letter = Letter(sender="desk@example.org", recipients=(typed, address or "x"), subject=subject, body=body)
    for recipients in (letter.recipients, (typed,), ("o.brask@example.org",)):
        candidate = replace(letter, recipients=recipients)
        for files in ((), (Attachment(file, "application/pdf", b"%PDF"),)):
            try:
                data = message_bytes(candidate, files, ID, NOW)
            except (AddressError, MessageError):
                continue
            check(data, candidate, files)


def check(data, letter, files):
    head, _, _ = data.partition(b"\r\n\r\n")
    lines = [line for line in head.split(b"\r\n") if not line.startswith((b" ", b"\t"))]
    names = [line.partition(b":")[0].decode() for line in lines]
    wanted = [name for name in HEAD if name != "Cc" or letter.copies]
    assert names[:len(wanted)] == wanted
    assert set(names[len(wanted):]) <= OF_CONTENT
    message = message_from_bytes(data, policy=SMTP)
    told = [one.addr_spec for one in message["To"].addresses]
    assert told == [address_of(one) for one in letter.recipients]
    assert str(make_header(decode_header(message_from_bytes(data)["Subject"]))) == letter.subject.strip()
    parts = [part for part in message.walk() if not part.is_multipart()]
    assert len(parts) == 1 + len(files)
    for part, file in zip(parts[1:], files, strict=True):
        assert part.get_content() == file.data
        assert part.get_content_type() == "application/pdf"


@given(st.text())
def test_a_text_without_controls_has_one_line(text):
    """Whatever ends a line, anywhere, is a control."""
    assert has_controls(text) or len(text.splitlines()) <= 1
