"""What can go wrong with a book, each said in one sentence with its remedy."""

from __future__ import annotations

from workshop_log.errors import WorkshopLogError


class StorageUnavailableError(WorkshopLogError, OSError):
    """The environment keeps the book from being read or written: disk full, locked, read-only, no server.

    Attributes
    ----------
    place : str
        The file or server, as the person knows it; never with a password.
    reason, remedy : str
        What is wrong, and what to do.
    """

    def __init__(self, place: str, reason: str, remedy: str) -> None:
        self.place = place
        self.reason = reason
        self.remedy = remedy
        super().__init__(f"{place}: {reason} {remedy}")

    def __str__(self) -> str:
        return f"{self.place}: {self.reason} {self.remedy}"


class NotABookError(StorageUnavailableError):
    """The file or database holds something else."""


class NewerBookError(StorageUnavailableError):
    """The book was written by a newer release of the program."""


class DamagedBookError(StorageUnavailableError):
    """The file is damaged."""


class EditConflictError(WorkshopLogError, RuntimeError):
    """What was to be changed has meanwhile been changed elsewhere.

    Attributes
    ----------
    number : str
        The job; empty where it is not known.
    path : str
        The field, as in `set_fields`; empty where a whole row is meant.
    theirs : object
        What stands there now, where it is known.
    """

    def __init__(self, number: str, path: str = "", theirs: object = None) -> None:
        self.number = number
        self.path = path
        self.theirs = theirs
        job = f"Job {number}" if number else "This"
        field = f" ({path})" if path else ""
        super().__init__(f"{job}{field} was changed in another bay at the same time: look at it again, then repeat "
                         "your change if it is still wanted.")


class UnknownJobError(WorkshopLogError, LookupError):
    """There is no job with this number."""

    def __init__(self, number: str) -> None:
        self.number = number
        super().__init__(f"There is no job {number} in this book: check the number, or search for the vehicle.")


class UnknownItemError(WorkshopLogError, LookupError):
    """There is no such complaint, part, clock line, ... in the job."""

    def __init__(self, number: str, collection: str, item_id: str) -> None:
        self.number = number
        self.collection = collection
        self.item_id = item_id
        super().__init__(f"There is no “{item_id}” in the {collection.replace('_', ' ')} of job {number} any more: "
                         "it may have been removed in another bay.")


class DuplicateJobError(WorkshopLogError, ValueError):
    """A job with this number is in the book already."""

    def __init__(self, number: str) -> None:
        self.number = number
        super().__init__(f"Job {number} is in this book already: nothing was taken in. Give the new one another "
                         "number.")


class DuplicateItemError(WorkshopLogError, ValueError):
    """An item or a piece of evidence with this id is in the job already."""

    def __init__(self, number: str, collection: str, item_id: str) -> None:
        self.number = number
        self.collection = collection
        self.item_id = item_id
        super().__init__(f"“{item_id}” is in the {collection.replace('_', ' ')} of job {number} already: it stays as "
                         "it is. Enter this under another id.")


class MissingFileError(WorkshopLogError, LookupError):
    """The bytes of a photo or report are not where they were put."""

    def __init__(self, sha256: str, reason: str) -> None:
        self.sha256 = sha256
        super().__init__(f"The file with the fingerprint {sha256[:16]}… {reason}")


class BackupError(WorkshopLogError, ValueError):
    """A file that is no backup, or one that cannot be taken back here."""
