"""The one object that the pages talk to: the open job, its changes, and what can be undone."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, QSocketNotifier, QTimer, Signal, Slot
from PySide6.QtGui import QUndoCommand, QUndoStack

from workshop_log.errors import WorkshopLogError

if TYPE_CHECKING:
    from workshop_log.book.changes import Listener
    from workshop_log.book.opening import Book
    from workshop_log.book.settings import Settings
    from workshop_log.desktop.long_work import LongWork
    from workshop_log.desktop.outbox_worker import Post
    from workshop_log.exchange.records import Job, Record
    from workshop_log.jobs.clock import RunningLine
    from workshop_log.jobs.evaluation import Evaluation

log = logging.getLogger("workshop_log.desk")
# After a lost connection the shared book is listened to again after this long.
LISTEN_AGAIN_MS = 5000


def now() -> datetime:
    """Return the present moment with the local offset."""
    return datetime.now().astimezone().replace(microsecond=0)


class Desk(QObject):
    """What lies open: one book, at most one job.

    Signals
    -------
    job_shown : object
        A job was opened or changed; the `Job`, or None when none is open.
    job_switched : object
        Another job was opened, before `job_shown`; the `Job` or None.
    list_changed
        Something changed that the list of jobs shows.
    clock_changed : object
        The running line of the person, a `RunningLine`, or None.
    problem : str
        A sentence for the person: what was not done, and what to do.
    told : str
        A quiet word for the status line.
    """

    job_shown = Signal(object)
    job_switched = Signal(object)
    list_changed = Signal()
    clock_changed = Signal(object)
    problem = Signal(str)
    told = Signal(str)

    def __init__(self, book_url: str | None, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.book_url = book_url
        self.undo_stack = QUndoStack(self)
        self._book: Book | None = None
        self._settings: Settings | None = None
        self._job: Job | None = None
        self._evaluation: Evaluation | None = None
        self._listener: Listener | None = None
        self._heard: QSocketNotifier | None = None
        self.person = ""
        # Whether a file dialog is open; nothing may be read or written meanwhile.
        self.is_resting = False
        self._work: LongWork | None = None
        self._post: Post | None = None

    # --- what is open -----------------------------------------------------------------------------------------------

    @property
    def book(self) -> Book:
        """The book; opened, and brought up to date, at first use."""
        if self._book is None:
            from workshop_log.book.opening import open_book

            self._book = open_book(self.book_url)
            if self._book.is_shared:
                self.listen()
        return self._book

    @property
    def settings(self) -> Settings:
        """The workshop's settings, read once and after each change."""
        if self._settings is None:
            from workshop_log.book.settings import load_settings

            with self.book.read() as session:
                self._settings = load_settings(session)
        return self._settings

    def forget_settings(self) -> None:
        """Read the settings again at next use, and judge the open job by them."""
        self._settings = None
        self._evaluation = None
        if self._job is not None:
            self.job_shown.emit(self._job)

    @property
    def job(self) -> Job | None:
        """The open job."""
        return self._job

    @property
    def evaluation(self) -> Evaluation:
        """The open job's readings, judged."""
        if self._evaluation is None:
            from workshop_log.jobs.evaluation import evaluate

            self._evaluation = evaluate(self._job, self.settings)
        return self._evaluation

    @property
    def work(self) -> LongWork:
        """What takes long, done beside the window; made at first use."""
        if self._work is None:
            from workshop_log.desktop.long_work import LongWork

            self._work = LongWork(self)
        return self._work

    @property
    def post(self) -> Post:
        """What sends the messages of the outbox; made at first use."""
        if self._post is None:
            from workshop_log.desktop.outbox_worker import Post

            self._post = Post(self)
        return self._post

    @contextmanager
    def resting(self) -> Iterator[None]:
        """Let go of the book's file while a file dialog is open; see `Book.resting`."""
        self.is_resting = True
        try:
            with self.book.resting():
                yield
        finally:
            self.is_resting = False

    # --- other bays --------------------------------------------------------------------------------------------------

    @Slot()
    def listen(self) -> None:
        """Hear of what other bays change in a shared book, as it happens."""
        from workshop_log.book.changes import listen

        if self._book is None or self._listener is not None:
            return
        try:
            self._listener = listen(self._book.url)
        except WorkshopLogError as error:
            log.info("not listening: %s", error)
            QTimer.singleShot(LISTEN_AGAIN_MS, self.listen)
            return
        self._heard = QSocketNotifier(self._listener.fileno(), QSocketNotifier.Type.Read, self)
        self._heard.activated.connect(self.on_heard)

    @Slot()
    def on_heard(self) -> None:
        """Show what another bay changed; what is being typed here is left alone."""
        try:
            numbers = self._listener.poll()
        except WorkshopLogError as error:
            log.info("connection lost: %s", error)
            self._stop_listening()
            self.problem.emit(f"{error} What you type is not safe until it answers again; trying again by itself.")
            QTimer.singleShot(LISTEN_AGAIN_MS, self.listen)
            return
        if not numbers:
            return
        if self._job is not None and self._job.number in numbers:
            self.reload()
        self.list_changed.emit()

    def look_again(self, number: str) -> None:
        """Show the job `number` as it stands now, if it is open: work beside the window changed it for this window.

        What that work returned may be older by now than what was done here meanwhile.
        """
        if self._job is not None and self._job.number == number:
            done, job = self.attempt(self._load, number)
            if done:
                self.show(job)

    def reload(self) -> None:
        """Read the open job again; if somebody else changed it, nothing here can be undone over that."""
        done, job = self.attempt(lambda: self._load(self._job.number))
        if done and job != self._job:
            self.undo_stack.clear()
            self.show(job)

    def _stop_listening(self) -> None:
        if self._heard is not None:
            self._heard.setEnabled(False)
            self._heard.deleteLater()
        if self._listener is not None:
            self._listener.close()
        self._heard = self._listener = None

    def close(self) -> None:
        """Close the book."""
        self._stop_listening()
        if self._work is not None:
            self._work.cancel_all()
        if self._post is not None:
            self._post.close()
        if self._book is not None:
            self._book.close()
            self._book = None

    # --- what a person does ------------------------------------------------------------------------------------------

    def attempt(self, act: Callable[..., Any], *args: Any, **kwargs: Any) -> tuple[bool, Any]:
        """Call `act` and tell the person if it could not be done; return whether it was done, and its answer."""
        try:
            return True, act(*args, **kwargs)
        except WorkshopLogError as error:
            log.info("not done: %s", error)
            self.problem.emit(str(error))
            return False, None

    def do(self, act: Callable[..., Job], *args: Any, **kwargs: Any) -> bool:
        """Call `act(book, number, ...)`, which returns the changed job, and show it."""
        if self._job is None:
            return False
        done, job = self.attempt(lambda: act(self.book, self._job.number, *args, **kwargs))
        if done:
            self.show(job)
        return done

    def show(self, job: Job | None) -> None:
        """Show `job` as it is now."""
        switched = (job.number if job else None) != (self._job.number if self._job else None)
        self._job = job
        self._evaluation = None
        if switched:
            self.undo_stack.clear()
            self.job_switched.emit(job)
        self.job_shown.emit(job)
        self.list_changed.emit()

    def open(self, number: str) -> bool:
        """Open the job `number`."""
        if self._job is not None and self._job.number == number:
            return True
        done, job = self.attempt(lambda: self._load(number))
        if done:
            self.show(job)
        return done

    def _load(self, number: str) -> Job:
        from workshop_log.book.jobs import load_job

        with self.book.read() as session:
            return load_job(session, number)

    def take_in(self) -> bool:
        """Begin a new job."""

        def begin() -> Job:
            from workshop_log.jobs.intake import take_in

            return take_in(self.book, now(), person=self.person)

        done, job = self.attempt(begin)
        if done:
            self.show(job)
        return done

    def edit(self, path: str, text: str) -> str:
        """Put `text` into the field `path`; return what is wrong with it, or nothing. Can be undone."""
        from workshop_log.jobs.intake import FieldError, edit, text_at

        if self._job is None:
            return ""
        before = text_at(self._job, path)
        if before == text:
            return ""
        try:
            job = edit(self.book, self._job.number, {path: text}, {path: before})
        except FieldError as error:
            # Another bay may have been quicker: the next try is made against what it wrote.
            if self.book.is_shared:
                self.reload()
            return error.reason
        except WorkshopLogError as error:
            self.problem.emit(str(error))
            # Somebody else may have been quicker: show what the book holds now.
            self.reload()
            return str(error)
        self.undo_stack.push(_Edit(self, path, before, text))
        self.show(job)
        return ""

    def remove(self, collection: str, item_id: str) -> bool:
        """Take an item that is no evidence off the job; can be undone."""
        from workshop_log.jobs.intake import remove_item

        record = self._item(collection, item_id)
        done = self.do(remove_item, collection, item_id)
        if done and record is not None:
            self.undo_stack.push(_Item(self, collection, record, is_there=False))
        return done

    def add(self, collection: str, act: Callable[..., Job], *args: Any, **kwargs: Any) -> bool:
        """Call `act`, which adds an item to `collection`; can be undone."""
        before = {_id_of(item) for item in getattr(self._job, collection)} if self._job is not None else set()
        done = self.do(act, *args, **kwargs)
        if done:
            for item in getattr(self._job, collection):
                if _id_of(item) not in before:
                    self.undo_stack.push(_Item(self, collection, item, is_there=True))
        return done

    def _item(self, collection: str, item_id: str) -> Record | None:
        return next((item for item in getattr(self._job, collection) if _id_of(item) == item_id), None)

    def put_back(self, path: str, text: str) -> None:
        """Put `text` into the field `path` without a new entry in the undo list."""
        from workshop_log.jobs.intake import edit

        self.do(edit, {path: text})

    def set_person(self, name: str) -> None:
        """Say who works at this machine; remembered for the next start."""
        if name == self.person:
            return
        self.person = name
        from PySide6.QtCore import QSettings

        QSettings().setValue("person", name)
        self.clock_changed.emit(self.running())

    # --- the clock ---------------------------------------------------------------------------------------------------

    def running(self) -> RunningLine | None:
        """Return the running line of the person at this machine."""
        from workshop_log.jobs.clock import running

        done, line = self.attempt(running, self.book, self.person)
        return line if done else None

    def start_clock(self, what: str = "") -> bool:
        """Start the clock on the open job; a line that runs elsewhere ends in the same moment."""
        from workshop_log.jobs.clock import start_clock

        done = self.do(start_clock, self.person, now(), what)
        self.clock_changed.emit(self.running())
        return done

    def stop_clock(self, at: datetime | None = None) -> bool:
        """Stop the running line, at `at` if it was forgotten."""
        from workshop_log.jobs.clock import stop_clock

        done, job = self.attempt(stop_clock, self.book, self.person, at or now())
        if done and job is not None and self._job is not None and job.number == self._job.number:
            self.show(job)
        self.list_changed.emit()
        self.clock_changed.emit(self.running())
        return done


def _id_of(item: Record) -> str:
    # A fault code is known by its code.
    return getattr(item, "id", None) or item.code


class _Item(QUndoCommand):
    """Something added or taken off that is no evidence."""

    def __init__(self, desk: Desk, collection: str, record: Record, *, is_there: bool) -> None:
        what = collection.replace("_", " ")
        super().__init__(f"{what}: {'added' if is_there else 'taken off'}")
        self._desk, self._collection, self._record = desk, collection, record
        self._adds, self._is_there = is_there, is_there

    def undo(self) -> None:
        self._bring(there=not self._adds)

    def redo(self) -> None:
        self._bring(there=self._adds)

    def _bring(self, *, there: bool) -> None:
        from workshop_log.jobs.intake import put_item, remove_item

        # Pushing a command calls redo once; it has happened by then.
        if there == self._is_there:
            return
        if there:
            done = self._desk.do(put_item, self._collection, self._record)
        else:
            # As it stands now: edits that were made to it since come back with it.
            self._record = self._desk._item(self._collection, _id_of(self._record)) or self._record
            done = self._desk.do(remove_item, self._collection, _id_of(self._record))
        if done:
            self._is_there = there


class _Edit(QUndoCommand):
    """One edited field."""

    def __init__(self, desk: Desk, path: str, before: str, after: str) -> None:
        super().__init__(path.replace("/", ".").rpartition(".")[2].replace("_", " "))
        self._desk, self._path, self._before, self._after = desk, path, before, after
        self._done = True

    def undo(self) -> None:
        self._desk.put_back(self._path, self._before)
        self._done = False

    def redo(self) -> None:
        # Pushing a command calls redo once; the edit has happened by then.
        if not self._done:
            self._desk.put_back(self._path, self._after)
            self._done = True
