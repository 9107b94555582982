"""Papers printed through a real CUPS into virtual printers, and what is said where that cannot be."""

from __future__ import annotations

import subprocess
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from delivery.papers import paper, words_of
from delivery.virtual_printers import EMPTY, OFFICE, SLOW, VirtualPrinters, needs_cups

from workshop_log.delivery import cups, printing
from workshop_log.delivery.cups import PrintingError
from workshop_log.delivery.printing import PrintJob, Sides, Standing, cancel, print_paper
from workshop_log.progress import Cancelled, Left

PAPER = paper(5)
ENOUGH_S = 20


def wait(condition: Callable[[], bool], printers: VirtualPrinters) -> None:
    until = time.monotonic() + ENOUGH_S
    while not condition():
        assert time.monotonic() < until, printers.log()
        time.sleep(0.02)


@needs_cups
def test_the_paper_arrives_page_by_page_with_its_words(printers: VirtualPrinters):
    """As text and not as a picture, under its own title, and the job is out of the queue."""
    handed = print_paper(PrintJob(PAPER, "Report 2031-0007 für Ümit", OFFICE))
    assert (handed.printer, handed.standing, handed.trouble, handed.is_well) == (OFFICE, Standing.PRINTED, "", True)
    kept = printers.kept(handed.name)
    assert words_of(kept.pdf) == [f"Page number {n}" for n in range(1, 6)]
    assert (kept.title, kept.copies) == ("Report 2031-0007 für Ümit", 1)
    assert printers.queued() == []


@needs_cups
def test_a_queue_without_a_driver_gets_the_very_bytes(printers: VirtualPrinters):
    """Nothing on this side of the queue touches the PDF."""
    printers.run("lpadmin", "-p", "bare", "-E", "-v", "virtual:/bare")
    handed = print_paper(PrintJob(PAPER, "bytes", "bare"))
    assert printers.kept(handed.name).pdf == PAPER


@needs_cups
@pytest.mark.parametrize(("pages", "expected"), [(((2, 3),), [2, 3]), (((1, 1), (4, 9)), [1, 4, 5])])
def test_only_the_chosen_pages_are_printed(printers: VirtualPrinters, pages: tuple, expected: list[int]):
    """One range, or several."""
    handed = print_paper(PrintJob(PAPER, "pages", OFFICE, pages=pages))
    assert words_of(printers.kept(handed.name).pdf) == [f"Page number {n}" for n in expected]


@needs_cups
@pytest.mark.parametrize(("collate", "told"), [(True, "collate"), (False, "nocollate")])
def test_two_copies_are_two_copies(printers: VirtualPrinters, collate: bool, told: str):
    """The printer gets the pages once, and is told how often and in which order: never one copy, never four."""
    handed = print_paper(PrintJob(PAPER, "copies", OFFICE, copies=2, pages=((2, 3),), collate=collate))
    kept = printers.kept(handed.name)
    assert kept.copies == 2
    assert words_of(kept.pdf) == ["Page number 2", "Page number 3"]
    assert {"collate", "nocollate"} & kept.options.keys() == {told}


@needs_cups
@pytest.mark.parametrize(("sides", "duplex"), [
    (Sides.LONG_EDGE, "DuplexNoTumble"), (Sides.SHORT_EDGE, "DuplexTumble"), (Sides.ONE, "None")])
def test_the_sides_reach_the_printer(printers: VirtualPrinters, sides: Sides, duplex: str):
    """In the words of its driver too."""
    kept = printers.kept(print_paper(PrintJob(PAPER, "sides", OFFICE, sides=sides)).name)
    assert (kept.options["sides"], kept.options["Duplex"]) == (sides.value, duplex)


@needs_cups
def test_what_was_not_chosen_is_left_to_the_printer(printers: VirtualPrinters):
    """No sides, no paper, no pages are made up."""
    kept = printers.kept(print_paper(PrintJob(PAPER, "plain", OFFICE)).name)
    assert not {"sides", "media", "page-ranges", "outputorder"} & kept.options.keys()


@needs_cups
def test_paper_order_and_further_choices_reach_the_printer(printers: VirtualPrinters):
    """The size of the sheets, the last page first, and whatever else the system's dialog offers."""
    kept = printers.kept(print_paper(
        PrintJob(PAPER, "x", OFFICE, reverse=True, paper="Letter", options=(("number-up", "2"),))).name)
    assert kept.options["media"] == "Letter"
    assert kept.options["number-up"] == "2"
    assert len(words_of(kept.pdf)) == 3
    assert "5" in words_of(kept.pdf)[0]


@needs_cups
def test_a_job_that_nobody_waits_for_is_taken_out_of_the_queue(printers: VirtualPrinters):
    """Ended while it prints: nothing comes out later."""
    def progress(done: int, _total: int) -> None:
        if done == 2 and printers.queued():
            raise Cancelled

    with pytest.raises(Cancelled):
        print_paper(PrintJob(PAPER, "ended", SLOW), progress)
    wait(lambda: not printers.queued(), printers)
    assert printers.came() == []


@needs_cups
def test_ended_before_it_began_nothing_is_handed_over(printers: VirtualPrinters):
    """No job was ever there."""
    def progress(_done: int, _total: int) -> None:
        raise Cancelled

    with pytest.raises(Cancelled):
        print_paper(PrintJob(PAPER, "ended", OFFICE), progress)
    assert printers.queued() == printers.came() == []


@needs_cups
@pytest.mark.parametrize("stage", [0, 1, 2])
def test_a_window_that_closes_does_not_call_a_paper_back(printers: VirtualPrinters, stage: int):
    """Somebody prints and goes home: whenever the window closes, the paper is printed."""
    def progress(done: int, _total: int) -> None:
        if done >= stage:
            raise Left

    with pytest.raises(Left):
        print_paper(PrintJob(PAPER, "left", OFFICE), progress)
    wait(lambda: len(printers.came()) == 1 and not printers.queued(), printers)


@needs_cups
def test_a_job_that_somebody_else_took_out_is_not_called_printed(printers: VirtualPrinters):
    """Ended at the printer or in the system's own list of jobs."""
    ended = threading.Event()

    def progress(done: int, _total: int) -> None:
        if done == 2 and not ended.is_set():
            printers.run("cancel", printers.queued()[0])
            ended.set()

    handed = print_paper(PrintJob(PAPER, "x", SLOW), progress)
    assert (handed.standing, handed.is_well) == (Standing.TAKEN_OUT, False)


@needs_cups
def test_what_is_in_no_queue_can_be_cancelled_without_harm(printers: VirtualPrinters):
    """It was printed meanwhile."""
    handed = print_paper(PrintJob(PAPER, "x", OFFICE))
    cancel(handed.name)
    assert printers.came() == [handed.name.rpartition("-")[2]]


@needs_cups
def test_a_printer_that_stops_keeps_the_job_and_says_why(printers: VirtualPrinters):
    """Out of paper: the job waits, and the person hears of it at once instead of waiting with it."""
    handed = print_paper(PrintJob(PAPER, "x", EMPTY))
    assert handed.standing is Standing.HELD
    assert handed.trouble == "it has no paper"
    assert not handed.is_well
    assert printers.queued() == [handed.name]


@needs_cups
def test_a_job_is_followed_for_a_while_only(printers: VirtualPrinters, monkeypatch: pytest.MonkeyPatch):
    """A big one goes on without being watched."""
    monkeypatch.setattr(printing, "FOLLOWED_S", 0.2)
    handed = print_paper(PrintJob(PAPER, "x", SLOW))
    assert (handed.standing, handed.is_well) == (Standing.WAITING, True)
    assert printers.queued() == [handed.name]


# --- where nothing can be printed -----------------------------------------------------------------------------------

@needs_cups
def test_nothing_is_left_in_the_queue_of_a_stopped_printer(printers: VirtualPrinters):
    """It would come out some other day."""
    printers.run("cupsdisable", OFFICE)
    with pytest.raises(PrintingError, match="The printer office has stopped: it was paused. Start it again"):
        print_paper(PrintJob(PAPER, "x", OFFICE))
    assert printers.queued() == []


@needs_cups
def test_a_printer_that_takes_nothing_is_told(printers: VirtualPrinters):
    """Its queue is closed."""
    printers.run("cupsreject", OFFICE)
    with pytest.raises(PrintingError, match="The printer office takes no jobs at present"):
        print_paper(PrintJob(PAPER, "x", OFFICE))


@needs_cups
def test_a_printer_that_is_gone_is_told(printers: VirtualPrinters):
    """It was there when the dialog opened."""
    with pytest.raises(PrintingError, match="There is no printer “attic” on this machine. Choose another one"):
        print_paper(PrintJob(PAPER, "x", "attic"))


@needs_cups
def test_what_the_printing_system_refuses_is_told_in_its_words(printers: VirtualPrinters):
    """No page of nonsense, no silence."""
    with pytest.raises(PrintingError, match="The printer office did not take the paper: .+, or save the PDF"):
        print_paper(PrintJob(b"", "empty", OFFICE))


@pytest.mark.skipif(not cups.has_lp(), reason="lp is not installed")
def test_a_printing_system_that_does_not_run_is_told(monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    """And no printers are found, rather than an error."""
    monkeypatch.setenv("CUPS_SERVER", str(tmp_path / "nobody"))
    assert cups.printers() == ()
    with pytest.raises(PrintingError, match="printing system of this machine .CUPS. does not run"):
        print_paper(PrintJob(PAPER, "x", OFFICE))


def test_without_lp_its_absence_is_told(monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    """With what to install, and what to do instead."""
    monkeypatch.setenv("PATH", str(tmp_path))
    assert not cups.has_lp()
    with pytest.raises(PrintingError, match=r"lp\w+, which hands papers to printers, is not installed .* save the PDF"):
        print_paper(PrintJob(PAPER, "x", OFFICE))


def test_a_printing_system_that_says_nothing_is_given_up(monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    """A server that is switched off must not hold the paper for ever."""
    program = tmp_path / "lpoptions"
    program.write_text("#!/bin/sh\nexec /bin/sleep 30\n")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr(cups, "PATIENCE_S", 0.2)
    with pytest.raises(PrintingError, match="did not answer for 0.2 seconds"):
        print_paper(PrintJob(PAPER, "x", OFFICE))


def test_a_job_has_copies():
    """None of it is a fault of the caller."""
    with pytest.raises(ValueError, match="0 copies"):
        PrintJob(PAPER, "x", OFFICE, copies=0)


@needs_cups
def test_the_server_of_the_tests_is_gone_afterwards():
    """It leaves no process and no folder behind, also after a failure."""
    from delivery.virtual_printers import running

    with pytest.raises(ZeroDivisionError), running() as own:
        folder = own.folder
        assert "is running" in own.run("lpstat", "-r")
        raise ZeroDivisionError
    assert not folder.exists()
    found = subprocess.run(["pgrep", "-f", str(folder)], capture_output=True, text=True, check=False)
    assert found.stdout == ""
