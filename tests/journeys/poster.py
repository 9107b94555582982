"""A window of its own that sends what is due, made to be killed: `python -m journeys.poster BOOK PASSWORD`."""

from __future__ import annotations

import sys
from pathlib import Path

from workshop_log.desktop.app import make_application
from workshop_log.desktop.desk import Desk
from workshop_log.desktop.main_window import MainWindow


def main() -> None:
    """Show the window and send."""
    app = make_application([])
    path = Path(sys.argv[1])
    window = MainWindow(Desk(str(path)), path)
    window.desk.post.passwords.keep_for_now(window.desk.settings.mail, sys.argv[2])
    window.stands.connect(window.begin_post)
    window.show()
    app.exec()


if __name__ == "__main__":
    main()
