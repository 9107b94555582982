"""The question to a colleague says nothing of people, plate or money; the answer says nothing of the answering shop."""

from __future__ import annotations

import re
import string
from datetime import UTC, datetime
from decimal import Decimal

from exchange.strategies import jobs
from exchange.test_copies import JOB, PERSONAL
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from workshop_log.exchange import records as r
from workshop_log.exchange.checking import check_job
from workshop_log.exchange.free_text import Place, free_texts, labels_of, without_texts
from workshop_log.exchange.opinion import (
    QUESTION_ID,
    answer_copy,
    is_of_the_question,
    is_question,
    opinion_copy,
    question_of,
)
from workshop_log.exchange.prices import amounts_in
from workshop_log.exchange.reading import read_job
from workshop_log.exchange.seal import seal_job
from workshop_log.exchange.taken_out import taken_out
from workshop_log.exchange.writing import write_job

NOW = datetime(2031, 4, 3, 9, 0, tzinfo=UTC)
MARK = "0123456789abcdef" * 4
NAMES = st.text(string.ascii_lowercase, min_size=6, max_size=9).map(lambda name: f"Qx{name}")
PRICES = st.integers(3_000_000, 9_999_999).map(lambda pence: Decimal(pence) / 100)
SEPARATORS = st.sampled_from(["", " ", "-", ".", "_", "·", " - ", "/"])


def spellings(price):
    """Return a price as people write it."""
    whole, pence = f"{price:.2f}".split(".")
    return (f"{price:.2f}", f"£{price:.2f}", f"{whole},{pence} EUR", f"cost {price:.2f} GBP", f"{price:,.2f}",
            f"{whole[:-3]}.{whole[-3:]},{pence}")


@st.composite
def told_jobs(draw):
    """Give a job whose people, plate, VIN and prices are known and said in every free text; and the secrets."""
    job = draw(jobs(most=2))
    customer, worker, caller, thinker = (draw(NAMES) for _ in range(4))
    phone = "07700 900" + draw(st.text(string.digits, min_size=3, max_size=3))
    plate = "".join(draw(st.lists(st.sampled_from(string.ascii_uppercase + string.digits), min_size=6, max_size=7)))
    serial = draw(st.text(string.digits, min_size=6, max_size=6))
    prices = draw(st.lists(PRICES, min_size=8, max_size=8))
    joined, spoken = draw(SEPARATORS).join(plate), draw(SEPARATORS).join(f"XXXZZZ99ZTS{serial}")
    # The first is the labour rate, which every such job has.
    said = " ; ".join((f"{customer} rang {phone}", worker, thinker, caller.upper(), joined, spoken, serial,
                       draw(st.sampled_from(spellings(prices[0])))))

    def saying(items, *fields):
        return tuple(replace(item, **dict.fromkeys(fields, said)) for item in items)

    def priced(items, *fields):
        return tuple(replace(item, **{field: prices[number % len(prices)] for number, field in enumerate(fields)})
                     for item in items)

    clock = (r.TimeLine(id="t9", person=worker, start=NOW, what=said),)
    notes = (r.Note(id="n8", at=NOW, who=caller, words=said, internal=False),
             r.Note(id="n9", at=NOW, who=thinker, words="for ourselves", internal=True))
    job = replace(
        job, customer=r.Customer(name=f"Mrs {customer}", phone=phone, email=f"{customer}@example.org",
                                 address=f"7 {customer} Street"),
        vehicle=replace(job.vehicle, registration=plate, vin=f"XXXZZZ99ZTS{serial}"), clock=clock, notes=notes,
        workshop=replace(job.workshop, labour_rate=prices[0], name=f"{worker} & Sons"),
        complaints=saying(job.complaints, "words", "conditions"), fault_codes=saying(job.fault_codes, "note", "unit"),
        steps=saying(job.steps, "note", "because"), not_tested=(said,),
        suspects=saying(job.suspects, "name"), photos=saying(job.photos, "caption", "name"),
        condemned=priced(saying(job.condemned, "part", "finding", "unproved", "others_cleared"), "price"),
        parts=priced(saying(job.parts, "name", "supplier"), "price", "cost"),
        charges=priced(saying(job.charges, "what"), "amount"),
        estimate=priced(saying(job.estimate, "title", "tells"), "parts", "other"),
        approvals=priced(saying(job.approvals, "words", "by"), "up_to"),
        circuits=tuple(replace(circuit, title=said, elements=priced(circuit.elements, "price"))
                       for circuit in job.circuits))
    return job, (customer, worker, caller, thinker), phone, plate, serial, prices


@settings(max_examples=60)
@given(told=told_jobs())
def test_nothing_known_about_people_vehicle_and_money_is_in_the_bytes(told):
    """Names, telephone, plate with any separators, the VIN's serial part, every price in every spelling."""
    job, names, phone, plate, serial, prices = told
    copy = opinion_copy(job, MARK, question="Is it the pump?", asked=NOW)
    text = write_job(replace(copy, photos=tuple(replace(photo, data=None) for photo in copy.photos))).decode()
    folded = text.casefold()
    assert [name for name in names if name.casefold() in folded] == []
    between = r"[\W_]{0,3}"
    assert not re.search(r"[\s-]?".join(phone.replace(" ", "")[-9:]), text)
    assert not re.search(between.join(plate), text)
    assert not re.search(between.join(f"ZTS{serial}"), text)
    assert not re.search(rf"(?<![0-9a-f]){serial}(?![0-9a-f])", text)
    for price in prices:
        whole, pence = f"{price:.2f}".split(".")
        assert not re.search(rf"(?<!\d){whole[:-3]}[ .,]?{whole[-3:]}[.,]{pence}", text), price
    assert list(amounts_in(copy)) == []


@settings(max_examples=60)
@given(job=jobs())
def test_the_question_is_a_job_file_that_can_be_worked_with(job):
    """It is read like any other, nothing in it contradicts itself, and its notes are told from later ones."""
    copy = opinion_copy(job, MARK, question="Why?", asked=NOW)
    assert read_job(write_job(copy), "question") == copy
    assert not [finding for finding in check_job(copy) if finding.severity == "error"]
    assert (copy.opinion_on, copy.anonymous, copy.number, copy.seal) == (MARK, True, "", None)
    assert all(is_of_the_question(note) for note in copy.notes)
    assert [step.id for step in copy.steps] == [step.id for step in job.steps]


@settings(max_examples=40)
@given(job=jobs())
def test_the_answer_is_a_job_file_that_carries_the_mark_back(job):
    """Money, hours and customer of the workshop that answers stay there."""
    answer = answer_copy(replace(job, opinion_on=MARK))
    assert read_job(write_job(answer), "answer") == answer
    assert answer.opinion_on == MARK
    assert list(amounts_in(answer)) == []
    assert (answer.customer, answer.workshop, answer.clock) == (r.Customer(), r.Workshop(), ())


def test_the_question_keeps_the_case_and_leaves_out_the_rest():
    """Readings, parts and findings stay; approvals, options, hours, money and internal notes go whole."""
    copy = opinion_copy(seal_job(JOB), MARK, question="Is it the strap, Joan?", asked=NOW)
    text = write_job(replace(copy, photos=())).decode()
    assert [personal for personal in PERSONAL if personal in text] == []
    assert (copy.approvals, copy.estimate, copy.clock, copy.charges) == ((), (), (), ())
    assert [(part.name, part.price, part.supplier) for part in copy.parts] == [
        ("ground strap", None, ""), ("starter", None, "")]
    assert [(note.id, note.who, note.words) for note in copy.notes] == [
        (QUESTION_ID, "a colleague", "Is it the strap, [name]?"), ("q1", "the customer", "Thanked us.")]
    assert question_of(copy) == "Is it the strap, [name]?"
    assert is_question(copy)
    assert not is_question(JOB)


def test_a_name_that_only_the_person_knows_is_taken_out_when_it_is_told():
    """A workshop's hand who is nowhere in the job."""
    job = replace(JOB, complaints=(r.Complaint(id="c1", words="Ask Ostrel."),))
    assert opinion_copy(job, MARK).complaints[0].words == "Ask Ostrel."
    assert opinion_copy(job, MARK, also=("Ostrel",)).complaints[0].words == "Ask [name]."


def test_sentences_and_photos_are_left_out_by_choice():
    """Each by its place; a note without words goes whole, a step stays without its remark."""
    whole = opinion_copy(JOB, MARK)
    places = {text.place for text in free_texts(whole)}
    assert {("complaints", "c1", "words"), ("steps", "s1", "note"), ("notes", "q1", "words"),
            ("photos", "f1", "caption")} <= places
    copy = opinion_copy(JOB, MARK, left_out={Place("steps", "s1", "note"), Place("notes", "q1", "words")},
                        photos_left_out={"f1"})
    assert (copy.steps[0].note, copy.notes, copy.photos) == ("", (), ())
    assert copy.complaints == whole.complaints
    assert free_texts(without_texts(whole, places)) == ()


def test_what_is_left_out_does_not_depend_on_what_is_asked():
    """A question is one more note in front of the others: the choice still means the same note."""
    left_out = {Place("notes", "q1", "words")}
    assert [note.id for note in opinion_copy(JOB, MARK, question="Why?", asked=NOW, left_out=left_out).notes] == [
        QUESTION_ID]


def test_what_was_taken_out_is_told_in_words():
    """People by name, plate, VIN, and how many prices, notes and positions."""
    copy = opinion_copy(JOB, MARK)
    lines = list(taken_out(JOB, copy).lines())
    assert lines[:4] == ["People: Mrs Joan Dent, R. Bolt, K. Weld, Joan Dent", "Plate: taken out",
                         "VIN: its last six places", "Prices: 10 amounts"]
    assert lines[4] == "Left out whole: 2 clock lines, 2 approvals, 1 internal note"
    assert lines[5] == "Photo positions: 1"
    assert "2\N{NO-BREAK SPACE}×\N{NO-BREAK SPACE}[plate]" in lines[6]
    assert "ground strap" in labels_of(copy)


def test_names_that_steps_refer_to_are_told_because_they_stay():
    """A wire that bears the customer's name: masked, nothing would refer to it."""
    circuit = r.Circuit(id="XX31ABC", elements=(r.Element(id="Dent's fuse", kind="fuse", between=("Joan", "B-")),))
    job = replace(JOB, circuits=(circuit,), access=())
    assert taken_out(job, opinion_copy(job, MARK)).left == ("XX31ABC", "Dent's fuse", "Joan")
    assert taken_out(JOB, opinion_copy(JOB, MARK)).left == ()
    assert taken_out(JOB, opinion_copy(JOB, MARK), ("out",)).left == ("F1 out",)


def test_nothing_taken_out_is_said_as_well():
    """A person sees that it was looked for."""
    bare = r.Job(complaints=(r.Complaint(id="c1", words="Dead"),))
    assert list(taken_out(bare, opinion_copy(bare, MARK)).lines()) == [
        "People: none was named in a field", "Plate: none was noted", "VIN: none was noted", "Prices: none was noted",
        "Photo positions: no photo carried one"]


def test_a_masked_line_is_no_longer_than_a_line_may_be():
    """Else the copy could not be read back."""
    job = replace(JOB, parts=(r.Part(id="p1", name="£1 " * 133),))
    copy = opinion_copy(job, MARK)
    assert read_job(write_job(copy), "question") == copy
