"""The job file inside a report, taken out again."""

from __future__ import annotations

from pathlib import Path

from workshop_log.errors import WorkshopLogError


class NoJobFileError(WorkshopLogError, ValueError):
    """A PDF that cannot be read, or that carries no job file."""


def attached_job_file(path: Path) -> tuple[str, bytes]:
    """Return name and bytes of the job file that a report carries.

    Raises
    ------
    NoJobFileError
        If the file cannot be read, is no PDF, or carries no job file.
    """
    import pikepdf

    try:
        with pikepdf.open(path) as pdf:
            for name, attachment in pdf.attachments.items():
                if name.endswith(".job.json"):
                    return name, attachment.get_file().read_bytes()
    except pikepdf.PdfError as error:
        raise NoJobFileError(
            f"{path.name} is no PDF that can be read: take the report as it was handed over.") from error
    except OSError as error:
        raise NoJobFileError(f"{path.name} cannot be read: {error.strerror or error}.") from error
    raise NoJobFileError(
        f"{path.name} carries no job file: it is not a report of this program, or was made anew since."
    )
