"""The benchmarks measure what they say: the same rows, the same pages, what is on the screen. Sizes are tiny here."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import bench
import pytest
from benches import big, opening, paper, reading, recording, searching, window
from benches.timing import Figures, Line, held_to, in_turn

# One in 250 jobs is still open.
JOBS, READINGS = 300, 3_000
# The fewest that the sample job fills.
PAGES = 9


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make a small big book."""
    return big.big_book(JOBS, READINGS, tmp_path_factory.mktemp("bench"))


@pytest.fixture
def opened(book: Path) -> Iterator:
    from workshop_log.book.opening import open_book

    with closing(open_book(book)) as made:
        yield made


def test_figures_of_many_runs():
    """Least, middle and the 95th of a hundred, by hand."""
    figures = Figures(tuple(float(n) for n in range(100, 0, -1)))
    assert (figures.least, figures.median, figures.p95) == (1.0, 50.5, 95.0)
    assert Figures((3.0,)).p95 == 3.0


def test_acts_take_turns_so_that_none_is_always_first():
    """A machine that slows down must not favour one of two."""
    order: list[str] = []
    figures = in_turn([lambda: order.append("a") or 1.0, lambda: order.append("b") or 2.0], 3)
    assert "".join(order) == "abbaab"
    assert [f.times for f in figures] == [(1.0,) * 3, (2.0,) * 3]


@pytest.mark.parametrize(("program", "baseline", "met"), [
    (30.0, 10.0, True), (30.1, 10.0, False), (49.0, 20.0, True), (50.0, 20.0, False)])
def test_a_goal_is_missed_when_one_half_of_it_is(program: float, baseline: float, met: bool):
    """Both the ratio and the time have to be right."""
    line = held_to("x", program, "ms", baseline, ratio=3, below=50)
    assert (line.is_met, line.goal) == (met, "≤ 3 × and < 50 ms")


def test_a_line_without_goal_is_neither_met_nor_missed():
    """What nobody promised is only told."""
    assert held_to("x", 1.0, "ms").is_met is None
    assert bench.row(Line("x", 1.0, "ms"))[3:5] == ("–", "–")


def test_a_missed_goal_is_said_so():
    """No figure is made to look better than it is."""
    assert bench.row(held_to("x", 4.0, "ms", 1.0, ratio=3))[1:5] == ("4.00 ms", "1.00 ms", "4.00", "≤ 3 ×: MISSED")


def test_the_book_is_made_once(book: Path, monkeypatch: pytest.MonkeyPatch):
    """A million readings are not made anew at every run."""
    import big_book

    monkeypatch.setattr(big_book, "make_big_book", lambda *_: pytest.fail("made again"))
    assert big.big_book(JOBS, READINGS, book.parent) == book
    assert not list(book.parent.glob("*unfinished"))


def test_what_the_program_asks_is_asked_again_word_for_word(opened, book: Path):
    """The comparison reads every row of a job: all its entries and what lies around them."""
    [number] = opening._numbers(book, 1)
    [asked] = opening._asked(opened, [number])
    with closing(recording.connect(book)) as connection:
        rows = recording.ask(connection, asked)
        assert not connection.in_transaction
        count = "SELECT count(*) FROM {} WHERE job_key = (SELECT key FROM jobs WHERE number = ?)"
        there = sum(connection.execute(count.format(table), (number,)).fetchone()[0]
                    for table in ("entries", "complaints", "fault_codes", "time_lines", "parts", "notes"))
    assert asked[0] == ("BEGIN", ())
    assert rows == there + 1
    assert there == 11 + 5


def test_recording_ends_with_the_block(opened):
    """Nothing of it is left in what is timed."""
    with recording.recorded(opened):
        pass
    with opened.read() as session:
        assert type(session.connection().connection.dbapi_connection) is sqlite3.Connection


def test_opening_and_searching_have_their_lines(book: Path):
    """Each figure is there, and each search finds what it says."""
    lines = list(opening.opening(book, jobs=5))
    assert [line.what.split(",")[1].strip() for line in lines] == ["median", "p95"] * 2
    assert all(line.baseline and line.program > 0 for line in lines)
    found = {line.what.split(":")[0]: line.note for line in searching.searching(book, rounds=2)}
    assert found["search, no hit"].startswith("0 found")
    assert not found["search, a plate"].startswith("0 ")
    assert found["search, the middle of a plate"].startswith("1 found")
    assert not found["search, two words"].startswith("0 ")
    assert found["list, first page"].startswith("200 jobs")


def test_entry_lines_that_are_timed_are_understood():
    """An entry line that is refused would be a quick one."""
    assert len(list(reading.reading(rounds=1, at_once=1))) == 2 + len(reading.LINES)


def test_the_compared_report_has_the_same_words_on_the_same_pages():
    """ReportLab alone draws what the report says, page by page."""
    import io

    from pypdf import PdfReader

    from workshop_log.paper.report import make_report

    content = paper.report_of(PAGES)
    taken = paper.Taken(content, PAGES)
    drawn = [[page.extract_text().split() for page in PdfReader(io.BytesIO(pdf)).pages]
             for pdf in (make_report(content), taken.draw())]
    assert len(drawn[0]) == PAGES
    assert [sorted(page) for page in drawn[0]] == [sorted(page) for page in drawn[1]]
    strokes = paper.Strokes(taken)
    assert paper.page_count(strokes.draw()) == PAGES
    assert strokes.texts > 300 and strokes.lines > 100


def test_windows_are_timed_until_their_list_is_seen(book: Path):
    """The window shows the first page of the book, then its job, with nothing heavy before."""
    lines = {line.what: line for line in window.start(book, runs=1, warm_runs=1)}
    first = lines["window painted, least"]
    # One start each says nothing about which is quicker on a busy machine.
    assert first.program > 0
    assert first.baseline > 0
    assert first.note.startswith("50 jobs shown; nothing heavy loaded by then")
    assert lines["everything loaded behind it, median"].program > 0


@pytest.mark.skipif(not Path("/proc/self/smaps_rollup").exists(), reason="only Linux counts memory so")
def test_memory_is_that_of_a_window_with_a_job(book: Path):
    """More than a bare window's."""
    for line in window.memory(book, runs=1):
        assert line.program > line.baseline > 10


def test_table_and_file_say_the_same(tmp_path: Path, capsys: pytest.CaptureFixture, monkeypatch: pytest.MonkeyPatch):
    """What is printed is what is kept."""
    monkeypatch.setattr(reading, "ROUNDS", 1)
    monkeypatch.setattr(reading.reading, "__defaults__", (1, 1))
    file = tmp_path / "figures.json"
    assert bench.main(["reading", "--json", str(file)]) == 0
    told = json.loads(file.read_text(encoding="utf-8"))
    printed = capsys.readouterr().out
    assert {line["name"] for line in told["lines"]} == {"reading"}
    assert all(line["what"] in printed for line in told["lines"])


@pytest.mark.parametrize("arguments", [["speed"], ["--jobs", "0"], ["--jobs", "many"], ["--readings", "-1"]])
def test_wrong_arguments_are_told(arguments: list[str], capsys: pytest.CaptureFixture):
    """In a sentence, before anything is made."""
    with pytest.raises(SystemExit) as ended:
        bench.main(arguments)
    assert ended.value.code == 2
    assert " error: " in capsys.readouterr().err
