"""The tests that are worth making next: why, what they would show, and what stands in their way."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QPoint, Qt, QTimer, Signal, Slot
from PySide6.QtGui import QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLineEdit, QMenu, QPushButton, QVBoxLayout, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.fields import TakeBackRow, bring_into_view, empty, label, set_part, tip

if TYPE_CHECKING:
    from collections.abc import Mapping

    from workshop_log.exchange.records import Access
    from workshop_log.jobs.suspicion import Proposal

# What lacks where a kind of test is not available.
_TOOLS = {"voltage": "No voltmeter here", "current": "No clamp or ammeter here", "resistance": "No ohmmeter here",
          "lamp": "No test lamp here", "look": "Looking is not possible", "movement": "Moving by hand is not possible",
          "swap": "No known good part here"}
_KINDS = {"voltage": "voltages", "current": "currents", "resistance": "resistances", "lamp": "a test lamp",
          "look": "looking", "movement": "moving by hand", "swap": "a known good part"}
_GROUND = "B-"
# A caution longer than this is folded to its title, which is no longer than that.
_FOLDED_FROM, _LONGEST_TITLE = 120, 40
# So many faults that a test would have seen are named.
_MOST_SEEN = 2


class AccessWish(NamedTuple):
    """Something that can be said about getting at a proposed test: the words, and what is to be stored."""

    words: str
    about: Mapping[str, str]


def access_wishes(proposal: Proposal) -> tuple[AccessWish, ...]:
    """Return what a technician may have to say about a proposed test."""
    from workshop_log.jobs.access import ALREADY_OFF, CANNOT_BE_REACHED, NOT_AVAILABLE

    place = proposal.place
    points = [name for name in dict.fromkeys((place.point, place.black)) if name and name != _GROUND]
    where = [("element", place.element)] if place.element else [("point", name) for name in points]
    wishes = [AccessWish(f"Cannot reach {name}", {kind: name, "state": CANNOT_BE_REACHED}) for kind, name in where]
    if proposal.kind == "swap" and place.element:
        wishes.append(AccessWish(f"No known good {place.element} here",
                                 {"test": "swap", "element": place.element, "state": NOT_AVAILABLE}))
    elif proposal.kind in _TOOLS:
        wishes.append(AccessWish(_TOOLS[proposal.kind], {"test": proposal.kind, "state": NOT_AVAILABLE}))
    if proposal.takes_off:
        wishes += [AccessWish(f"Nothing in the way of {name} any more: already off",
                              {kind: name, "state": ALREADY_OFF}) for kind, name in where]
    return tuple(wishes)


def access_words(access: Access) -> str:
    """Return what was said, in words: "C3.2b cannot be reached", "a known good part not available for K1"."""
    from workshop_log.jobs.access import CANNOT_BE_REACHED, NOT_AVAILABLE

    if access.state == NOT_AVAILABLE:
        what = _KINDS.get(access.test or "", access.test or "this test")
        return f"{what} not available" + (f" for {access.element}" if access.element else "")
    name = access.point or access.element or ""
    if access.state == CANNOT_BE_REACHED:
        return f"{name} cannot be reached"
    return f"nothing in the way of {name} any more"


def shown_words(proposal: Proposal) -> list[str]:
    """Return what a test may show, line by line."""
    lines = [f"Healthy: {proposal.healthy}."] if proposal.healthy else []
    return lines + ([f"Else {words}." for words in proposal.faulty.split("; ")] if proposal.faulty else [])


def reach_words(proposal: Proposal) -> str:
    """Return what a clear result could have seen, the first of it where it is much; blank where nothing is known."""
    if not proposal.reach:
        return ""
    seen = proposal.reach.split("; ")
    more = f"; and {len(seen) - _MOST_SEEN} more" if len(seen) > _MOST_SEEN else ""
    return f"A clear result {'; '.join(seen[:_MOST_SEEN])}{more}."


class _Cautions(QWidget):
    """What is to be read before a test: how much it is, and unfolded all of it."""

    def __init__(self, cautions: tuple[str, ...]) -> None:
        super().__init__()
        self.setProperty("part", "doubt")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        title = cautions[0].partition(": ")[0]
        self._title = title if len(cautions) == 1 else f"{len(cautions)} cautions"
        self.fold = QPushButton()
        self.fold.setProperty("part", "fold")
        self.fold.setProperty("caution", "true")
        self.fold.setMinimumHeight(theme.TARGET_PX)
        self.rest = label("\n\n".join(cautions))
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 2, 8, 2)
        column.setSpacing(0)
        column.addWidget(self.fold)
        column.addWidget(self.rest)
        self.fold.clicked.connect(self.on_fold)
        self._unfold(False)

    def _unfold(self, is_open: bool) -> None:
        self.rest.setVisible(is_open)
        self.fold.setText(f"⚠ {self._title}  {'▾' if is_open else '▸'}")
        self.fold.setAccessibleName(f"{self._title}: {'hide' if is_open else 'read before the test'}")

    @Slot()
    def on_fold(self) -> None:
        self._unfold(self.rest.isHidden())


class ProposalCard(QFrame):
    """One test that is worth making; unfolded it says all, folded what it is and why.

    Enter takes it, the arrow keys go to the others.

    Signals
    -------
    taken : object
        The `Proposal` shall be made now.
    supposed : object, str
        What if the test of the `Proposal` showed this.
    said : object
        What there is to say about getting at it: see `AccessWish.about`.
    wanted : object
        This card shall be the unfolded one.
    step_over : int
        The arrow keys go to the next card (1) or the one before (-1).
    """

    taken = Signal(object)
    supposed = Signal(object, str)
    said = Signal(object)
    wanted = Signal(object)
    step_over = Signal(int)

    def __init__(self, number: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.proposal: Proposal | None = None
        self._is_first = number == 0
        self.setProperty("part", "proposal")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.title, self.why = label(""), label("", "faint")
        self.title.setProperty("part", "strong")
        self.shows, self.takes_off, self.reach = label(""), label("", "faint"), label("", "faint")
        self.cautions = QVBoxLayout()
        self.cautions.setSpacing(4)
        self.take = QPushButton("Take this test")
        self.what_if = QPushButton("What if…")
        self.cannot = QPushButton("Can't do it…")
        self.own = QLineEdit()
        self.own.setPlaceholderText("what it might show, then Enter")
        self.own.setAccessibleName("What the test might show")
        self.own.hide()
        for button in (self.take, self.what_if, self.cannot, self.own):
            button.setMinimumHeight(theme.TARGET_PX)
        if self._is_first:
            self.take.setProperty("part", "main")
        self.body = QWidget()
        body = QVBoxLayout(self.body)
        body.setContentsMargins(0, 2, 0, 0)
        body.setSpacing(6)
        body.addWidget(self.shows)
        body.addWidget(self.takes_off)
        body.addLayout(self.cautions)
        body.addWidget(self.take)
        others = QHBoxLayout()
        others.addWidget(self.what_if, 1)
        others.addWidget(self.cannot, 1)
        body.addLayout(others)
        body.addWidget(self.own)
        body.addWidget(self.reach)
        column = QVBoxLayout(self)
        column.setContentsMargins(10, 8, 10, 10)
        column.setSpacing(3)
        for widget in (self.title, self.why, self.body):
            column.addWidget(widget)
        self.take.clicked.connect(self.on_take)
        self.what_if.clicked.connect(self.on_what_if)
        self.cannot.clicked.connect(self.on_cannot)
        self.own.returnPressed.connect(self.on_own)

    def show_proposal(self, proposal: Proposal, *, is_open: bool) -> None:
        """Show a test, unfolded or not."""
        if self.proposal is None or self.proposal.key != proposal.key:
            self.own.clear()
            self.own.hide()
        if self.proposal is None or self.proposal.cautions != proposal.cautions:
            empty(self.cautions)
            titled = tuple(words for words in proposal.cautions
                           if len(words) > _FOLDED_FROM and 0 < words.find(": ") <= _LONGEST_TITLE)
            for words in proposal.cautions:
                if words not in titled:
                    self.cautions.addWidget(label(f"⚠ {words}", "caution"))
            if titled:
                self.cautions.addWidget(_Cautions(titled))
        self.proposal = proposal
        self.title.setText(proposal.title)
        self.why.setText(proposal.why)
        shows = shown_words(proposal)
        for widget, words in ((self.shows, "\n".join(shows)),
                              (self.takes_off, f"Comes off first: {proposal.takes_off}." if proposal.takes_off
                               else ""), (self.reach, reach_words(proposal))):
            widget.setText(words)
            widget.setVisible(bool(words))
        self.reach.setToolTip(tip(f"A clear result {proposal.reach}.") if proposal.reach else "")
        self.setAccessibleName(f"Next test: {proposal.title}")
        self.setAccessibleDescription(" ".join(filter(None, (proposal.why, *shows, *proposal.cautions))))
        for button, words in ((self.take, "Take this test"), (self.what_if, "What if…"), (self.cannot, "Can't do it…")):
            button.setAccessibleName(f"{words.rstrip('…')}: {proposal.title}")
        self.unfold(is_open)

    def unfold(self, is_open: bool) -> None:
        """Say all, or what it is and why alone."""
        self.body.setVisible(is_open)
        set_part(self, "open", is_open)

    @Slot()
    def show_whole(self) -> None:
        """Scroll to the card."""
        bring_into_view(self)

    # --- what the person does ----------------------------------------------------------------------------------------

    @Slot()
    def on_take(self) -> None:
        if self.proposal is not None:
            self.taken.emit(self.proposal)

    def what_if_menu(self) -> QMenu:
        """Return the menu of what the test might show."""
        from workshop_log.jobs.supposing import outcomes_of

        menu = QMenu(self)
        for outcome in outcomes_of(self.proposal):
            menu.addAction(f"What if: {outcome.words}".replace("&", "&&")).setData(outcome.text)
        menu.addAction("What if it shows something else…").setData("")
        menu.triggered.connect(self.on_supposed)
        return menu

    def cannot_menu(self) -> QMenu:
        """Return the menu of what may stand in the way."""
        menu = QMenu(self)
        for wish in access_wishes(self.proposal):
            menu.addAction(wish.words.replace("&", "&&")).setData(wish)
        menu.triggered.connect(self.on_said)
        return menu

    @Slot()
    def on_what_if(self) -> None:
        _pop_up(self.what_if_menu(), self.what_if)

    @Slot()
    def on_cannot(self) -> None:
        _pop_up(self.cannot_menu(), self.cannot)

    @Slot(object)
    def on_supposed(self, action: object) -> None:
        if action.data():
            self.supposed.emit(self.proposal, action.data())
        else:
            self.own.show()
            self.own.setFocus()

    @Slot()
    def on_own(self) -> None:
        if self.own.text().strip():
            self.supposed.emit(self.proposal, self.own.text().strip())

    @Slot(object)
    def on_said(self, action: object) -> None:
        self.said.emit(dict(action.data().about))

    def mousePressEvent(self, _event: QMouseEvent) -> None:
        """Unfold what was clicked."""
        self.setFocus(Qt.FocusReason.MouseFocusReason)
        self.wanted.emit(self)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take the test with Enter, unfold it with Space, go to the others with the arrow keys."""
        key = event.key()
        if self.own.hasFocus() and key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            return
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.on_take()
        elif key == Qt.Key.Key_Space:
            self.wanted.emit(self)
        elif key in (Qt.Key.Key_Down, Qt.Key.Key_Up):
            self.step_over.emit(1 if key == Qt.Key.Key_Down else -1)
        else:
            super().keyPressEvent(event)


def _pop_up(menu: QMenu, button: QPushButton) -> None:
    menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    menu.popup(button.mapToGlobal(QPoint(0, button.height())))


class ProposalCards(QWidget):
    """The best tests under each other, one of them unfolded; and what was said about getting at things.

    Signals
    -------
    taken, supposed, said
        As of `ProposalCard`.
    unsaid : str
        What was said under this id shall be taken back.
    """

    taken = Signal(object)
    supposed = Signal(object, str)
    said = Signal(object)
    unsaid = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.cards: list[ProposalCard] = []
        self._open = ""
        self._access: tuple[Access, ...] = ()
        self.waiting = label("", "faint")
        self.waiting.hide()
        self._column = QVBoxLayout()
        self._column.setSpacing(8)
        self.said_words = label("Said about getting at things:", "faint")
        self.said_words.hide()
        self._said_rows = QVBoxLayout()
        self._said_rows.setSpacing(2)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        column.addWidget(self.waiting)
        column.addLayout(self._column)
        column.addWidget(self.said_words)
        column.addLayout(self._said_rows)

    def show_proposals(self, proposals: tuple[Proposal, ...], words: str = "") -> None:
        """Show these tests; `words` where there is none, or where they are still being worked out."""
        self.waiting.setText(words)
        self.waiting.setVisible(bool(words))
        while len(self.cards) < len(proposals):
            card = ProposalCard(len(self.cards))
            card.taken.connect(self.taken)
            card.supposed.connect(self.supposed)
            card.said.connect(self.said)
            card.wanted.connect(self.on_wanted)
            card.step_over.connect(self.on_step_over)
            self.cards.append(card)
            self._column.addWidget(card)
        keys = [proposal.key for proposal in proposals]
        if self._open not in keys:
            self._open = keys[0] if keys else ""
        for place, card in enumerate(self.cards):
            if place < len(proposals):
                card.show_proposal(proposals[place], is_open=keys[place] == self._open)
            elif card.hasFocus() and self.cards[0].isVisible():
                self.cards[0].setFocus()
            card.setVisible(place < len(proposals))

    def wait(self) -> None:
        """Say that the tests are being worked out; those that are shown stay until then."""
        if not self.shown():
            self.show_proposals((), "Working out what to test next…")

    def show_access(self, access: tuple[Access, ...]) -> None:
        """Show what was said about getting at things, to be taken back."""
        if access == self._access:
            return
        self._access = access
        empty(self._said_rows)
        for record in access:
            row = TakeBackRow(access_words(record), record.id)
            row.taken_back.connect(self.unsaid)
            self._said_rows.addWidget(row)
        self.said_words.setVisible(bool(access))

    def shown(self) -> tuple[Proposal, ...]:
        """Return the tests that are shown."""
        return tuple(card.proposal for card in self.cards if not card.isHidden())

    def focus_first(self) -> bool:
        """Put the cursor on the unfolded test; return whether there is one."""
        card = next((card for card in self.cards if not card.isHidden() and card.proposal.key == self._open), None)
        if card is not None:
            card.setFocus(Qt.FocusReason.ShortcutFocusReason)
            bring_into_view(card)
        return card is not None

    @Slot(object)
    def on_wanted(self, card: ProposalCard) -> None:
        """Unfold one card."""
        self._open = card.proposal.key
        for other in self.cards:
            other.unfold(other is card)

    @Slot(int)
    def on_step_over(self, way: int) -> None:
        """Go to the next card, or the one before, and unfold it."""
        shown = [card for card in self.cards if not card.isHidden()]
        place = next((i for i, card in enumerate(shown) if card is self.sender()), 0)
        card = shown[min(max(place + way, 0), len(shown) - 1)]
        self.on_wanted(card)
        card.setFocus(Qt.FocusReason.TabFocusReason)
        # Once it is unfolded.
        QTimer.singleShot(0, card, card.show_whole)
