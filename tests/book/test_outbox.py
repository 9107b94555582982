"""The outbox: each message belongs to one program at a time, and each step from state to state happens once."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier

import pytest
from book.samples import small_job
from book.sealed import verify_job
from sqlalchemy import select

from workshop_log.book import outbox
from workshop_log.book.entities import OutboxMessage
from workshop_log.book.jobs import insert_job, load_job
from workshop_log.book.opening import open_book
from workshop_log.book.outbox import UnknownMessageError
from workshop_log.exchange.letter import Letter
from workshop_log.jobs import outgoing
from workshop_log.jobs.outgoing import GAPS_MIN, LONGEST_TRY, TRIED_FOR, OutboxError

NUMBER = "2031-0007"
LETTER = Letter(sender="desk@example.org", recipients=("Ottoline Brásk <o.brask@example.org>",),
                copies=("second@example.org",), subject="Report", body="Dear all,\nattached.")
REPORT = ("Report.pdf", "application/pdf", b"%PDF-1.7 the very bytes", "customer")
EXPERT = ("Expert.pdf", "application/pdf", b"%PDF-1.7 more", "expert")
PHOTO = ("strap.jpg", "image/jpeg", b"\xff\xd8\xff", "")


@pytest.fixture
def with_job(book, now):
    with book.session() as session:
        insert_job(session, small_job(), now)
    return book


def put(book, now, count=1, files=(REPORT,), number=NUMBER):
    return [outgoing.put(book, number, f"<{n}.{now.timestamp()}@example.org>", LETTER, files, now)
            for n in range(count)]


def test_a_message_is_kept_as_it_was_written(with_job, now):
    """With its exact files, for a book that is opened anew."""
    (written,) = put(with_job, now, files=(REPORT, PHOTO))
    other = open_book(with_job.url, create=False)
    try:
        (found,) = outgoing.messages(other)
        assert found == written
        assert (found.letter, found.number, found.state, found.tries) == (LETTER, NUMBER, "waiting", 0)
        assert [(one.name, one.media_type, other.files.get(one.sha256), one.reader) for one in found.attached] == [
            REPORT, PHOTO]
    finally:
        other.close()


def test_an_unknown_message_is_said_to_be_gone(book, now):
    """Another bay may have been quicker."""
    for act in (lambda: outgoing.withdraw(book, 99), lambda: outgoing.send_now(book, 99, now),
                lambda: outgoing.note_arrived(book, 99, now)):
        with pytest.raises(UnknownMessageError, match="no longer in the outbox"):
            act()


def test_two_programs_never_take_the_same_message(with_job, now):
    """Both at once, again and again, each through its own connections."""
    keys = {message.key for message in put(with_job, now, 12)}
    together = Barrier(2)

    def take(me):
        book = open_book(with_job.url, create=False)
        try:
            together.wait(10)
            taken = []
            while (message := outgoing.claim(book, me, now)) is not None:
                assert (message.state, message.taken_by, message.tries) == ("sending", me, 1)
                taken.append(message.key)
            return taken
        finally:
            book.close()

    with ThreadPoolExecutor(2) as pool:
        one, other = pool.map(take, ("one", "other"))
    assert sorted([*one, *other]) == sorted(keys)


def test_what_has_been_due_the_longest_is_taken_first(with_job, now):
    """And nothing before it is due."""
    first, second, third = put(with_job, now, 3)
    for message, minutes in ((first, 5), (second, 1), (third, 60)):
        with with_job.session() as session:
            outbox.change(session, message.key, ("waiting",), next_at=now + timedelta(minutes=minutes))
    assert outgoing.claim(with_job, "me", now) is None
    assert not outgoing.is_any_due(with_job, now)
    later = now + timedelta(minutes=6)
    assert outgoing.is_any_due(with_job, later)
    assert [outgoing.claim(with_job, "me", later).key for _ in range(2)] == [second.key, first.key]
    assert outgoing.claim(with_job, "me", later) is None


def test_a_message_that_failed_is_tried_again_with_growing_gaps_for_three_days(with_job, now):
    """1, 2, 5, 15, 30, 60 minutes, then hourly; then it is refused and says why."""
    (message,) = put(with_job, now)
    gaps, at = [], now
    while True:
        taken = outgoing.claim(with_job, "me", at)
        assert taken.key == message.key
        after = outgoing.note_not_sent(with_job, message.key, "me", "No network.", at)
        if after.state == "refused":
            break
        assert (after.state, after.answer, after.taken_by) == ("waiting", "No network.", "")
        assert outgoing.claim(with_job, "me", after.next_at - timedelta(seconds=1)) is None
        gaps.append((after.next_at - at) / timedelta(minutes=1))
        at = after.next_at
    assert gaps[:8] == [*GAPS_MIN, 60, 60]
    assert set(gaps[6:]) == {60}
    assert timedelta(0) <= at - now - TRIED_FOR < timedelta(hours=1)
    assert "three days" in after.answer
    assert after.next_at is None


def test_a_program_that_was_closed_for_a_week_still_tries(with_job, now):
    """Once round all gaps."""
    (message,) = put(with_job, now)
    at = now + timedelta(days=7)
    for _ in GAPS_MIN[:-1]:
        outgoing.claim(with_job, "me", at)
        assert outgoing.note_not_sent(with_job, message.key, "me", "No network.", at).state == "waiting"
        at += timedelta(hours=1)


def test_a_report_that_has_left_enters_the_record_once(with_job, now):
    """Each report of the message with its fingerprint, sealed; a photo does not."""
    (message,) = put(with_job, now, files=(REPORT, PHOTO, EXPERT))
    outgoing.claim(with_job, "me", now)
    at = now + timedelta(minutes=1)
    sent = outgoing.note_left(with_job, message.key, "250 OK", at)
    assert (sent.state, sent.sent_at, sent.answer, sent.taken_by) == ("sent", at, "250 OK", "")
    assert outgoing.note_left(with_job, message.key, "250 OK", at).state == "sent"
    with with_job.read() as session:
        job = load_job(session, NUMBER)
        assert verify_job(session, NUMBER).intact
    assert [(one.reader, one.sha256, one.at) for one in job.reports[1:]] == [
        ("customer", message.attached[0].sha256, at), ("expert", message.attached[2].sha256, at)]
    assert len({one.id for one in job.reports}) == 3


def test_two_that_say_it_has_left_enter_the_report_once(with_job, now):
    """At the same moment."""
    (message,) = put(with_job, now)
    outgoing.claim(with_job, "me", now)
    together = Barrier(2)

    def tell(_):
        together.wait(10)
        return outgoing.note_left(with_job, message.key, "250 OK", now).state

    with ThreadPoolExecutor(2) as pool:
        assert list(pool.map(tell, range(2))) == ["sent", "sent"]
    with with_job.read() as session:
        assert len(load_job(session, NUMBER).reports) == 2


def test_a_message_without_a_job_leaves_no_report(book, now):
    """It is only sent."""
    (message,) = put(book, now, number="")
    outgoing.claim(book, "me", now)
    assert outgoing.note_left(book, message.key, "250 OK", now).state == "sent"


# --- a program that ended in the middle -----------------------------------------------------------------------------


def test_after_a_crash_before_the_end_the_message_waits_again(with_job, now):
    """Nothing was handed over whole: it is due at once."""
    (message,) = put(with_job, now)
    outgoing.claim(with_job, "gone", now)
    (freed,) = outgoing.free_left_behind(with_job, "me", now, is_alone=True)
    assert (freed.key, freed.state) == (message.key, "waiting")
    assert outgoing.claim(with_job, "me", now).key == message.key


def test_after_a_crash_past_the_mark_the_message_is_in_doubt(with_job, now):
    """Nobody takes it until a person has decided."""
    (message,) = put(with_job, now)
    outgoing.claim(with_job, "gone", now)
    assert outgoing.mark_handed_over(with_job, message.key, "gone")
    (freed,) = outgoing.free_left_behind(with_job, "me", now, is_alone=True)
    assert freed.state == "in doubt"
    assert freed.answer.endswith(".")
    assert outgoing.claim(with_job, "me", now + timedelta(days=9)) is None


def test_what_another_program_still_sends_is_left_to_it(with_job, now):
    """Until it has had it for longer than any try takes; and one's own is never freed."""
    put(with_job, now, 2)
    outgoing.claim(with_job, "other bay", now)
    outgoing.claim(with_job, "me", now)
    assert outgoing.free_left_behind(with_job, "me", now + LONGEST_TRY, is_alone=False) == ()
    freed = outgoing.free_left_behind(with_job, "me", now + LONGEST_TRY + timedelta(seconds=1), is_alone=False)
    assert len(freed) == 1
    assert outgoing.free_left_behind(with_job, "me", now, is_alone=True) == ()


def test_whoever_lost_a_message_may_not_end_it(with_job, now):
    """A program that slept too long finds that the message is no longer its own."""
    (message,) = put(with_job, now)
    outgoing.claim(with_job, "sleeper", now)
    outgoing.free_left_behind(with_job, "me", now, is_alone=True)
    assert not outgoing.mark_handed_over(with_job, message.key, "sleeper")
    outgoing.claim(with_job, "me", now)
    assert not outgoing.mark_handed_over(with_job, message.key, "sleeper")
    assert outgoing.mark_handed_over(with_job, message.key, "me")
    assert outgoing.note_refused(with_job, message.key, "sleeper", "550").state == "sending"
    assert outgoing.note_not_sent(with_job, message.key, "sleeper", "lost", now).state == "sending"


def test_an_answer_that_came_after_all_counts(with_job, now):
    """Another bay took the message for lost; the server's word is worth more."""
    (message,) = put(with_job, now)
    outgoing.claim(with_job, "slow", now)
    outgoing.mark_handed_over(with_job, message.key, "slow")
    outgoing.free_left_behind(with_job, "me", now, is_alone=True)
    assert outgoing.note_left(with_job, message.key, "250 OK", now).state == "sent"


def test_a_book_taken_back_from_a_backup_sends_nothing_by_itself(with_job, now, tmp_path):
    """What waited when the copy was made may have left since; what was decided stays as it was."""
    from workshop_log.book.backup import backup, restore

    waiting, sending, refused = put(with_job, now, 3)
    outgoing.claim(with_job, "me", now)
    with with_job.session() as session:
        outbox.change(session, refused.key, ("waiting",), state="refused")
    backup(with_job, tmp_path / "copy.backup.db")
    restore(tmp_path / "copy.backup.db", tmp_path / "new" / "book.db")
    again = open_book(tmp_path / "new" / "book.db", create=False)
    try:
        states = {message.key: message.state for message in outgoing.messages(again)}
        assert states == {waiting.key: "in doubt", sending.key: "in doubt", refused.key: "refused"}
        assert outgoing.claim(again, "me", now + timedelta(days=1)) is None
        assert again.files.get(waiting.attached[0].sha256) == REPORT[2]
    finally:
        again.close()


# --- a person decides -----------------------------------------------------------------------------------------------


def in_state(book, now, state):
    (message,) = put(book, now)
    with book.session() as session:
        outbox.change(session, message.key, ("waiting",), state="sending", taken_by="me", tries=1)
    match state:
        case "waiting":
            return outgoing.note_not_sent(book, message.key, "me", "busy", now)
        case "in doubt":
            return outgoing.note_in_doubt(book, message.key, "me", "no answer")
        case "refused":
            return outgoing.note_refused(book, message.key, "me", "550 nobody")
        case "sent":
            return outgoing.note_left(book, message.key, "250 OK", now)
        case "withdrawn":
            return outgoing.withdraw(book, outgoing.note_refused(book, message.key, "me", "550").key)
    return message


@pytest.mark.parametrize(("state", "may"), [
    ("waiting", {"withdraw", "send"}), ("refused", {"withdraw", "send", "rewrite"}), ("withdrawn", {"rewrite"}),
    ("in doubt", {"withdraw", "send", "arrived"}), ("sent", set()), ("sending", set())])
def test_what_may_be_done_in_each_state(with_job, now, state, may):
    """All else is refused in one sentence and changes nothing."""
    acts = {"withdraw": lambda key: outgoing.withdraw(with_job, key),
            "send": lambda key: outgoing.send_now(with_job, key, now),
            "arrived": lambda key: outgoing.note_arrived(with_job, key, now),
            "rewrite": lambda key: outgoing.write_again(with_job, key, f"<{key}.n@example.org>", LETTER, now)}
    for name, act in acts.items():
        now += timedelta(minutes=1)
        message = in_state(with_job, now, state)
        if name in may:
            act(message.key)
        else:
            with pytest.raises(OutboxError):
                act(message.key)
            with with_job.read() as session:
                assert outbox.load_message(session, message.key).state == state


def test_a_message_in_doubt_is_sent_again_under_the_same_name(with_job, now):
    """So that whoever gets it twice can tell."""
    doubted = in_state(with_job, now, "in doubt")
    outgoing.send_now(with_job, doubted.key, now)
    again = outgoing.claim(with_job, "me", now)
    assert (again.key, again.message_id, again.written_at) == (doubted.key, doubted.message_id, doubted.written_at)


def test_a_message_that_arrived_after_all_enters_the_record(with_job, now):
    """As one whose answer came."""
    doubted = in_state(with_job, now, "in doubt")
    assert outgoing.note_arrived(with_job, doubted.key, now).state == "sent"
    with with_job.read() as session:
        assert load_job(session, NUMBER).reports[-1].sha256 == doubted.attached[0].sha256


def test_a_corrected_address_makes_a_new_message(with_job, now):
    """With the same files; the refused one stays and says why."""
    refused = in_state(with_job, now, "refused")
    letter = Letter(sender="desk@example.org", recipients=("o.brasc@example.org",), subject="Report")
    new = outgoing.write_again(with_job, refused.key, "<new@example.org>", letter, now)
    assert (new.letter, new.attached, new.state, new.number) == (letter, refused.attached, "waiting", NUMBER)
    with with_job.read() as session:
        assert outbox.load_message(session, refused.key) == refused


def test_each_change_counts_as_one(with_job, now):
    """The row's version tells other bays."""
    (message,) = put(with_job, now)
    outgoing.claim(with_job, "me", now)
    with with_job.read() as session:
        assert session.scalar(select(OutboxMessage.version).where(OutboxMessage.key == message.key)) == 2
