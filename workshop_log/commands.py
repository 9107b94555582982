"""The command line: the same jobs as in the window, for a terminal and for scripts.

Exit status 0 done, 1 the answer is no (a broken seal, say), 2 wrong input, with one line that says what and where.
"""

from __future__ import annotations

import argparse
import gc
import io
import os
import sys
from collections.abc import Callable, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from workshop_log import __version__
from workshop_log.errors import WorkshopLogError
from workshop_log.terminal_progress import told
from workshop_log.whole_file import write_whole

if TYPE_CHECKING:
    from collections.abc import Iterator

    from workshop_log.book.opening import Book
    from workshop_log.delivery.findings import Findings
    from workshop_log.exchange.records import Job
    from workshop_log.jobs.evaluation import Evaluation

DONE, NO, WRONG_INPUT, INTERRUPTED = 0, 1, 2, 130


class CommandError(WorkshopLogError):
    """Wrong input on the command line."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Carry out one command and return the exit status; without a command the window opens."""
    arguments = sys.argv[1:] if arguments is None else arguments
    # The window shall stand at once, so nothing is looked up for it that it does not need.
    if not arguments or (len(arguments) == 2 and arguments[0] == "--book" and not arguments[1].startswith("-")):
        return _carry_out(lambda: _window(arguments[1] if arguments else None))
    given = _parser().parse_args(arguments)
    return _carry_out(lambda: given.act(given))


def _carry_out(act: Callable[[], int]) -> int:
    """Return the exit status of a command, with one line for what could not be done."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        # A terminal without our signs shows a question mark for them.
        sys.stdout.reconfigure(errors="replace")
    try:
        status = act()
        # A window started without a terminal has no output.
        if sys.stdout is not None:
            sys.stdout.flush()
        return status
    except WorkshopLogError as error:
        print(f"workshop-log: {' '.join(str(error).split())}", file=sys.stderr)
        return WRONG_INPUT
    except BrokenPipeError:
        # Whoever read has seen enough; Python must not complain about it at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except OSError as error:
        where = f" {error.filename}" if error.filename else ""
        print(f"workshop-log: this could not be done:{where} {error.strerror or error}.", file=sys.stderr)
        return WRONG_INPUT
    except KeyboardInterrupt:
        print("workshop-log: stopped.", file=sys.stderr)
        return INTERRUPTED


def _book_option(default: str | None) -> argparse.ArgumentParser:
    """Return the option that every command shares, to be given before or after the command."""
    shared = argparse.ArgumentParser(add_help=False)
    shared.add_argument("--book", metavar="URL", default=default,
                        help="another book: a file, sqlite:///FILE or postgresql+psycopg://…")
    return shared


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="workshop-log", parents=[_book_option(None)],
        description="The logbook of a vehicle-electrics workshop. Without a command the window opens.")
    parser.add_argument("--version", action="version", version=f"workshop-log {__version__}")
    parser.set_defaults(act=lambda given: _window(given.book))
    # Suppressed, so that --book before the command is not overwritten by its absence after it.
    shared = _book_option(argparse.SUPPRESS)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")

    def command(name: str, act: Callable[[argparse.Namespace], int], help_text: str) -> argparse.ArgumentParser:
        made = commands.add_parser(name, parents=[shared], help=help_text, description=help_text)
        made.set_defaults(act=act)
        return made

    made = command("import", _import, "Take job files into the book; an answer to a question is laid beside its job.")
    made.add_argument("files", nargs="+", type=Path, metavar="FILE")
    made = command("export", _export, "Write a job as a job file.")
    made.add_argument("job", metavar="JOB", help="the job's number")
    made.add_argument("-o", "--output", type=Path, metavar="FILE", help="where to; without it to the terminal")
    copies = made.add_mutually_exclusive_group()
    copies.add_argument(
        "--anonymous", action="store_true", help="without people, plate, serial number and photo positions"
    )
    copies.add_argument("--for-opinion", action="store_true",
                        help="a question for a colleague: anonymous, and without prices and internal notes; for a "
                             "colleague's question the answer to it")
    made.add_argument("--with-photos", action="store_true",
                      help="with --for-opinion: a plate or a face in a picture is not found, so look at each before")
    made.add_argument("--question", metavar="WORDS", help="what the colleague is asked; with --for-opinion")
    made = command("evaluate", _evaluate, "Judge the readings of a job.")
    made.add_argument("job", metavar="FILE|JOB")
    made.add_argument("--json", action="store_true", help="everything, with full precision")
    made = command("report", _report, "Write the report of a job as a PDF.")
    made.add_argument("job", metavar="FILE|JOB")
    made.add_argument("-o", "--output", type=Path, required=True, metavar="OUT.pdf")
    made.add_argument("--for", dest="reader", choices=("customer", "expert"), default="customer")
    made.add_argument("--paper", choices=("A4", "Letter"), default="A4")
    made.add_argument("--issued", type=_moment, metavar="TIME",
                      help="date of the report, ISO 8601 with offset; without it the time of the job's last entry")
    made = command("paper", _paper, "Write another paper of a job as a PDF: estimate, invoice, receipt or label.")
    made.add_argument("kind", metavar="KIND", choices=("estimate", "invoice", "receipt", "label"),
                      help="estimate, invoice, receipt or label")
    made.add_argument("job", metavar="FILE|JOB")
    made.add_argument("-o", "--output", type=Path, required=True, metavar="OUT.pdf")
    made.add_argument("--paper", type=str.lower, choices=("a4", "letter"), metavar="a4|letter",
                      help="the sheet; without it A4, and for labels one label on each page")
    made.add_argument("--part", default="", metavar="ID", help="one removed part, by its case or by the part fitted")
    made.add_argument("--issued", type=_moment, metavar="TIME",
                      help="date of the paper, ISO 8601 with offset; without it the time of the job's last entry")
    made = command("circuit", _circuit, "Print what every point of a job's circuits shows.")
    made.add_argument("job", metavar="FILE|JOB")
    made.add_argument("--circuit", metavar="ID", help="one circuit of the job; without it all of them")
    made.add_argument("--setup", metavar="NAME", default="as found", help="the condition, by its short name")
    made.add_argument("--fault", metavar="FAULT", help="as “W1: short to ground=0.5 ohm” or “F7: open”")
    made = command("verify", _verify, "Say whether a report, a job file or a job is as it was sealed, and if not, "
                                      "which entry differs first.")
    made.add_argument("job", metavar="REPORT.pdf|FILE|JOB")
    made.add_argument("--fingerprint", metavar="TEXT", help="the fingerprint on the paper, short or in full, with or "
                                                            "without spaces")
    made = command("search", _search, "Search the book.")
    made.add_argument("words", nargs="+", metavar="WORDS")
    made = command("backup", _backup, "Write a copy of the whole book.")
    made.add_argument("-o", "--output", type=Path, metavar="FILE")
    made = command("restore", _restore, "Put a copy in the place of the book; the present one is kept beside it.")
    made.add_argument("file", type=Path, metavar="FILE")
    command("check", _check, "Look after the program's own health: book, fonts, printers, mail.")
    return parser


def _moment(text: str) -> datetime:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"“{text}” is no time: write 2031-04-02T16:30:00+01:00") from None
    if moment.tzinfo is None:
        raise argparse.ArgumentTypeError(f"“{text}” has no offset: write 2031-04-02T16:30:00+01:00")
    return moment


def _now() -> datetime:
    return datetime.now().astimezone().replace(microsecond=0)


# --- what the commands share ----------------------------------------------------------------------------------------


@contextmanager
def _open(given: argparse.Namespace) -> Iterator[Book]:
    from workshop_log.book.opening import open_book

    book = open_book(given.book)
    try:
        yield book
    finally:
        book.close()


def _is_file(text: str) -> bool:
    """Return whether what was given is a file's name rather than a job's number."""
    return text.lower().endswith((".json", ".pdf")) or os.sep in text or Path(text).is_file()


def _job_with_photos(given: argparse.Namespace) -> tuple[Job, Evaluation, dict[str, bytes]]:
    """Return the job that is meant, its judged readings and the bytes of its photos."""
    from workshop_log.jobs.evaluation import evaluate

    if _is_file(given.job):
        from workshop_log.jobs.transfer import read_file

        job = read_file(Path(given.job))
        return job, evaluate(job), {photo.sha256: photo.data for photo in job.photos if photo.data is not None}

    from workshop_log.book.jobs import load_job
    from workshop_log.book.settings import load_settings
    from workshop_log.jobs.handing import photo_bytes

    with _open(given) as book:
        with book.read() as session:
            job, settings = load_job(session, given.job), load_settings(session)
        return job, evaluate(job, settings), photo_bytes(book, job)


def _put(data: bytes) -> None:
    """Put what another program will read out as it is: in UTF-8, whatever the terminal's encoding."""
    sys.stdout.flush()
    sys.stdout.buffer.write(data)
    sys.stdout.buffer.flush()


# --- the commands ---------------------------------------------------------------------------------------------------


def _window(book: str | None) -> int:
    has_screen = sys.platform in ("win32", "darwin") or any(
        os.environ.get(name) for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"))
    if not has_screen:
        raise CommandError("There is no screen here. Use a command instead: workshop-log --help lists them.")
    # What is made while the window starts stays as long as it does: to look for garbage among it costs time only.
    gc.disable()
    try:
        from workshop_log.desktop.app import run

        return run(book)
    finally:
        gc.enable()


def _import(given: argparse.Namespace) -> int:
    from workshop_log.jobs.opinions import take_in_file

    status = DONE
    with _open(given) as book:
        for count, path in enumerate(given.files, 1):
            if sys.stderr.isatty():
                print(f"\r{count} of {len(given.files)}", end="", file=sys.stderr, flush=True)
            try:
                taken = take_in_file(book, path, _now())
            except WorkshopLogError as error:
                print(f"workshop-log: {error}", file=sys.stderr)
                status = WRONG_INPUT
            else:
                print(f"{taken.number}  {path.name}{' (an answer, laid beside the job)' if taken.is_beside else ''}")
    if sys.stderr.isatty():
        print(file=sys.stderr)
    return status


def _export(given: argparse.Namespace) -> int:
    from workshop_log.jobs.transfer import export_job

    if (given.question is not None or given.with_photos) and not given.for_opinion:
        raise CommandError("--question and --with-photos go with --for-opinion.")
    with _open(given) as book:
        if given.for_opinion:
            from workshop_log.jobs.asking import question_or_answer

            data, left = question_or_answer(book, given.job, _now(), given.question or "",
                                            with_photos=given.with_photos)
            if left:
                names = ", ".join(f"“{name}”" for name in left)
                print(f"workshop-log: these names give people or the vehicle away and are still in it, because tests "
                      f"refer to them: {names}. Give them other names first.", file=sys.stderr)
        else:
            with told("Writing the job file") as progress:
                data = export_job(book, given.job, given.anonymous, progress)
    if given.output is None:
        _put(data)
    else:
        write_whole(given.output, data)
    return DONE


def _evaluate(given: argparse.Namespace) -> int:
    import json

    from workshop_log.jobs.evaluation import as_json
    from workshop_log.jobs.suspicion_json import circuits_json

    job, evaluation, _ = _job_with_photos(given)
    if given.json:
        told = as_json(evaluation, circuits_json(job, **_of_the_workshop(given)))
        _put(f"{json.dumps(told, indent=1, ensure_ascii=False, allow_nan=False)}\n".encode())
        return DONE
    for line in (*_told(job, evaluation), *_told_suspicion(job, **_of_the_workshop(given))):
        print(line)
    return DONE


def _told(job: Job, evaluation: Evaluation) -> Iterator[str]:
    """Yield the job's readings for people."""
    from workshop_log.jobs.labels import setup_words, step_title, vehicle_words
    from workshop_log.jobs.waiting import waits_for
    from workshop_log.measuring.entry import show_entry

    yield f"Job {job.number}  {job.vehicle.registration}  {vehicle_words(job.vehicle)}".rstrip()
    for complaint in job.complaints:
        yield f"  “{' '.join(complaint.words.split())}”"
    yield ""
    for step in job.steps:
        judged, remark = evaluation.reading_of(step.id), evaluation.remark_of(step.id)
        condition = f", {setup_words(step, job)}" if step.setup else ""
        after = " (after the repair)" if step.after_repair else ""
        title = f"{step.id:>4}  {step_title(step, job)}{condition}{after}"
        if judged is None:
            yield f"{title}: {remark.words if remark else ''}"
            continue
        reading = show_entry(judged.entry) if judged.entry else judged.words
        verdict = judged.verdict.value.upper() if judged.verdict else "no verdict"
        expected = f", expected {judged.expected.words()} ({judged.expected.source})" if judged.expected else ""
        replaced = "  [replaced]" if judged.replaced else ""
        yield f"{title}: {reading}{expected}: {verdict}{replaced}"
    yield ""
    for finding in evaluation.findings:
        if finding.severity != "note":
            yield f"  {finding.words}"
    yield f"{waits_for(job, evaluation).words}."


def _of_the_workshop(given: argparse.Namespace) -> dict[str, Any]:
    """Return what the book knows of times and costs; nothing for a job from a file."""
    if _is_file(given.job):
        return {}
    from workshop_log.book.settings import load_settings
    from workshop_log.jobs.learning import learnt_minutes

    with _open(given) as book, book.read() as session:
        return {"usual_minutes": learnt_minutes(session), "come_back": load_settings(session).come_back}


def _told_suspicion(job: Job, **workshop: Any) -> Iterator[str]:
    """Yield what is still possible, what to test next and what condemning would cost, for people."""
    from workshop_log.jobs.suspecting import decision_of, proposals_of, suspicion_of
    from workshop_log.jobs.suspicion_words import suspect_lines

    circuits = [circuit.id for circuit in job.circuits if circuit.elements] + ([""] if job.suspects else [])
    for circuit in circuits:
        told = suspicion_of(job, circuit)
        decision = next((found for entry in reversed(job.condemned) if entry.element and circuit
                         for found in [decision_of(job, circuit, entry.element, **workshop)] if found), None)
        yield ""
        yield from suspect_lines(told, proposals_of(job, circuit, **workshop), decision)


def _report(given: argparse.Namespace) -> int:
    from workshop_log.exchange.seal import seal_job
    from workshop_log.jobs.clock import last_recorded
    from workshop_log.paper.look import PLAIN, look_of
    from workshop_log.paper.report import make_report
    from workshop_log.paper.report_input import report_input

    job, evaluation, photos = _job_with_photos(given)
    if job.seal is None:
        # A job file written by hand has no chain yet; its report is sealed all the same.
        job = seal_job(job)
    issued = given.issued or (last_recorded(job, job.opened) if job.opened else _now())
    set_up = _set_up(given)
    look = look_of(set_up["stationery"], set_up["logo"]) if set_up else PLAIN
    content = report_input(job, evaluation, photos, reader=given.reader, issued=issued, paper=given.paper, look=look,
                           come_back=set_up.get("come_back"))
    with told("Drawing the report") as progress:
        write_whole(given.output, make_report(content, progress))
    return DONE


def _paper(given: argparse.Namespace) -> int:
    from workshop_log.jobs.clock import last_recorded
    from workshop_log.paper.papers import make_paper, paper_input

    if given.part and given.kind != "label":
        raise CommandError("--part goes with a label only: leave it out, or write “label”.")
    job, _, photos = _job_with_photos(given)
    issued = given.issued or (last_recorded(job, job.opened) if job.opened else _now())
    paper = {"a4": "A4", "letter": "Letter"}.get(given.paper, "label" if given.kind == "label" else "A4")
    content = paper_input(given.kind, job, photos, issued, paper=paper, part=given.part, **_set_up(given))
    with told("Drawing the paper") as progress:
        write_whole(given.output, make_paper(given.kind, content, progress))
    return DONE


def _set_up(given: argparse.Namespace) -> dict[str, Any]:
    """Return how the papers of the book's workshop look; nothing for a job from a file."""
    if _is_file(given.job):
        return {}
    from workshop_log.book.settings import load_settings
    from workshop_log.jobs.handing import logo_of

    with _open(given) as book:
        with book.read() as session:
            settings = load_settings(session)
        return {"stationery": settings.stationery, "logo": logo_of(book, settings.stationery),
                "come_back": settings.come_back}


def _circuit(given: argparse.Namespace) -> int:
    from workshop_log.jobs.circuit_table import circuit_lines

    job, _, _ = _job_with_photos(given)
    circuits = [circuit for circuit in job.circuits if given.circuit in (None, circuit.id)]
    if not circuits:
        known = ", ".join(circuit.id for circuit in job.circuits) or "none"
        raise CommandError(f"Job {job.number} has no circuit “{given.circuit or ''}”; its circuits: {known}.")
    for circuit in circuits:
        print("\n".join(circuit_lines(circuit, given.setup, given.fault)))
    return DONE


def _verify(given: argparse.Namespace) -> int:
    found = _findings(given)
    print(found.headline)
    if len(found.checks) > 1 or found.headline != found.checks[0].words:
        for check in found.checks:
            print(f"  {check.what}: {check.result.value}: {check.words}")
    return DONE if found.is_whole else NO


def _findings(given: argparse.Namespace) -> Findings:
    from workshop_log.delivery import verifying

    if not _is_file(given.job):
        with _open(given) as book:
            return verifying.verify_stored(book, given.job, given.fingerprint)
    with _book_at_hand(given) as book:
        return verifying.verify_file(Path(given.job), book, given.fingerprint)


@contextmanager
def _book_at_hand(given: argparse.Namespace) -> Iterator[Book | None]:
    """Give the book if there is one; none is begun in order to look something up in it."""
    from workshop_log.book.opening import open_book
    from workshop_log.book.place import sqlite_path

    path = sqlite_path(given.book)
    book = None
    if path is None or path.exists():
        try:
            book = open_book(given.book, create=False)
        except WorkshopLogError as error:
            print(f"workshop-log: checked without the book. {' '.join(str(error).split())}", file=sys.stderr)
    try:
        yield book
    finally:
        if book is not None:
            book.close()


def _search(given: argparse.Namespace) -> int:
    from workshop_log.book.search import search_jobs

    with _open(given) as book, book.read() as session:
        rows = search_jobs(session, " ".join(given.words))
    for row in rows:
        print("  ".join((row.number, row.registration or "no plate", row.vehicle, " ".join(row.complaint.split()),
                         row.waits_for)))
    return DONE if rows else NO


def _backup(given: argparse.Namespace) -> int:
    from workshop_log.book.backup import backup

    target = given.output or Path(f"workshop-log-{_now():%Y-%m-%d-%H%M}.backup")
    with _open(given) as book, told("Copying the book") as progress:
        backup(book, target, progress)
    print(target)
    return DONE


def _restore(given: argparse.Namespace) -> int:
    from workshop_log.book.backup import restore

    with told("Taking the backup back") as progress:
        restored = restore(given.file, given.book, progress)
    print(restored)
    return DONE


def _check(given: argparse.Namespace) -> int:
    from workshop_log.delivery.health import checks

    worst = DONE
    for item in checks(given.book):
        print(f"{item.what:<10} {'ok' if item.is_well else 'NOT WELL':<9} {item.words}")
        if not item.is_well:
            worst = NO
    return worst


if __name__ == "__main__":
    sys.exit(main())
