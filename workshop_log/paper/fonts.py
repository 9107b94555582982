"""The fonts of the report: registered once, and which characters they have.

The text face is Lato; characters that it lacks come from DejaVu Sans, and what neither has is shown as an empty box and
named at the end of the report, never dropped in silence.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache

from workshop_log import resources

REGULAR, BOLD, ITALIC, FALLBACK = "Lato", "Lato-Bold", "Lato-Italic", "DejaVuSans"
_FILES = {REGULAR: "fonts/Lato-Regular.ttf", BOLD: "fonts/Lato-Bold.ttf", ITALIC: "fonts/Lato-Italic.ttf",
          FALLBACK: "fonts/fallback/DejaVuSans.ttf"}

# Stands for a character that no font of the report has.
MISSING = "\u25a1"
# Written from right to left or joined by rules that are not applied here: they would come out in the wrong order.
_NOT_SHAPED = ((0x0590, 0x08FF), (0xFB1D, 0xFDFF), (0xFE70, 0xFEFF), (0x0900, 0x109F))
# ReportLab writes characters beyond into the file so that no reader finds them again.
_LAST_OF_BASIC_PLANE = 0xFFFF
# Categories of what only steers and is not seen: controls and format marks.
_INVISIBLE = ("Cc", "Cf")
_KEPT_CONTROLS = "\n\t"


@cache
def register() -> None:
    """Register the fonts with ReportLab, once for the process, and join them to a family."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    for name, file in _FILES.items():
        pdfmetrics.registerFont(TTFont(name, str(resources.path(file))))
    pdfmetrics.registerFontFamily(REGULAR, normal=REGULAR, bold=BOLD, italic=ITALIC, boldItalic=BOLD)
    pdfmetrics.registerFontFamily(FALLBACK, normal=FALLBACK, bold=FALLBACK, italic=FALLBACK, boldItalic=FALLBACK)


@cache
def _characters(name: str) -> frozenset[int]:
    """Return the code points that a font has."""
    from reportlab.pdfbase import pdfmetrics

    register()
    return frozenset(pdfmetrics.getFont(name).face.charToGlyph)


@cache
def font_of(character: str) -> str:
    """Return which font has a character: the text face, the fallback, or none (blank)."""
    code = ord(character)
    if character == "\n" or code in _characters(REGULAR):
        return REGULAR
    if code > _LAST_OF_BASIC_PLANE or code not in _characters(FALLBACK):
        return ""
    if any(first <= code <= last for first, last in _NOT_SHAPED):
        return ""
    return FALLBACK


def plain(text: str) -> str:
    """Return the text without control and format characters; tabs are spaces, all line ends are newlines."""
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\u2028", "\n").replace("\u2029", "\n\n")
    if text.isascii() and text.isprintable():
        return text
    text = unicodedata.normalize("NFC", text)
    kept = (c for c in text if c in _KEPT_CONTROLS or unicodedata.category(c) not in _INVISIBLE)
    # Variation selectors say how an emoji is to look; there is nothing to show for themselves.
    return "".join(c for c in kept if not 0xFE00 <= ord(c) <= 0xFE0F).replace("\t", "    ")


# A number and its unit stay on one line.
_NUMBER_AND_UNIT = re.compile(
    r"(?<=\d) (?=(?:[µmkM]?(?:V|A|Ah|Ω|W|Wh|Hz|F)|°C|°F|%|mm²?|cm|m|km|mi|min|h|s|bar|kPa|psi|Nm|N)(?![\w/]))")


def unbroken(text: str) -> str:
    """Return the text with a no-break space between each number and its unit."""
    return _NUMBER_AND_UNIT.sub("\u00a0", text)


def missing_characters(texts: list[str]) -> tuple[str, ...]:
    """Return the characters of these texts that the report cannot print, each once, in order of their number."""
    used = set().union(*map(plain, texts)) if texts else set()
    return tuple(sorted(c for c in used if not font_of(c)))


def describe(character: str) -> str:
    """Return a character that cannot be printed in words: "U+1F600 grinning face"."""
    name = unicodedata.name(character, "").lower()
    return f"U+{ord(character):04X} {name}".strip()
