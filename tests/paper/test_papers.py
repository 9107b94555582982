"""Every paper beside the report: read by two readers, tagged, always the same, nothing internal, for any job."""

from __future__ import annotations

import dataclasses
import io
import re
import shutil
from datetime import datetime
from decimal import Decimal
from pathlib import Path

import pikepdf
import pypdf
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from paper.made_papers import ISSUED, NAMES, PAPERS, SHEETS, made, made_of_sample, plain, sample, text_of, tool
from paper.test_structure import check_marks, elements

from workshop_log.exchange import records
from workshop_log.paper.look import Look
from workshop_log.paper.papers import KINDS, PaperError, make_paper, paper_input, paper_name, why_not

needs_poppler = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler-utils is not installed")
needs_qpdf = pytest.mark.skipif(shutil.which("qpdf") is None, reason="qpdf is not installed")
each_paper = pytest.mark.parametrize(("name", "kind", "paper"), PAPERS)
each_kind = pytest.mark.parametrize("kind", KINDS)
TITLES = {"estimate": "Estimate, job {}", "invoice": "Invoice summary, job {}", "receipt": "Intake receipt, job {}",
          "label": "Job {}"}


def key_words(name: str, kind: str) -> tuple[str, ...]:
    """Return what a paper of a sample job has to say."""
    job = sample(name)
    words = [TITLES[kind].format(job.number), job.vehicle.registration]
    if kind != "label":
        words += [job.customer.name, job.workshop.name, f"Tax number {job.workshop.tax_number}"]
    if kind in ("estimate", "receipt"):
        words += [f"“{one.words}”" for one in job.complaints]
    return tuple(map(plain, words))


# --- read from outside ----------------------------------------------------------------------------------------------


@each_paper
def test_key_words_are_read_by_pypdf(name, kind, paper):
    """Title, plate and, on what goes to the customer, who writes to whom."""
    text = text_of(made_of_sample(name, kind, paper))
    assert [words for words in key_words(name, kind) if words not in text] == []


@needs_poppler
@each_paper
def test_key_words_are_read_by_poppler(name, kind, paper, tmp_path):
    """The same for a reader that shares no code with the first."""
    text = plain(tool(made_of_sample(name, kind, paper), tmp_path, "pdftotext", "-raw", "FILE", "-"))
    assert [words for words in key_words(name, kind) if words not in text] == []


@needs_qpdf
@each_paper
def test_qpdf_finds_nothing_wrong(name, kind, paper, tmp_path):
    """The file is sound."""
    assert "No syntax or stream encoding errors" in tool(made_of_sample(name, kind, paper), tmp_path, "qpdf", "--check",
                                                         "FILE")


@needs_poppler
@each_paper
def test_every_font_is_embedded(name, kind, paper, tmp_path):
    """A paper looks the same on every machine."""
    lines = tool(made_of_sample(name, kind, paper), tmp_path, "pdffonts", "FILE").splitlines()[2:]
    assert lines
    for line in lines:
        assert re.search(r"\s(yes)\s+(yes|no)\s+(yes|no)\s+\d+\s+\d+\s*$", line), line


@needs_poppler
@each_paper
def test_every_word_stands_on_its_page(name, kind, paper, tmp_path):
    """Nothing is cut off at an edge."""
    assert outside_words(made_of_sample(name, kind, paper), tmp_path) == []


def outside_words(pdf: bytes, folder: Path) -> list[str]:
    """Return the words that do not lie within their page."""
    found = []
    for line in tool(pdf, folder, "pdftotext", "-bbox", "FILE", "-").splitlines():
        if page := re.search(r'<page width="([\d.]+)" height="([\d.]+)"', line):
            width, height = map(float, page.groups())
        elif word := re.search(r'xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*)</word', line):
            left, top, right, bottom = map(float, word.groups()[:4])
            if left < 0 or top < 0 or right > width or bottom > height:
                found.append(word[5])
    return found


# --- structure ------------------------------------------------------------------------------------------------------


@each_paper
def test_a_screen_reader_finds_everything(name, kind, paper):
    """Tagged, in English, with a title; headings in order, header cells in tables, a text for each picture."""
    with pikepdf.open(io.BytesIO(made_of_sample(name, kind, paper))) as pdf:
        assert bool(pdf.Root.MarkInfo.Marked)
        assert str(pdf.Root.Lang) == "en-GB"
        assert bool(pdf.Root.ViewerPreferences.DisplayDocTitle)
        assert sample(name).number in str(pdf.docinfo["/Title"])
        check_marks(pdf)
        found = list(elements(pdf))
        tags = [str(element.S) for element in found if re.fullmatch(r"/H\d", str(element.S))]
        assert tags[0] == "/H1"
        assert tags.count("/H1") == (2 if kind == "receipt" else 1)
        assert all(int(after[2]) - int(before[2]) <= 1 for before, after in zip(tags, tags[1:], strict=False))
        for table in [element for element in found if element.S == "/Table"]:
            assert {str(cell.S) for cell in table.K[0].K} == {"/TH"}
        assert all(str(figure.Alt) for figure in found if figure.S == "/Figure")
        # The job file goes with the report, not with these.
        assert len(pdf.attachments) == 0


# --- the same, and nothing that is nobody's business ----------------------------------------------------------------


@each_paper
def test_same_input_gives_the_same_bytes(name, kind, paper):
    """There is no clock in it but the time of issue."""
    assert made(kind, sample(name), paper=paper) == made_of_sample(name, kind, paper)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(name=st.sampled_from(NAMES), kind=st.sampled_from(KINDS), words=st.text(min_size=1, max_size=60),
       cost=st.decimals(min_value=0, max_value=9999, places=2))
def test_internal_notes_and_purchase_prices_change_nothing(name, kind, words, cost):
    """Whatever the workshop keeps to itself, the customer's paper is the same to the byte."""
    job = sample(name)
    if why_not(kind, job):
        return
    note = records.Note(id="secret", at=job.opened, words=words, internal=True)
    secret = replace(job, notes=(*job.notes, note),
                     parts=tuple(replace(part, cost=cost, supplier=words[:100]) for part in job.parts))
    assert made(kind, secret) == made_of_sample(name, kind, "A4")


@pytest.mark.parametrize(("name", "kind"), [(name, kind) for name in NAMES for kind in KINDS
                                            if not why_not(kind, sample(name))])
def test_no_internal_word_stands_on_a_paper(name, kind):
    """Neither what was noted for the workshop alone, nor who supplies it and for how much."""
    job = sample(name)
    text = text_of(made_of_sample(name, kind, "A4"))
    prices = {part.price for part in job.parts} | {line.amount for line in job.charges}
    kept = [note.words for note in job.notes if note.internal] + [part.supplier for part in job.parts]
    kept += [f"£{part.cost}" for part in job.parts if part.cost is not None and part.cost not in prices]
    assert [words for words in kept if words and plain(words) in text] == []


# --- odd jobs -------------------------------------------------------------------------------------------------------


@each_kind
def test_an_empty_job_says_what_is_missing(kind):
    """No paper is made of nothing; one sentence says what to do first."""
    reason = why_not(kind, records.Job())
    assert reason.endswith("first.")
    assert reason.count(". ") == 0
    with pytest.raises(PaperError, match=re.escape(reason)):
        made(kind, records.Job())


def test_an_unknown_kind_is_named():
    """A slip in a script is told from a job that is not ready."""
    assert "“bill”" in why_not("bill", sample("wiper"))


def odd_job(word: str, note: str) -> records.Job:
    """Return a job with these texts wherever a person may type."""
    job = sample("ground-strap")
    option = records.EstimateOption(id="o1", title=word, tells=note, labour_minutes=12, parts=Decimal("3.10"))
    moment = job.opened
    return replace(
        job, seal=None, photos=(), circuits=(), steps=(),
        charges=(records.Charge(id="x", what=word, amount=Decimal(1)),),
        vehicle=records.Vehicle(registration=word, make=word, vin=word, systems=("pyrotechnic",)),
        customer=records.Customer(name=word, address=note), handed_back=None, clock=(),
        workshop=replace(job.workshop, name=word, address=note, tax_number=word),
        complaints=(records.Complaint(id="c", words=note, conditions=word),),
        condemned=(records.Condemned(id="k", part=f"{word} airbag", decision="replace", finding=note, circuit=None),),
        parts=(records.Part(id="p", name=word, number=word, price=Decimal(2), fitted=moment, condemned="k"),),
        notes=(records.Note(id="n", at=moment, words=note, who=word, internal=False),),
        estimate=(option, replace(option, id="o2", parts=Decimal(0))),
        approvals=(records.Approval(id="a", at=moment, by=word, words=note, up_to=Decimal(9)),))


@needs_poppler
@each_kind
@pytest.mark.parametrize("paper", SHEETS)
@pytest.mark.parametrize("word", ["W" * 400, "<b>&amp; {number} %s", "\u05d0\U0001f600\x00 \u202e loom"])
def test_long_texts_and_unbroken_words_fit(kind, paper, word, tmp_path):
    """Notes of 10,000 characters and words of 400 neither stop a paper nor run over its edge."""
    note = "The strap was looked at again. " * 330 + "Last word."
    pdf = made(kind, odd_job(word, note), paper=paper, stationery=None)
    assert outside_words(pdf, tmp_path) == []
    if kind in ("estimate", "receipt"):
        assert "Last word." in text_of(pdf)


@needs_poppler
@pytest.mark.parametrize("kind", ["estimate", "receipt", "invoice"])
def test_terms_of_any_length_follow_at_the_end(kind, tmp_path):
    """What the workshop has set stands in full on what it is for."""
    content = paper_input(kind, sample("door-window"), {}, ISSUED)
    words = "Holds for 30 days. " * 500 + "Payment on collection."
    pdf = make_paper(kind, dataclasses.replace(content, look=Look(terms=words)))
    assert "Payment on collection." in text_of(pdf)
    assert outside_words(pdf, tmp_path) == []


@settings(max_examples=25, deadline=None)
@given(kind=st.sampled_from(KINDS), word=st.text(min_size=1, max_size=80), note=st.text(min_size=1, max_size=200))
def test_any_text_can_be_printed(kind, word, note):
    """No text that a person could type or paste keeps a paper from being made."""
    job = replace(odd_job(word, note), number=word[:32])
    if not why_not(kind, job):
        with pikepdf.open(io.BytesIO(made(kind, job))) as pdf:
            assert len(pdf.pages) >= 1


def test_markup_is_printed_as_typed():
    """Whatever a person types stands on the paper, character by character."""
    text = '<img src="/etc/hostname"/> R&D {number}'
    for kind in KINDS:
        assert text in text_of(made(kind, odd_job(text, text))), kind


# --- names and refusals ---------------------------------------------------------------------------------------------


@each_kind
def test_a_paper_is_named_after_its_job(kind):
    """Kind, number and plate, in characters that every system takes."""
    assert paper_name(kind, sample("wiper")).endswith(" 2031-0011 ZZ00FLD.pdf")
    odd = replace(sample("wiper"), number='a/b\\c:"..', vehicle=records.Vehicle(registration="../x"))
    assert not set('/\\:"') & set(paper_name(kind, odd))
    assert re.fullmatch(r"[A-Z][a-z ]+\.pdf", paper_name(kind, records.Job()))


def test_a_time_without_a_zone_is_refused():
    """A date that means another day elsewhere is none."""
    with pytest.raises(PaperError, match="time zone"):
        paper_input("receipt", sample("wiper"), {}, datetime(2031, 5, 2))


def test_an_unknown_sheet_is_refused():
    """A sheet that nobody has is named."""
    with pytest.raises(PaperError, match="A5"):
        paper_input("receipt", sample("wiper"), {}, ISSUED, paper="A5")


@pytest.mark.parametrize("kind", ["estimate", "invoice", "receipt"])
def test_what_needs_a_sheet_is_not_printed_on_a_label(kind):
    """The sentence says which sheet it needs."""
    with pytest.raises(PaperError, match="A4 or on Letter"):
        made(kind, sample("wiper"), paper="label")


def test_every_sheet_has_its_size():
    """A4, Letter, and a label of 89 x 36 mm."""
    sizes = {}
    for paper in (*SHEETS, "label"):
        page = pypdf.PdfReader(io.BytesIO(made_of_sample("wiper", "receipt", paper) if paper != "label" else
                                          made_of_sample("ground-strap", "label", paper))).pages[0]
        sizes[paper] = tuple(round(float(x) / 72 * 25.4) for x in page.mediabox[2:])
    assert sizes == {"A4": (210, 297), "Letter": (216, 279), "label": (89, 36)}


@each_paper
def test_no_page_is_empty(name, kind, paper):
    """Not even the last one, where the paper ends at the foot of the page before."""
    pages = pypdf.PdfReader(io.BytesIO(made_of_sample(name, kind, paper))).pages
    # A page's footer alone is shorter.
    assert all(len(page.extract_text()) > 80 for page in pages)
