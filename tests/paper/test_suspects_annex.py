"""The annex for the expert: every suspect, what cleared it, and what the figures rest on."""

from __future__ import annotations

import io
from collections import Counter
from dataclasses import replace
from decimal import Decimal

import pikepdf
import pypdf
import pytest
from paper.circuits import ladder
from paper.suspicions import suspicion_by_hand
from paper.test_narrowing import FEED, HEADING, ISSUED, TOLD, content_of, text_of
from paper.test_structure import check_marks, elements

from workshop_log.exchange import records
from workshop_log.jobs.places import Place
from workshop_log.jobs.suspicion import CircuitSuspicion, Decision, Proposal, Share, SuspectLine
from workshop_log.paper.report import make_report
from workshop_log.paper.report_input import ReportInput

ANNEX = "Every suspect, for the expert"
HEAD = "What those tests could have seen"


def expert_content(told=TOLD, job: records.Job | None = None, **facts: object) -> ReportInput:
    return content_of(*suspicion_by_hand(FEED, told, **facts), job, reader="expert")


def annex_of(content: ReportInput) -> str:
    return text_of(content).split(ANNEX)[1]


def test_only_the_expert_has_the_annex_and_its_method() -> None:
    """The customer is spared the method; the expert finds it named with what it was published in."""
    assert ANNEX not in text_of(content_of(*suspicion_by_hand(FEED, TOLD)))
    annex = annex_of(expert_content())
    for words in ("Bayes' rule", "JCGM 100:2008", "JCGM 106:2012"):
        assert words in annex, words
    assert HEADING in text_of(expert_content())


def test_every_suspect_stands_below_its_part_with_share_standing_and_what_cleared_it() -> None:
    """All 32 suspects have a line, and the parts a sum."""
    suspicion, _ = suspicion_by_hand(FEED, TOLD)
    annex = annex_of(expert_content())
    for line in suspicion.suspects:
        assert f"{line.element}: {line.fault}, {line.appears}" in annex, line.key
    # Two kinds of fault, three quarters of each always there, of the 98 in 100 of C3.2.
    assert "C3.2 (pin 2 of plug C3) 98 % proved" in annex
    assert "C3.2: open, always 37 % proved" in annex
    assert "W1: open, always <1 % cleared 5 any resistance in series above 350 mΩ (5)" in annex
    assert "Nothing wrong in this circuit <1 % standing" in annex


def test_size_and_likeness_of_a_suspect_are_said() -> None:
    """How large the fault is if it is this one; which others no test tells from it, by their numbers."""
    suspicion, history = suspicion_by_hand(FEED, TOLD)
    battery = [line.key for line in suspicion.suspects if line.share == "battery"]
    first = replace(suspicion.suspects[0], size="12 mΩ to 20 mΩ", same_as=tuple(battery[:2]))
    content = content_of(replace(suspicion, suspects=(first, *suspicion.suspects[1:])), history, reader="expert")
    annex = annex_of(content)
    assert "if it is this: 12 mΩ to 20 mΩ" in annex
    # C3.2 is the likeliest part and has four suspects; the battery comes next.
    assert "no test tells it from no. 5 and 6" in annex


def test_what_several_tests_could_have_seen_is_said_once() -> None:
    """The tests in the order of their numbers; each that could have seen the same is named with it."""
    line = SuspectLine("W1: open, always", "W1", "open", "always", "W1: open", 0.001, "cleared", share="W1",
                       cleared_by=("s12", "s4", "s9"), reach="s12, s4: an open at W1; s9: not an open")
    suspicion = CircuitSuspicion("feed", "Feed", suspects=(line,), n_steps=3,
                                 shares=(Share("W1", "W1", 0.001, "cleared", ("s12", "s4")),))
    annex = annex_of(content_of(suspicion, (), reader="expert"))
    assert "W1: open, always <1 % cleared 4, 9, 12 an open (4, 12); not an open (9)" in annex


def test_contradictions_and_assumptions_name_the_tests_as_the_report_does() -> None:
    """What the program calls step s4 is test 4 on paper, at the beginning of a sentence as well."""
    annex = annex_of(expert_content(contradictions=("Step s4 and step s2 cannot both be right: repeat step s4.",),
                                    assumptions=("Wires without a tolerance were taken as good to 10 %",)))
    assert "What does not go together Test 4 and test 2 cannot both be right: repeat test 4." in annex
    assert "What the figures rest on Wires without a tolerance were taken as good to 10 %." in annex


def test_circuit_that_cannot_be_computed_says_why() -> None:
    """The expert is told; nothing is left out in silence."""
    annex = annex_of(content_of(CircuitSuspicion("feed", "Feed", problem="F7 has no rating"), (), reader="expert"))
    assert "Nothing could be worked out: F7 has no rating." in annex


def test_two_circuits_have_a_title_each() -> None:
    """Which suspects belong to which circuit can be read."""
    content = expert_content()
    other = replace(content.suspicions[0], circuit="wash", title="Feed of the washer")
    annex = annex_of(replace(content, suspicions=(*content.suspicions, other)))
    assert annex.index("Feed of the pump") < annex.index("Feed of the washer")


def test_causes_written_by_hand_have_one_row_each() -> None:
    """A cause by hand is a part and a suspect at once; its method is another one."""
    shares = (Share("h1", "worn disc", 0.96, "proved"), Share("h2", "worn hub", 0.04, "cleared", ("s1",)))
    lines = tuple(SuspectLine(share.key, "", "", "", share.name, share.probability, share.standing,
                              cleared_by=share.cleared_by, share=share.key) for share in shares)
    annex = annex_of(content_of(CircuitSuspicion("", "by hand", suspects=lines, shares=shares, n_steps=1), (),
                                reader="expert"))
    assert annex.count("worn disc") == 1
    assert "1 worn disc 96 % proved 2 worn hub 4 % cleared 1" in annex
    assert "how strongly the technician said" in annex
    assert "JCGM" not in annex


# --- what being wrong would cost ------------------------------------------------------------------------------------

CASE = records.Condemned(id="k1", part="plug C3", circuit="feed", element="C3.2", decision="replace",
                         probability_right=0.9312, all_the_same="The customer leaves on Friday.")
LOOK = Proposal("k", "look", Place("feed", element="C3.2"), "Look: pin 2 of plug C3", "…", 4.0)
METER = Proposal("m", "voltage", Place("feed", point="C3.2a"), "Voltage: C3.2a to B−", "…", 2.0)


def decided(**facts: object) -> ReportInput:
    values = {"share": "C3.2", "name": "C3.2", "together": ("C3.2",), "probability_right": 0.981,
              "cost_if_wrong": Decimal("86.00"), "expected_loss": Decimal("1.63"), "words": "Condemning is cheaper",
              **facts}
    job = records.Job(circuits=(FEED,), condemned=(CASE,), workshop=records.Workshop(labour_rate=Decimal("64.00")))
    return replace(expert_content(job=job), decisions={"k1": Decision(**values)})


@pytest.mark.parametrize(("facts", "said"), [
    ({"going_on": Decimal("5.12")},
     "98 % £86.00 £1.63 not worth it: going on with the best test costs £5.12 93 % when it was decided"),
    ({"better_first": LOOK, "going_on": Decimal("1.20")},
     "98 % £86.00 £1.63 Look: pin 2 of plug C3 93 % when it was decided 4 min; going on with it costs £1.20"),
    ({"better_first": METER, "going_on": Decimal("0.80"), "look_first": LOOK, "looking": Decimal("1.20")},
     "Voltage: C3.2a to B− 2 min; going on with it costs £0.80 "
     "Look: pin 2 of plug C3 4 min; going on with it costs £1.20"),
    ({"better_first": METER, "going_on": Decimal("0.80"), "looking": Decimal("3.20")},
     "2 min; going on with it costs £0.80 not worth it: going on with a look costs £3.20"),
    ({"better_first": LOOK, "going_on": Decimal("1.20"), "look_first": LOOK, "looking": Decimal("1.20")},
     "Look: pin 2 of plug C3 4 min; going on with it costs £1.20 the same"),
    ({}, "98 % £86.00 £1.63 no test is left no look is left"),
    ({"is_cost_known": False}, "98 % not known not known not known not known")])
def test_figures_of_a_decision_are_printed(facts: dict, said: str) -> None:
    """How likely it is right, what being wrong costs and loses on average, the best test and the cheapest look."""
    annex = annex_of(decided(**facts)).split("What being wrong would cost on average")[1]
    words = said.split()
    # Cells of one row may be read in any order of their lines.
    row = Counter(annex.split("Fingerprint")[0].split())
    assert Counter(words) <= row
    assert "Condemning is cheaper." in annex


def test_reason_of_ones_own_is_printed_for_both_readers() -> None:
    """What was decided against the figures says why."""
    for reader in ("customer", "expert"):
        assert ("Why we decided so all the same: The customer leaves on Friday."
                in text_of(replace(decided(), reader=reader)))


def test_case_of_a_circuit_is_not_said_to_have_no_other_cause_named() -> None:
    """Where the circuit says what cleared the others, the technician need not have written it."""
    text = text_of(decided()).split("Condemned, and why")[1].split(ANNEX)[0]
    assert "Nothing is said about what else it could be" not in text


# --- long tables ----------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def long_report() -> bytes:
    """Return a report with more than 115 suspects."""
    circuit = ladder(37)
    told = [(f"s{number}", f"Look: fuse{number}", {f"fuse{number}": 0.001}) for number in range(1, 11)]
    suspicion, history = suspicion_by_hand(circuit, told)
    assert len(suspicion.suspects) >= 115
    return make_report(content_of(suspicion, history, records.Job(circuits=(circuit,)), reader="expert"))


def test_long_table_has_its_head_on_every_page_and_all_suspects(long_report: bytes) -> None:
    """Whoever turns the page still knows what the columns are."""
    pages = [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(long_report)).pages]
    with_rows = [page for page in pages if "comes and goes" in page and ", always" in page]
    assert len(with_rows) >= 3
    assert all(HEAD in page for page in with_rows)
    text = " ".join(pages)
    for number in range(12):
        assert text.count(f"fuse{number}: open, always") == 1


def test_long_table_is_one_table_with_one_header_and_everything_marked(long_report: bytes) -> None:
    """A header repeated on a further page is not heard again."""
    with pikepdf.open(io.BytesIO(long_report)) as pdf:
        check_marks(pdf)
        tables = [element for element in elements(pdf) if element.S == "/Table"]
        (rows,) = [list(table.K) for table in tables if len(table.K) > 100]
    assert [str(cell.S) for cell in rows[0].K] == ["/TH"] * 6
    assert all(str(cell.S) == "/TD" for row in rows[1:] for cell in row.K)


@pytest.mark.parametrize("count", range(4, 40, 5))
def test_part_never_stands_on_another_page_than_its_first_suspect(count: int) -> None:
    """A page does not end with the name of a part alone."""
    circuit = ladder(count)
    suspicion, history = suspicion_by_hand(circuit, [("s1", "Look", {"fuse0": 0.001})])
    content = content_of(suspicion, history, records.Job(circuits=(circuit,)), reader="expert")
    names = {element.id for element in circuit.elements}
    for page in pypdf.PdfReader(io.BytesIO(make_report(content))).pages:
        lines = [line.strip() for line in page.extract_text().splitlines()]
        if HEAD in lines:
            rows = [line for line in lines[lines.index(HEAD):] if line.split(": ")[0] in names]
            assert rows[-1] not in names


def test_issued_twice_it_is_the_same(long_report: bytes) -> None:
    """The annex holds nothing of the moment at which it is drawn."""
    content = decided()
    assert content.issued == ISSUED
    assert make_report(content) == make_report(content)
