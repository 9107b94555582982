"""The bar of what is still possible: one part for each element, as wide as it is likely, with its words inside."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QEasingCurve, QEvent, QLineF, QPointF, QRectF, QSize, Qt, QVariantAnimation, Signal, Slot
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QKeyEvent, QMouseEvent, QPainter, QPen
from PySide6.QtWidgets import QSizePolicy, QStyle, QToolTip, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.fields import tip

if TYPE_CHECKING:
    from PySide6.QtGui import QHelpEvent

    from workshop_log.jobs.suspicion import Share

# A part moves to its new place in this time. [ms]
MOVING_MS = 140
HEIGHT, GHOST_HEIGHT = 52, 30
# A part that is less likely than this is in the list alone; any other is at least so wide.
LEAST_SHOWN = 0.005
_LEAST_PX, _GAP_PX = 4.0, 2.0
_ROUND = 3.0
_PADDING = 4.0
# A name is cut where it has this much room. [px]
_LEAST_NAME_PX = 64.0
# Lines of a pattern lie so far apart. [px]
_PITCH = 7.0
# Neighbours never have the same one. What is healthy is plain, two faults are crossed, an element has one of these.
PLAIN, CROSSED = "plain", "crossed"
PATTERNS = ("rising", "dotted", "falling", "upright")
# The ground of a part by how likely it is, as behind the elements of the drawing, and the lines of its pattern.
PATTERN_INKS = {"light": ("#D9EAE7", "#BEDCD8", "#A4CFCA", "#82BBB4"),
                "dark": ("#2A3F3E", "#2C504E", "#2E5F5D", "#326C69")}


class Part(NamedTuple):
    """One part of the bar where it is drawn: left and right in pixels."""

    share: Share
    left: float
    right: float


def parts_of(shares: Iterable[Share], width: float) -> tuple[Part, ...]:
    """Return the parts of the bar in a given width; those that are hardly possible are left out."""
    shown = [share for share in shares if share.probability >= LEAST_SHOWN]
    room = width - _GAP_PX * (len(shown) - 1)
    if not shown or room <= 0:
        return ()
    widths = _widths([share.probability for share in shown], room)
    made, left = [], 0.0
    for share, wide in zip(shown, widths, strict=True):
        made.append(Part(share, left, left + wide))
        left += wide + _GAP_PX
    return tuple(made)


def _widths(probabilities: list[float], room: float) -> list[float]:
    """Return widths in the given proportions that fill the room, none narrower than can be seen."""
    least = min(_LEAST_PX, room / len(probabilities))
    small: set[int] = set()
    while True:
        left = room - least * len(small)
        total = sum(p for i, p in enumerate(probabilities) if i not in small)
        found = {i for i, p in enumerate(probabilities) if i not in small and p / total * left < least}
        if not found:
            return [least if i in small else p / total * left for i, p in enumerate(probabilities)]
        small |= found


def patterns_for(keys: list[str], before: dict[str, str]) -> dict[str, str]:
    """Return a pattern for each part, in their order: the one it had, unless its neighbour has the same."""
    from workshop_log.jobs.hand_suspects import NOT_LISTED
    from workshop_log.jobs.suspicion import HEALTHY, SEVERAL

    fixed = {HEALTHY: PLAIN, NOT_LISTED: PLAIN, SEVERAL: CROSSED}
    made: dict[str, str] = {}
    last = ""
    for place, key in enumerate(keys):
        following = before.get(keys[place + 1], "") if place + 1 < len(keys) else ""
        wanted = fixed.get(key) or before.get(key, "")
        if not wanted or (wanted == last and key not in fixed):
            free = [pattern for pattern in PATTERNS if pattern != last]
            used = set(made.values())
            wanted = next((p for p in free if p != following and p not in used),
                          next((p for p in free if p != following), free[0]))
        made[key] = last = wanted
    return made


def short_name(share: Share) -> str:
    """Return the shortest name by which a part is known: an element's id, "nothing wrong"."""
    from workshop_log.jobs.hand_suspects import NOT_LISTED
    from workshop_log.jobs.suspicion import HEALTHY, SEVERAL

    if share.key in (HEALTHY, SEVERAL, NOT_LISTED):
        return share.key
    return share.name.partition(" (")[0] if share.name.startswith(share.key) else share.name


class SuspicionBar(QWidget):
    """What is still possible as one stacked bar.

    Left and right go from part to part, Enter chooses one; so does a click.

    Signals
    -------
    share_chosen : str
        The key of a part that was clicked, or on which Enter was pressed.
    """

    share_chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None, *, is_ghost: bool = False) -> None:
        super().__init__(parent)
        self._is_ghost = is_ghost
        self._shares: tuple[Share, ...] = ()
        self._patterns: dict[str, str] = {}
        # Where each part stood when the last change came: fractions of the width.
        self._from: dict[str, tuple[float, float]] = {}
        self._chosen = self._at = ""
        self._moving = QVariantAnimation(self)
        self._moving.setStartValue(0.0)
        self._moving.setEndValue(1.0)
        self._moving.setEasingCurve(QEasingCurve.Type.OutCubic)
        self._moving.valueChanged.connect(self.on_moved)
        self.setFixedHeight(GHOST_HEIGHT if is_ghost else HEIGHT)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus if is_ghost else Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setAccessibleName("What would be possible" if is_ghost else "What is still possible")

    def sizeHint(self) -> QSize:
        return QSize(240, self.height())

    # --- showing -----------------------------------------------------------------------------------------------------

    def show_shares(self, shares: tuple[Share, ...], *, at_once: bool = False) -> None:
        """Show these parts; they move there unless it is to be at once, or the system asks for no animations."""
        if shares == self._shares:
            return
        places = {} if at_once or not self._shares else self._places()
        self._shares = shares
        self._patterns = patterns_for(self._keys(), self._patterns)
        self.setAccessibleDescription(self._words())
        self._moving.stop()
        self._from = places
        duration = min(MOVING_MS, self.style().styleHint(QStyle.StyleHint.SH_Widget_Animation_Duration, None, self))
        if places and duration > 0 and self.isVisible():
            self._moving.setDuration(duration)
            self._moving.start()
        else:
            self._from = {}
        self.update()

    def choose(self, key: str) -> None:
        """Mark a part as chosen; none with an empty key."""
        if key != self._chosen:
            self._chosen = key
            self.update()

    def _words(self) -> str:
        from workshop_log.jobs.percent import percent_words

        return "; ".join(f"{share.name}: {percent_words(share.probability)}" for share in self._shares
                         if share.probability >= LEAST_SHOWN)

    def _places(self) -> dict[str, tuple[float, float]]:
        """Return where each part stands at this moment, as fractions of the width."""
        width = max(self.width(), 1)
        return {part.share.key: (part.left / width, part.right / width) for part in self.parts()}

    def parts(self) -> tuple[Part, ...]:
        """Return the parts where they are drawn now."""
        target = parts_of(self._shares, self.width())
        if not self._from:
            return target
        done, width = float(self._moving.currentValue() or 0.0), self.width()
        made = []
        for share, left, right in target:
            # A newcomer grows where it will stand.
            start, end = self._from.get(share.key, ((left + right) / 2 / width, (left + right) / 2 / width))
            made.append(Part(share, start * width + (left - start * width) * done,
                             end * width + (right - end * width) * done))
        return tuple(made)

    @Slot()
    def on_moved(self) -> None:
        if self._moving.state() == QVariantAnimation.State.Stopped:
            self._from = {}
        self.update()

    # --- painting ----------------------------------------------------------------------------------------------------

    def paintEvent(self, _event: object) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colours = theme.current()
        for part in self.parts():
            self._draw_part(painter, part, colours)
        painter.end()

    def _draw_part(self, painter: QPainter, part: Part, colours: theme.Theme) -> None:
        from workshop_log.paper.circuit_drawing import COLOURS, shade_step

        box = QRectF(part.left, 0, max(part.right - part.left, 1.0), self.height()).adjusted(0.75, 2.75, -0.75, -2.75)
        pattern = self._patterns.get(part.share.key, PLAIN)
        step = max(1, shade_step(part.share.probability))
        is_plain = pattern == PLAIN
        ground = QColor(colours.sheet if is_plain or self._is_ghost
                        else COLOURS[colours.name][f"shade {step}"])
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(ground)
        painter.drawRoundedRect(box, _ROUND, _ROUND)
        painter.save()
        painter.setClipRect(box)
        _draw_pattern(painter, box, pattern, QColor(PATTERN_INKS[colours.name][step - 1]))
        painter.restore()
        is_chosen = part.share.key == self._chosen and not self._is_ghost
        edge = QPen(QColor(colours.accent if is_chosen else colours.faint_ink), 2.0 if is_chosen else 1.0)
        if self._is_ghost:
            edge.setDashPattern([3, 2])
        painter.setPen(edge)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(box, _ROUND, _ROUND)
        if self.hasFocus() and part.share.key == self._here():
            painter.setPen(QPen(QColor(colours.ink), 1.6))
            painter.drawRoundedRect(box.adjusted(3, 3, -3, -3), _ROUND, _ROUND)
        self._draw_words(painter, part.share, box, ground, colours)

    def _draw_words(self, painter: QPainter, share: Share, box: QRectF, ground: QColor, colours: theme.Theme) -> None:
        bold = QFont(self.font())
        bold.setWeight(QFont.Weight.DemiBold)
        lines = self.words_inside(share, box.width())
        if not lines:
            return
        spacing = QFontMetricsF(self.font()).lineSpacing() - 1
        top = box.center().y() - spacing * len(lines) / 2
        for place, text in enumerate(lines):
            painter.setFont(bold if place == 0 and len(lines) > 1 else self.font())
            metrics = QFontMetricsF(painter.font())
            wide = metrics.horizontalAdvance(text)
            line = QRectF(box.center().x() - wide / 2, top + place * spacing, wide, spacing)
            # Words lie on the bare ground, not on the lines of the pattern.
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(ground)
            painter.drawRoundedRect(line.adjusted(-3, 1, 3, 0), 2, 2)
            painter.setPen(QColor(colours.ink))
            painter.drawText(QPointF(line.left(), line.top() + metrics.ascent()), text)

    def words_inside(self, share: Share, width: float) -> tuple[str, ...]:
        """Return the words that fit into a part of this width: name and percent, percent alone, or none."""
        from workshop_log.jobs.percent import percent_sign

        room, percent = width - 2 * _PADDING, percent_sign(share.probability)
        plain, bold = QFontMetricsF(self.font()), QFont(self.font())
        bold.setWeight(QFont.Weight.DemiBold)
        strong = QFontMetricsF(bold)
        for name in dict.fromkeys((share.name, short_name(share))):
            if self._is_ghost:
                if plain.horizontalAdvance(f"{name} {percent}") <= room:
                    return (f"{name} {percent}",)
            elif max(strong.horizontalAdvance(name), plain.horizontalAdvance(percent)) <= room:
                return name, percent
        if room >= _LEAST_NAME_PX and not self._is_ghost:
            return strong.elidedText(share.name, Qt.TextElideMode.ElideRight, room), percent
        return (percent,) if plain.horizontalAdvance(percent) <= room else ()

    # --- pointing ----------------------------------------------------------------------------------------------------

    def share_at(self, x: float) -> Share | None:
        """Return the part at a position; a narrow one is hit a little beside it, too."""
        parts = parts_of(self._shares, self.width())
        for part in sorted(parts, key=lambda part: part.right - part.left):
            if part.left - _GAP_PX <= x <= part.right + _GAP_PX:
                return part.share
        return None

    def mousePressEvent(self, event: QMouseEvent) -> None:
        share = self.share_at(event.position().x())
        if share is not None and not self._is_ghost and event.button() == Qt.MouseButton.LeftButton:
            self._at = share.key
            self.share_chosen.emit(share.key)
            self.update()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        is_part = self.share_at(event.position().x()) is not None and not self._is_ghost
        self.setCursor(Qt.CursorShape.PointingHandCursor if is_part else Qt.CursorShape.ArrowCursor)

    def event(self, event: QEvent) -> bool:
        """Say of the part under the pointer what it is."""
        if event.type() == QEvent.Type.ToolTip:
            from workshop_log.jobs.percent import percent_words

            help_event: QHelpEvent = event
            share = self.share_at(help_event.pos().x())
            if share is None:
                QToolTip.hideText()
            else:
                QToolTip.showText(help_event.globalPos(), tip(f"{share.name}\n{percent_words(share.probability)} of "
                                                              "what is still possible"), self)
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go from part to part, and choose one."""
        keys = self._keys()
        place = keys.index(self._here()) if keys else 0
        match event.key():
            case Qt.Key.Key_Right if keys:
                self._at = keys[min(place + 1, len(keys) - 1)]
            case Qt.Key.Key_Left if keys:
                self._at = keys[max(place - 1, 0)]
            case Qt.Key.Key_Return | Qt.Key.Key_Enter | Qt.Key.Key_Space if keys:
                self.share_chosen.emit(keys[place])
            case _:
                super().keyPressEvent(event)
                return
        self.update()

    def _keys(self) -> list[str]:
        return [share.key for share in self._shares if share.probability >= LEAST_SHOWN]

    def _here(self) -> str:
        """Return the part on which the keyboard stands: where it went, the chosen one, or the first."""
        keys = self._keys()
        return next((key for key in (self._at, self._chosen) if key in keys), keys[0] if keys else "")


def _draw_pattern(painter: QPainter, box: QRectF, pattern: str, ink: QColor) -> None:
    """Fill the box with lines or dots; patterns hang on the box's corner, so that they move with it."""
    painter.setPen(QPen(ink, 1.6))
    left, top, right, bottom = box.left(), box.top(), box.right(), box.bottom()
    high = box.height()
    lines = []
    if pattern in ("rising", CROSSED):
        lines += [QLineF(x, bottom, x + high, top) for x in _steps(left - high, right)]
    if pattern in ("falling", CROSSED):
        lines += [QLineF(x, top, x + high, bottom) for x in _steps(left - high, right)]
    if pattern == "upright":
        lines += [QLineF(x, top, x, bottom) for x in _steps(left + _PITCH / 2, right)]
    if lines:
        painter.drawLines(lines)
    if pattern == "dotted":
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(ink)
        for row, y in enumerate(_steps(top + _PITCH / 2, bottom)):
            for x in _steps(left + (_PITCH / 2 if row % 2 else _PITCH), right):
                painter.drawEllipse(QPointF(x, y), 1.5, 1.5)


def _steps(start: float, end: float) -> list[float]:
    return [start + _PITCH * n for n in range(max(0, math.ceil((end - start) / _PITCH)))]
