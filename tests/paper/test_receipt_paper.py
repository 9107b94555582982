"""The intake receipt: what was said and agreed when the vehicle came, and nothing that came later."""

from __future__ import annotations

import hashlib
import io
from datetime import timedelta
from decimal import Decimal

import pikepdf
import pypdf
import pytest
from msgspec.structs import replace
from paper.conftest import picture
from paper.made_papers import ISSUED, NAMES, made, made_of_sample, plain, sample, text_of
from paper.test_papers import elements

from workshop_log.exchange.records import Approval, Note, Photo

STRAP = sample("ground-strap")


@pytest.mark.parametrize("name", NAMES)
def test_the_complaint_stands_as_the_customer_said_it(name):
    """Word for word, in quotation marks, on the copy of each; whether the workshop saw it came later."""
    text, job = text_of(made_of_sample(name, "receipt", "A4")), sample(name)
    for one in job.complaints:
        assert text.count(f"“{plain(one.words)}”") == 2
    assert "We saw it" not in text
    assert text.count("Copy for the customer") == text.count("Copy for the workshop") == 1
    assert text.count("Handed over by") == text.count("Received by") == 2


def test_each_copy_begins_on_its_own_page():
    """So that they can be handed apart; one alone can be had too."""
    pages = [plain(page.extract_text()) for page in
             pypdf.PdfReader(io.BytesIO(made_of_sample("ground-strap", "receipt", "A4"))).pages]
    assert [("Copy for the customer" in page, "Copy for the workshop" in page) for page in pages] == [
        (True, False), (False, True)]
    text = text_of(made("receipt", STRAP, copies=1))
    assert "Copy for" not in text
    assert text.count("Handed over by") == 1


def test_what_was_agreed_later_is_not_on_it():
    """The limit of the intake, with the customer's words for it."""
    text = text_of(made_of_sample("ground-strap", "receipt", "A4"))
    assert "Prue Tansley agreed to up to £115.20, in person, on 12 March 2031." in text
    assert "In these words: “Find out why it cranks slowly; ring before any part is ordered.”" in text
    assert "£240.00" not in text
    assert "Nothing that goes beyond the agreed amount is done before you have said yes." in text


def test_without_an_amount_nothing_is_promised_of_one():
    """Agreed without a limit, or not agreed at all."""
    nothing = text_of(made("receipt", replace(STRAP, approvals=(), seal=None)))
    assert "No amount is agreed yet." in nothing
    assert "Nothing is repaired and no part is ordered before you have said yes to an amount." in nothing
    free = Approval(id="a", at=STRAP.opened, by="P. Tansley")
    text = text_of(made("receipt", replace(STRAP, approvals=(free,), seal=None)))
    assert "P. Tansley agreed without a limit, in person" in text
    assert "goes beyond" not in text


def test_notes_of_the_intake_are_its_state_and_later_ones_are_not():
    """What was noted before the work began and may leave the workshop."""
    before, after = STRAP.opened + timedelta(minutes=2), ISSUED
    notes = (Note(id="n1", at=before, words="Scratch on the left door", internal=False),
             Note(id="n2", at=before, words="Smells of dog", internal=True),
             Note(id="n3", at=after, words="Fetched by her brother", internal=False))
    text = text_of(made("receipt", replace(STRAP, notes=notes, seal=None)))
    assert "Its state 12 March 2031" in text
    assert "Scratch on the left door." in text
    assert "dog" not in text
    assert "brother" not in text
    assert "Its state" not in text_of(made("receipt", replace(STRAP, notes=notes[1:], seal=None)))


def test_photos_of_the_intake_are_shown_small_with_their_text():
    """Those of tests are the report's; of many the first nine."""
    data = picture(800, 600, "door")
    sha = hashlib.sha256(data).hexdigest()
    photos = tuple(Photo(id=f"f{n}", caption=f"Left door {n}", sha256=sha, step=None, taken=STRAP.opened, data=data,
                         name=str(n)) for n in range(1))
    other = Photo(id="f9", caption="The joint", sha256="0" * 64, step="s1")
    missing = Photo(id="f8", caption="Lost", name="lost.jpg", sha256="1" * 64)
    pdf = made("receipt", replace(STRAP, photos=(*photos, other, missing), seal=None), copies=1)
    text = text_of(pdf)
    assert "Left door 0" in text
    assert "lost.jpg: this picture is not in the book." in text
    assert "The joint" not in text
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        figures = [element for element in elements(opened) if element.S == "/Figure"]
        assert [str(figure.Alt) for figure in figures] == ["Left door 0"]
        left, bottom, right, top = map(float, figures[0].A.BBox)
        assert right - left <= 125
        assert top - bottom <= 84.01
    many = tuple(Photo(id=f"f{n}", caption=f"View {n}", sha256=f"{n:064x}", name=f"view {n}") for n in range(12))
    assert "3 more photos are kept with the job." in text_of(made("receipt", replace(STRAP, photos=many, seal=None)))


def test_cautions_follow_what_is_noted_of_the_vehicle():
    """Systems that can hurt, and no others."""
    text = text_of(made_of_sample("not-to-be-tested", "receipt", "A4"))
    assert text.count("Pyrotechnic restraints. ") == text.count("High voltage. ") == 2
    assert "What to mind" not in text_of(made_of_sample("ground-strap", "receipt", "A4"))
    assert "High voltage" not in text_of(made_of_sample("tailgate-unit", "receipt", "A4"))


def test_a_receipt_has_no_price_but_the_agreed_one():
    """It says what was agreed, not what came of it."""
    text = text_of(made("receipt", STRAP, copies=1))
    assert {word.strip(".,") for word in text.split() if word.startswith("£")} == {"£115.20"}
    assert Decimal("115.20") == STRAP.approvals[0].up_to
