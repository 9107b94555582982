"""A text as a QR code (ISO/IEC 18004) on paper: black on white whatever the look, large enough for any telephone."""

from __future__ import annotations

from functools import lru_cache
from itertools import groupby
from typing import TYPE_CHECKING

from workshop_log.paper.tagging import figure

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.platypus import Flowable

# Side of one module: a printer of 300 dots to the inch gives it five or six, and a telephone's camera still tells them
# apart on a page held at arm's length; 0.4 mm is where cheap ones begin to fail. Own estimate. [mm]
MODULE_MM = 0.5
# White around the code, in modules; ISO/IEC 18004, 9.1.
QUIET_ZONE = 4
_PT_PER_MM = 72 / 25.4


def qr_modules(text: str) -> tuple[tuple[bool, ...], ...]:
    """Return the rows of a code from top to bottom, True for dark, without the quiet zone.

    The smallest version that takes the text, in UTF-8, at error correction level M: about a seventh of the code may be
    soiled.
    """
    return _modules(text)


@lru_cache(maxsize=8)
def _modules(text: str) -> tuple[tuple[bool, ...], ...]:
    from reportlab.graphics.barcode.qrencoder import QR8bitByte, QRCode, QRErrorCorrectLevel

    code = QRCode(None, QRErrorCorrectLevel.M)
    # Said outright: asked to choose, the encoder may take two letters for one of another script.
    code.addData(QR8bitByte(text))
    code.make()
    side = range(code.getModuleCount())
    return tuple(tuple(bool(code.isDark(row, column)) for column in side) for row in side)


def qr_size(text: str) -> float:
    """Return the side of a code with its quiet zone, in points."""
    return (len(qr_modules(text)) + 2 * QUIET_ZONE) * MODULE_MM * _PT_PER_MM


def qr_code(text: str, alternative: str) -> Flowable:
    """Return the code of a text, with its quiet zone; `alternative` stands for it where it is heard."""
    rows = qr_modules(text)
    size = qr_size(text)

    def draw(canvas: Canvas) -> None:
        canvas.addLiteral(_drawing(rows))

    return figure(size, size, alternative, draw)


def _drawing(rows: tuple[tuple[bool, ...], ...]) -> str:
    """Return the code as one piece of PDF: a white square, and all dark modules as one shape.

    One shape, because a viewer smooths the edges of each: between shapes that touch it would leave hairlines.
    """
    side = MODULE_MM * _PT_PER_MM
    size = (len(rows) + 2 * QUIET_ZONE) * side
    drawn = [f"q 1 g 0 0 {size:.3f} {size:.3f} re f 0 g"]
    for number, row in enumerate(rows):
        bottom = size - (QUIET_ZONE + number + 1) * side
        column = 0
        for dark, run in groupby(row):
            length = len(list(run))
            if dark:
                drawn.append(f"{(QUIET_ZONE + column) * side:.3f} {bottom:.3f} {length * side:.3f} {side:.3f} re")
            column += length
    return " ".join([*drawn, "f Q"])
