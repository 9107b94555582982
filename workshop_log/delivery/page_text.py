"""What stands on the pages of a PDF, as text.

Qt's PDF module reads it: it draws the preview as well, so what is read here is what a person would see there. It needs
no window and no screen.
"""

from __future__ import annotations

from workshop_log.errors import WorkshopLogError
from workshop_log.progress import Progress, untold


class PagesUnreadableError(WorkshopLogError, ValueError):
    """Pages whose text cannot be read."""


def page_texts(pdf: bytes, progress: Progress = untold) -> tuple[str, ...]:
    """Return the text of each page, every space and line end in it as one space.

    Raises
    ------
    PagesUnreadableError
        If there are no pages that can be read, or nothing here that reads them.
    """
    try:
        from PySide6.QtCore import QBuffer, QByteArray
        from PySide6.QtPdf import QPdfDocument
    except ImportError as error:
        raise PagesUnreadableError("this installation has no reader for pages") from error
    # Both stay until the last page is read: the document reads from the buffer.
    buffer, document = QBuffer(), QPdfDocument()
    buffer.setData(QByteArray(pdf))
    buffer.open(QBuffer.OpenModeFlag.ReadOnly)
    document.load(buffer)
    try:
        if document.status() != QPdfDocument.Status.Ready or not document.pageCount():
            raise PagesUnreadableError("the pages are damaged")
        found = []
        for page in range(document.pageCount()):
            progress(page, document.pageCount())
            found.append(" ".join(document.getAllText(page).text().split()))
        return tuple(found)
    finally:
        document.close()
