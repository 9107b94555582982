"""The bars of what was possible, drawn for print: each part as wide as it is likely, told apart without colour."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.jobs.percent import percent_sign, percent_words
from workshop_log.paper.drawings import line_of
from workshop_log.paper.styles import HAIRLINE, INK, accent
from workshop_log.paper.tagging import figure
from workshop_log.paper.wording import say, sentence

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.platypus import Flowable

    from workshop_log.jobs.suspicion import Share
    from workshop_log.paper.narrowing import Bar

_BAR_HEIGHT = 17.0
SWATCH_WIDTH, _SWATCH_HEIGHT = 22.0, 10.0
_WORD_SIZE = 7.6
_WORD_PAD = 3.0
# Narrower parts are no more than their outlines in print, and closer ticks no more than a blot. [pt]
_LEAST_WIDTH, _LEAST_BETWEEN = 1.2, 2.0
_HEARD_FROM = 0.01
_GREY, _LINES = "#D3D6D9", "#8E949B"
# Slopes of the lines on the fills that have any: rising, falling, lying. How far apart they are. [pt]
_LINED: dict[int | None, tuple[int, ...]] = {1: (1,), 3: (0,), 4: (1, -1)}
_PITCH = 3.4
# What divides everything else is no higher than this, so that words have room above it. [pt]
_TICK = 3.6


def swatch(fill: int | None) -> Flowable:
    """Return a piece of a bar; the words beside it say what it is."""
    return figure(SWATCH_WIDTH, _SWATCH_HEIGHT, "",
                  lambda canvas: _fill(canvas, fill, 0.4, 0.4, SWATCH_WIDTH - 0.8, _SWATCH_HEIGHT - 0.8))


def bar_figure(bar: Bar, width: float) -> Flowable:
    """Return a bar, its parts as wide as they are likely, their names on them where they fit."""
    scale = width / (sum(segment.share.probability for segment in bar.segments) or 1.0)

    def draw(canvas: Canvas) -> None:
        left = ticked = 0.0
        for segment in bar.segments:
            wide = segment.share.probability * scale
            if segment.fill is None and left - ticked >= _LEAST_BETWEEN and width - left >= _LEAST_BETWEEN:
                canvas.setStrokeColor(INK)
                canvas.setLineWidth(HAIRLINE)
                canvas.line(left, 0, left, _TICK)
                ticked = left
            elif segment.fill is not None and wide >= _LEAST_WIDTH:
                _fill(canvas, segment.fill, left, 0, wide, _BAR_HEIGHT)
                colour = "white" if segment.fill == 0 else INK
                _write_on(canvas, _ways_to_say(segment.share), left, wide, colour, segment.fill in _LINED)
            left += wide
        others = sum(segment.share.probability for segment in bar.segments if segment.fill is None)
        words = say("narrowing.others_share", chance=percent_sign(others))
        _write_on(canvas, [words], width - others * scale, others * scale, INK, is_lined=False)
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.6)
        canvas.rect(0, 0, width, _BAR_HEIGHT, stroke=1, fill=0)

    return figure(width, _BAR_HEIGHT, _bar_words(bar), draw)


def _bar_words(bar: Bar) -> str:
    """Return a bar for those who hear the report: its named parts that can be seen, and the rest as one."""
    heard = [segment.share for segment in bar.segments
             if segment.fill is not None and segment.share.probability >= _HEARD_FROM]
    named = [say("narrowing.share", name=share.name, chance=percent_words(share.probability)) for share in heard]
    rest = sum(segment.share.probability for segment in bar.segments if segment.share not in heard)
    if rest:
        named.append(say("narrowing.rest", chance=percent_words(rest)))
    return sentence("; ".join(named))


def _fill(canvas: Canvas, fill: int | None, x: float, y: float, width: float, height: float) -> None:
    """Draw a part of a bar: dark, hatched, grey, lined, crossed, or white for everything else.

    They differ in black and white as well; colour only repeats it.
    """
    canvas.saveState()
    clip = canvas.beginPath()
    clip.rect(x, y, width, height)
    canvas.clipPath(clip, stroke=0, fill=0)
    canvas.setFillColor({0: accent(), 2: _GREY}.get(fill, "white"))
    canvas.rect(x, y, width, height, stroke=0, fill=1)
    canvas.setStrokeColor(_LINES)
    canvas.setLineWidth(0.6)
    for slope in _LINED.get(fill, ()):
        _lines(canvas, slope, x, y, width, height)
    canvas.restoreState()
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(0.6)
    canvas.rect(x, y, width, height, stroke=1, fill=0)


def _lines(canvas: Canvas, slope: int, x: float, y: float, width: float, height: float) -> None:
    """Draw lines that rise (1), fall (-1) or lie (0), begun at multiples of their gap: bars then look alike."""
    if slope == 0:
        for number in range(1, int(height / _PITCH) + 1):
            canvas.line(x, y + number * _PITCH, x + width, y + number * _PITCH)
        return
    start = (x - height) // _PITCH * _PITCH
    for number in range(int((width + 2 * height) / _PITCH) + 2):
        at = start + number * _PITCH
        low, high = (y, y + height) if slope > 0 else (y + height, y)
        canvas.line(at, low, at + height, high)


def _write_on(canvas: Canvas, ways: list[str], left: float, wide: float, colour: str, is_lined: bool) -> None:
    """Write the longest of some ways to say it that fits on a part of a bar; lines leave room for it."""
    for words in ways:
        text, font = line_of(words, bold=True)
        length = canvas.stringWidth(text, font, _WORD_SIZE)
        if length + 2 * _WORD_PAD > wide:
            continue
        start = left + (wide - length) / 2
        if is_lined:
            canvas.setFillColor("white")
            canvas.rect(start - _WORD_PAD / 2, 3, length + _WORD_PAD, _BAR_HEIGHT - 6, stroke=0, fill=1)
        canvas.setFillColor(colour)
        canvas.setFont(font, _WORD_SIZE)
        canvas.drawString(start, _BAR_HEIGHT / 2 - _WORD_SIZE * 0.34, text)
        return


def _ways_to_say(share: Share) -> list[str]:
    """Return name and share, from the longest to the shortest: an element's id stands before its title."""
    short, chance = share.name.partition(" (")[0], percent_sign(share.probability)
    return [f"{share.name} {chance}", f"{short} {chance}", short, chance]
