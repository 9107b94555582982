"""From a paper's contents to its bytes: one at a time, because ReportLab's settings are those of the whole process."""

from __future__ import annotations

import threading
from contextlib import contextmanager
from typing import TYPE_CHECKING

from workshop_log.paper import look as looks
from workshop_log.paper.finishing import Attachment, finish
from workshop_log.paper.fonts import REGULAR, plain, register
from workshop_log.paper.pages import Sheet, draw_pages, text_width
from workshop_log.progress import Progress, part_of, untold

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime

    from reportlab.platypus import Flowable

    from workshop_log.paper.look import Look

_ONE_AT_A_TIME = threading.Lock()
_SETTINGS = {"useA85": 0, "invariant": 1, "pageCompression": 1, "canvas_basefontname": REGULAR}
# How far the stages go of a hundred: what is on the pages (photos take longest), the pages, the finished file.
_STORY, _PAGES, _FILE = 55, 95, 100


def compose(story: Callable[[float, Progress], list[Flowable]], sheet: Sheet, issued: datetime, look: Look,
            attachment: Attachment | None = None, progress: Progress = untold) -> bytes:
    """Return the PDF of one paper: the same bytes for the same input.

    Parameters
    ----------
    story : callable
        Gets the width of the text in points and a progress of its own, and returns the paper from top to bottom.
    sheet : Sheet
        What every page carries.
    issued : datetime
        The paper's only clock.
    look : Look
        The workshop's colours and logo.
    attachment : Attachment, optional
        A file that travels inside.
    progress : Progress
        Told how far it is; may end it.
    """
    with _ONE_AT_A_TIME, _settings(), looks.used(look):
        register()
        flowables = story(text_width(sheet.paper, sheet.is_label), part_of(progress, 0, _STORY, _FILE))
        pages = draw_pages(flowables, sheet, part_of(progress, _STORY, _PAGES, _FILE))
    pdf = finish(pages, sheet.title, sheet.author, issued, attachment, sheet.fingerprint)
    progress(_FILE, _FILE)
    return pdf


def one_line(text: str) -> str:
    """Return a text as a line without controls, for the document's properties."""
    return " ".join(plain(text).split())


@contextmanager
def _settings() -> Iterator[None]:
    """Set what ReportLab reads from its global settings, and put it back."""
    from reportlab import rl_config

    before = {name: getattr(rl_config, name) for name in _SETTINGS}
    try:
        for name, value in _SETTINGS.items():
            setattr(rl_config, name, value)
        yield
    finally:
        for name, value in before.items():
            setattr(rl_config, name, value)
