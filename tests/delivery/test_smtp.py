"""One message to a real mail server that works, and that fails in every way a server fails."""

from __future__ import annotations

import socket
import threading
import time

import pytest
from delivery.conftest import SHORT
from delivery.mail_server import DROP, PASSWORD, SILENT, STAGES
from msgspec.structs import replace

from workshop_log.delivery.outcomes import InDoubt, NotSent, Refused, Sent
from workshop_log.delivery.smtp import Call, Patience

TO = ("o.brask@example.org", "second@example.org")
MESSAGE = b"Subject: x\r\n\r\nfirst\r\n.\r\n..two\r\nlast\r\n"
KINDS = ("STARTTLS", "TLS")
IMPATIENT = Patience(connect=5, reply=0.3, body=5, last_reply=0.3)


def send(account, password=PASSWORD, message=MESSAGE, to=TO, patience=SHORT, **options):
    return Call(account, password, patience).send(account.sender, to, message, **options)


def is_one_sentence_or_two(words):
    is_begun = words[:1].isupper() or words[:1] == "“"
    return is_begun and words.endswith(".") and "\n" not in words and "errno" not in words.lower()


# --- a server that works --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("security", KINDS)
def test_a_message_arrives_byte_for_byte(start, security):
    """With login and TLS, lines that begin with a dot included."""
    server, account = start(security)
    assert send(account) == Sent("250 taken as 4711")
    (mail,) = server.received
    assert mail.data == MESSAGE
    assert (mail.sender, mail.recipients) == ("desk@example.org", list(TO))


@pytest.mark.parametrize("security", KINDS)
def test_a_login_is_tried_without_sending(start, security):
    """Nothing but the login is made."""
    server, account = start(security)
    assert Call(account, PASSWORD, SHORT).try_login() == ""
    assert server.heard[-1] == "AUTH"
    assert server.received == []


def test_a_password_that_cannot_be_written_is_told_without_it(start):
    """Half of a sign, as a broken copy leaves it: nothing quotes the password, and the message waits for another."""
    _, account = start()
    outcome = send(account, password="ohm-law\ud83d")
    assert isinstance(outcome, NotSent)
    assert outcome.is_login
    assert is_one_sentence_or_two(outcome.answer)
    assert "ohm-law" not in outcome.answer
    assert Call(account, "ohm-law\ud83d", SHORT).try_login() == outcome.answer


def test_a_server_that_asks_for_no_login_gets_none(start):
    """A blank user."""
    server, account = start()
    assert isinstance(send(replace(account, user="")), Sent)
    assert "AUTH" not in server.heard


def test_login_by_two_questions_works_too(start):
    """Some servers offer nothing but LOGIN."""
    server, account = start()
    server.offers_login_only = True
    assert isinstance(send(account), Sent)


def test_a_large_message_goes_over_in_pieces(start):
    """Eight megabytes, whole."""
    server, account = start()
    message = b"Subject: x\r\n\r\n" + b"0123456789.......\r\n....\r\n" * 350_000
    assert isinstance(send(account, message=message), Sent)
    assert server.received[0].data == message


# --- who it talks to ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("security", KINDS)
@pytest.mark.parametrize(("certificate", "words"), [
    ("expired", "has expired"), ("unknown", "vouches"), ("other name", "another name")])
def test_a_certificate_that_is_not_in_order_ends_the_call(start, security, certificate, words):
    """Before the password or anything of the message is said."""
    server, account = start(security, certificate)
    outcome = send(account)
    assert isinstance(outcome, NotSent)
    assert words in outcome.answer
    assert is_one_sentence_or_two(outcome.answer)
    assert not {"AUTH", "MAIL"} & set(server.heard)
    assert words in Call(account, PASSWORD, SHORT).try_login()


@pytest.mark.parametrize("security", KINDS)
def test_without_ones_own_authority_its_servers_are_strangers(start, security):
    """The system's authorities do not know the test's."""
    server, account = start(security)
    outcome = send(replace(account, authority=""))
    assert isinstance(outcome, NotSent)
    assert "vouches" in outcome.answer
    assert "AUTH" not in server.heard


def test_a_server_without_starttls_gets_nothing(start):
    """Nor one whose offer somebody on the way takes out: the password never goes in the clear."""
    server, account = start()
    server.hides = {"STARTTLS"}
    outcome = send(account)
    assert isinstance(outcome, NotSent)
    assert "no STARTTLS" in outcome.answer
    assert set(server.heard) == {"EHLO"}


def test_what_was_offered_outside_tls_counts_for_nothing(start):
    """A login that only the part in the clear offers is not tried."""
    server, account = start()
    server.hides = {"AUTH"}
    outcome = send(account)
    assert outcome.is_login
    assert "offers no login" in outcome.answer
    assert "AUTH" not in server.heard


def test_the_wrong_kind_of_security_is_said(start):
    """TLS spoken to a server that begins in the clear."""
    _, account = start()
    outcome = send(replace(account, security="TLS"))
    assert isinstance(outcome, NotSent)
    assert "choose STARTTLS" in outcome.answer


def test_a_silent_port_names_port_and_security(start):
    """STARTTLS spoken to a server that waits for TLS: both wait."""
    _, account = start("TLS")
    outcome = send(replace(account, security="STARTTLS"), patience=IMPATIENT)
    assert isinstance(outcome, NotSent)
    assert "check port and kind of security" in outcome.answer


@pytest.mark.parametrize(("change", "words"), [
    ({"server": "no-such-server.invalid"}, "was not found"),
    ({"server": "a" * 70 + ".example.org"}, "name of a server"),
    ({"server": ""}, "No mail server"), ({"authority": "/no/such/file.pem"}, "cannot be read")])
def test_an_account_that_leads_nowhere_says_so(start, change, words):
    """Each in one sentence with what to look at."""
    _, account = start()
    outcome = send(replace(account, **change))
    assert isinstance(outcome, NotSent)
    assert words in outcome.answer
    assert is_one_sentence_or_two(outcome.answer)


def test_an_authority_that_is_no_certificate_says_so(start, tmp_path):
    """Any file can be chosen."""
    file = tmp_path / "letter.txt"
    file.write_text("Dear all")
    _, account = start()
    assert "holds no certificate" in send(replace(account, authority=str(file))).answer


def test_a_server_that_is_not_there(start):
    """Nobody listens at the port."""
    _, account = start()
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        outcome = send(replace(account, port=free.getsockname()[1]))
    assert isinstance(outcome, NotSent)
    assert "Nothing answers" in outcome.answer


def test_a_wrong_password_is_told_as_such(start):
    """It is worth no other try with the same password, and the password is in no sentence."""
    server, account = start()
    outcome = send(account, password="guessed wrong")
    assert outcome.is_login
    assert "does not take this user or password" in outcome.answer
    assert "guessed" not in outcome.answer
    assert server.received == []


# --- a server that fails --------------------------------------------------------------------------------------------

OF_MESSAGE = {"MAIL", "RCPT", "DATA", "END"}


def stages(security):
    return [stage for stage in STAGES if security == "STARTTLS" or stage not in ("EHLO", "STARTTLS")]


@pytest.mark.parametrize(("security", "stage"), [(s, stage) for s in KINDS for stage in stages(s)])
def test_not_now_at_any_stage_is_worth_another_try(start, security, stage):
    """A line that begins with 4."""
    server, account = start(security)
    server.fails = {stage: "451 busy, come back later"}
    outcome = send(account)
    assert isinstance(outcome, NotSent), outcome
    assert not outcome.is_login
    assert "451 busy" in outcome.answer
    assert is_one_sentence_or_two(outcome.answer)
    assert server.received == []


@pytest.mark.parametrize(("security", "stage"), [(s, stage) for s in KINDS for stage in stages(s)])
def test_never_at_any_stage_refuses_the_message_only_where_it_is_about_it(start, security, stage):
    """A line that begins with 5: before sender, recipient and contents it says nothing of the message."""
    server, account = start(security)
    server.fails = {stage: "554 not here"}
    outcome = send(account)
    assert isinstance(outcome, Refused if stage in OF_MESSAGE else NotSent), outcome
    assert "554 not here" in outcome.answer
    assert is_one_sentence_or_two(outcome.answer)
    assert server.received == []
    if stage == "RCPT":
        assert outcome.recipients == TO


@pytest.mark.parametrize("failure", [DROP, SILENT])
@pytest.mark.parametrize(("security", "stage"), [(s, stage) for s in KINDS for stage in stages(s)])
def test_a_lost_or_silent_server_has_sent_nothing_until_the_last_dot(start, security, stage, failure):
    """Afterwards nobody can know; that is said, and not guessed."""
    server, account = start(security)
    server.fails = {stage: failure}
    outcome = send(account, patience=IMPATIENT)
    assert isinstance(outcome, InDoubt if stage == "END" else NotSent), outcome
    assert is_one_sentence_or_two(outcome.answer), outcome.answer
    assert len(server.received) == (1 if stage == "END" else 0)


def test_one_refused_recipient_stops_the_message_for_all(start):
    """Nobody gets it in silence while another does not: who was refused is named."""
    server, account = start()
    server.refuses = {TO[1]: "550 nobody of this name"}
    outcome = send(account)
    assert isinstance(outcome, Refused)
    assert outcome.recipients == (TO[1],)
    assert TO[1] in outcome.answer
    assert TO[0] not in outcome.answer
    assert "Nobody has got the message" in outcome.answer
    assert server.received == []


def test_one_recipient_that_has_to_wait_lets_all_wait(start):
    """Nobody gets it twice when it is tried again."""
    server, account = start()
    server.refuses = {TO[1]: "450 mailbox busy"}
    outcome = send(account)
    assert isinstance(outcome, NotSent)
    assert TO[1] in outcome.answer
    assert server.received == []


def test_a_message_larger_than_the_server_takes_is_not_begun(start):
    """Both sizes are said, and what to do."""
    server, account = start(size_limit=1000)
    outcome = send(account, message=b"Subject: x\r\n\r\n" + b"line\r\n" * 500)
    assert isinstance(outcome, Refused)
    assert "3 kB" in outcome.answer
    assert "1 kB" in outcome.answer
    assert "MAIL" not in server.heard


# --- whoever sends may stop -----------------------------------------------------------------------------------------


def test_a_message_that_is_no_longer_ours_is_not_ended(start):
    """The book is asked before the last dot."""
    server, account = start()
    assert isinstance(send(account, before_last=lambda: False), NotSent)
    assert server.received == []


@pytest.mark.parametrize("security", KINDS)
def test_a_server_that_hung_up_while_the_book_was_busy_leaves_no_doubt(start, security):
    """The end was never handed over."""
    server, account = start(security)

    def wait_too_long():
        server.hang_up_on_all()
        time.sleep(0.1)
        return True

    outcome = send(account, before_last=wait_too_long)
    assert isinstance(outcome, NotSent), outcome
    assert "hung up" in outcome.answer
    assert server.received == []


def test_hanging_up_before_the_end_sends_nothing(start):
    """From another thread, while the server is silent."""
    server, account = start()
    server.fails = {"RCPT": SILENT}
    call = Call(account, PASSWORD, SHORT)
    outcomes = []
    thread = threading.Thread(target=lambda: outcomes.append(call.send(account.sender, TO, MESSAGE)))
    thread.start()
    assert server.is_holding.wait(5)
    call.hang_up()
    thread.join(3)
    assert not thread.is_alive()
    assert isinstance(outcomes[0], NotSent)
    assert "stopped" in outcomes[0].answer


def test_hanging_up_on_a_server_that_never_comes_to_tls(start):
    """It takes the call and says nothing."""
    _, account = start("TLS")
    with socket.create_server(("127.0.0.1", 0)) as mute:
        call = Call(replace(account, port=mute.getsockname()[1]), PASSWORD, Patience())
        outcomes = []
        thread = threading.Thread(target=lambda: outcomes.append(call.send(account.sender, TO, MESSAGE)))
        thread.start()
        with mute.accept()[0] as connection:
            # The first words of TLS are here: it waits for an answer.
            assert connection.recv(1)
            call.hang_up()
            thread.join(3)
            assert not thread.is_alive()
    assert "stopped" in outcomes[0].answer


def test_hanging_up_after_the_end_waits_for_the_answer(start):
    """It may have arrived already: only the answer tells."""
    server, account = start()
    call = Call(account, PASSWORD, SHORT)

    def hang_up_at_the_end():
        threading.Timer(0.05, call.hang_up).start()
        return True

    outcome = call.send(account.sender, TO, MESSAGE, hang_up_at_the_end)
    assert isinstance(outcome, Sent)
    assert len(server.received) == 1


def test_a_call_that_was_ended_before_it_began_is_not_made(start):
    """Closing the window is quicker than the network."""
    server, account = start()
    call = Call(account, PASSWORD, SHORT)
    call.hang_up()
    assert isinstance(call.send(account.sender, TO, MESSAGE), NotSent)
    assert server.transports == []
