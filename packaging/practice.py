"""Open the practice book: the second half of start.py, run by the project's own Python once all is installed."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

from environment import PROJECT, launcher, say
from platformdirs import user_data_path

SAMPLE_JOBS = PROJECT / "sample_jobs"

# Shown in the terminal: a whole job, with the same tests before and after the repair.
SHOWN_SAMPLE = "ground-strap.job.json"


class PracticeError(Exception):
    """The practice book cannot be made; the message is one sentence that says what to do."""


def workshop_log(*arguments: str) -> None:
    """Run the program with these arguments; what it says goes to the terminal.

    Raises
    ------
    PracticeError
        If it did not do what was asked.
    """
    status = subprocess.run([sys.executable, str(launcher()), *arguments], check=False).returncode
    if status != 0:
        raise PracticeError(f"`workshop-log {' '.join(arguments)}` did not succeed (exit status {status}).")


def make_practice_book(folder: Path) -> None:
    """Make the practice book with the sample jobs, the first time.

    It is made in a folder beside its own and renamed when it is complete, so an interrupted start leaves no half book.
    """
    if folder.exists():
        return
    unfinished = folder.with_name(folder.name + ".unfinished")
    try:
        if unfinished.exists():
            shutil.rmtree(unfinished)
        unfinished.mkdir(parents=True)
        say(f"Making a practice book with the sample jobs in {folder}.")
        samples = sorted(str(path) for path in SAMPLE_JOBS.glob("*.job.json"))
        workshop_log("--book", str(unfinished / "book.db"), "import", *samples)
        give_workshop(unfinished / "book.db")
        unfinished.rename(folder)
    except OSError as error:
        raise PracticeError(
            f"{error.filename or folder} cannot be written ({error.strerror}): put that right, then start again."
        ) from error


def give_workshop(path: Path) -> None:
    """Set the practice book's workshop, its instruments and its people as the shown sample has them.

    A job that somebody takes in for practice then has a letterhead, rates and a meter to choose.
    """
    from msgspec.structs import replace

    from workshop_log.book.opening import open_book
    from workshop_log.book.settings import save_setting
    from workshop_log.jobs.transfer import read_file

    job = read_file(SAMPLE_JOBS / SHOWN_SAMPLE)
    people = tuple(dict.fromkeys(line.person for line in job.clock))
    book = open_book(str(path))
    try:
        with book.session() as session:
            save_setting(session, "workshop", job.workshop)
            # Nobody has proved them today.
            save_setting(session, "instruments", tuple(replace(i, last_proved=None) for i in job.instruments))
            save_setting(session, "persons", people)
    finally:
        book.close()


def show_in_terminal(folder: Path) -> None:
    """Evaluate a sample job and write its report into the folder of the practice book."""
    sample = SAMPLE_JOBS / SHOWN_SAMPLE
    report = folder / SHOWN_SAMPLE.replace(".job.json", ".pdf")
    workshop_log("evaluate", str(sample))
    workshop_log("report", str(sample), "-o", str(report))
    say(f"The report of this job: {report}")


def main(arguments: list[str]) -> int:
    folder = user_data_path("workshop-log") / "practice"
    try:
        make_practice_book(folder)
        if arguments == ["terminal"]:
            show_in_terminal(folder)
            return 0
    except PracticeError as error:
        print(error, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("Stopped. The next start goes on from here.", file=sys.stderr)
        return 130
    # Here and not in a further process: starting one would cost as much as all the rest.
    from workshop_log.commands import main as workshop_log_main

    sys.argv = [str(launcher()), "--book", str(folder / "book.db")]
    return workshop_log_main()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
