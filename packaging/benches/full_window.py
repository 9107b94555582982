"""A process with the program's window on a book: prints, as JSON, when its list was painted and what came after.

`full_window.py BOOK [JOB]`: without a job it stops at the first paint; with one it waits for the warm-up, opens that
job and waits until it is painted. Goes the way of `workshop-log --book BOOK`; nothing of the program is left out.
"""

import builtins
import sys
import time

# How often the event loop is felt for while the rest is loaded. [ms]
FEEL_MS = 1


class Story:
    """What happens in this window, and when."""

    def __init__(self, job):
        self.job = job
        self.facts = {}
        self.window = None
        self.warm_up = None
        self.is_warm = False
        self._last_tick = 0
        self._gap = 0
        self._feeler = None

    def on_shown(self, window):
        """Wait for the list."""
        from watch import Watch

        self.window = window
        self._watch = Watch(window.books.view.viewport(), self.on_painted)

    def on_painted(self):
        """Take down when the list was seen, and begin to feel for gaps."""
        self.facts["painted"] = time.monotonic_ns()
        self.facts["rows"] = self.window.books.model.rowCount()
        self.facts["heavy"] = sorted({"sqlalchemy", "pint", "reportlab", "numpy", "PIL", "alembic", "pikepdf"}
                                     & sys.modules.keys())
        if not self.job:
            self.tell()
            return
        from PySide6.QtCore import QTimer

        self._last_tick = time.monotonic_ns()
        self._feeler = QTimer(self.window)
        self._feeler.setInterval(FEEL_MS)
        self._feeler.timeout.connect(self.on_tick)
        self._feeler.start()

    def on_tick(self):
        """Feel how long the event loop was away; open the job when everything is loaded."""
        now = time.monotonic_ns()
        self._gap = max(self._gap, now - self._last_tick)
        self._last_tick = now
        is_built = all(self.window.stack.widget(number).layout() for number in range(self.window.stack.count()))
        if self.warm_up is not None and self.warm_up.isFinished() and is_built:
            self._feeler.stop()
            self.facts["warm"] = now
            self.facts["longest_gap"] = self._gap
            self.open_job()

    def open_job(self):
        """Open the job as a click on it does."""
        from watch import Watch

        self._began = time.monotonic_ns()
        self.window.open_job(self.job)
        self.facts["shown_job"] = self.window.desk.job.number if self.window.desk.job else ""
        self._watch = Watch(self.window.stack.currentWidget(), self.on_job_painted)

    def on_job_painted(self):
        """Take down when the job was seen."""
        from memory import memory_kib

        self.facts["job_opened"] = time.monotonic_ns() - self._began
        self.facts["memory"] = memory_kib()
        self.tell()

    def tell(self):
        """Say everything and end."""
        import json

        print(json.dumps(self.facts), flush=True)
        self.window.close()


def watch_window(story):
    """Have the story told what happens as soon as the program has loaded its window; nothing is loaded earlier."""
    load = builtins.__import__

    def loading(name, *details, **named):
        module = load(name, *details, **named)
        if name == "workshop_log.desktop.app":
            builtins.__import__ = load
            follow(story, module.MainWindow, module.WarmUp)
        return module

    builtins.__import__ = loading


def follow(story, window_class, warm_up_class):
    """Tell the story when the window is shown and the warm-up begins."""
    show, start = window_class.show, warm_up_class.start

    def shown(window):
        story.on_shown(window)
        show(window)

    def started(warm_up, *priority):
        story.warm_up = warm_up
        start(warm_up, *priority)

    window_class.show, warm_up_class.start = shown, started


def main():
    """Open the window on a book as the command line does."""
    book = sys.argv[1]
    watch_window(Story(sys.argv[2] if len(sys.argv) > 2 else ""))
    from workshop_log.commands import main as workshop_log

    return workshop_log(["--book", book])


if __name__ == "__main__":
    sys.exit(main())
