"""What is still possible and what to test next, beside the steps and the circuit."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer, Signal, Slot
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.fields import Card, bring_into_view, empty, label
from workshop_log.desktop.hand_suspects_editor import HandSuspectsEditor
from workshop_log.desktop.look_back import LookBack
from workshop_log.desktop.proposal_cards import ProposalCards
from workshop_log.desktop.suspect_list import SuspectList
from workshop_log.desktop.suspicion_bar import SuspicionBar
from workshop_log.desktop.suspicion_worker import Basis, SuspicionWorker

if TYPE_CHECKING:
    from workshop_log.desktop.desk import Desk
    from workshop_log.exchange.records import Job, Step
    from workshop_log.jobs.suspicion import CircuitSuspicion, Moment, Proposal, Share

# A pause this long while a reading is typed, and what it would mean is worked out.
SUPPOSING_PAUSE_MS = 150
# What was cleared is still taken to be while it is worked out again, as long as it stays under this.
_STILL_CLEARED = 0.002
NOTHING_LEFT = "No test that can be made here would tell more."


def is_being_searched(job: Job) -> bool:
    """Whether the cause is still looked for: after the repair, and once it was handed back, a test is another thing."""
    return job.handed_back is None and not any(entry.repaired for entry in job.condemned)


def carried_over(found: CircuitSuspicion, before: CircuitSuspicion | None) -> CircuitSuspicion:
    """Return shares that were just found with what is known of them from before, until that is worked out as well."""
    if before is None or before.circuit != found.circuit:
        return found
    lines = {line.key: line for line in before.suspects}
    shares = {share.key: share for share in before.shares}
    return replace(
        found, contradictions=before.contradictions, contradicting=before.contradicting,
        suspects=tuple(replace(line, same_as=lines[line.key].same_as, **_cleared_still(line, lines[line.key]),
                               reach=lines[line.key].reach) if line.key in lines else line for line in found.suspects),
        shares=tuple(replace(share, **_cleared_still(share, shares[share.key])) if share.key in shares else share
                     for share in found.shares))


def _cleared_still(now: object, before: object) -> dict[str, object]:
    if before.standing == "cleared" and now.probability < _STILL_CLEARED:
        return {"standing": "cleared", "cleared_by": before.cleared_by}
    return {}


def in_order_of(shares: tuple[Share, ...], others: tuple[Share, ...]) -> tuple[Share, ...]:
    """Return shares in the order in which the same ones stand in another bar, so that both can be compared."""
    place = {share.key: number for number, share in enumerate(others)}
    return tuple(sorted(shares, key=lambda share: place.get(share.key, len(place))))


class SuspicionPanel(QWidget):
    """The bar, the list under it, how it moved, what if; and the best next tests.

    Signals
    -------
    element_chosen : str
        A part of the bar was chosen: an element's id, or blank.
    shares_changed : object
        The tuple of `Share` to shade the drawing by; empty where nothing is known.
    taken : object
        The `Proposal` shall be made now.
    step_wanted : str
        A step shall be shown.
    """

    element_chosen = Signal(str)
    shares_changed = Signal(object)
    taken = Signal(object)
    step_wanted = Signal(str)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self._number = self._circuit = ""
        # How long each kind of test takes in this workshop.
        self._usual_minutes: dict[str, float] = {}
        # What was found last, and the last that was found whole.
        self.suspicion: CircuitSuspicion | None = None
        self._whole: CircuitSuspicion | None = None
        self.shown: tuple[Share, ...] = ()
        self.worker = SuspicionWorker(self)
        self._supposed: Step | None = None
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(SUPPOSING_PAUSE_MS)
        self._make()
        self._lay_out()
        self._wire()

    # --- building ----------------------------------------------------------------------------------------------------

    def _make(self) -> None:
        self.doubt = QFrame()
        self.doubt.setProperty("part", "doubt")
        self.doubt_words = label("")
        self._doubt_steps = QHBoxLayout()
        self.card = Card("Still possible")
        self.state = label("", "faint")
        self.bar, self.ghost = SuspicionBar(), SuspicionBar(is_ghost=True)
        self.ghost_words = label("", "strong")
        self.leave_ghost = QPushButton("✕")
        self.leave_ghost.setProperty("part", "quiet")
        self.leave_ghost.setAccessibleName("Stop supposing")
        self.leave_ghost.setFixedSize(theme.TARGET_PX, theme.TARGET_PX)
        self.ghost_side = QWidget()
        self.look_back = LookBack()
        self.list = SuspectList()
        self.rests = QPushButton()
        self.rests.setProperty("part", "fold")
        self.rests.setProperty("plain", "true")
        self.rests.setMinimumHeight(theme.TARGET_PX)
        self.rests_words = label("", "faint")
        self.rests_words.hide()
        self.by_hand = HandSuspectsEditor(self.desk)
        self.next = Card("Worth testing next")
        self.proposals = ProposalCards()

    def _lay_out(self) -> None:
        doubt = QVBoxLayout(self.doubt)
        doubt.setContentsMargins(10, 6, 10, 6)
        doubt.addWidget(self.doubt_words)
        doubt.addLayout(self._doubt_steps)
        self.doubt.hide()

        ghost = QVBoxLayout(self.ghost_side)
        ghost.setContentsMargins(0, 0, 0, 0)
        ghost.setSpacing(0)
        named = QHBoxLayout()
        named.addWidget(self.ghost_words, 1)
        named.addWidget(self.leave_ghost)
        ghost.addLayout(named)
        ghost.addWidget(self.ghost)
        self.ghost_side.hide()

        # Rows of the list reach nearly to the card's edge; their words stand where all others do.
        self.card.body.setContentsMargins(8, 12, 8, 6)
        self.card.body.setSpacing(6)
        self.card.head.setContentsMargins(8, 0, 8, 0)
        self.card.head.addWidget(self.look_back.handle, 2)
        for widgets in ((self.look_back, self.state, self.bar, self.ghost_side), (self.list,), (self.by_hand,)):
            part = QVBoxLayout()
            part.setSpacing(6)
            side = 0 if self.list in widgets else 8
            part.setContentsMargins(side, 0, side, 0)
            for widget in widgets:
                part.addWidget(widget)
            self.card.body.addLayout(part)
        self.next.body.addWidget(self.proposals)

        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(12)
        for widget in (self.doubt, self.card, self.next, self.rests, self.rests_words):
            column.addWidget(widget)

    def _wire(self) -> None:
        self.worker.suspicion_found.connect(self.on_suspicion)
        self.worker.proposals_found.connect(self.on_proposals)
        self.worker.history_found.connect(self.look_back.show_moments)
        self.worker.supposed.connect(self.on_supposed)
        self._pause.timeout.connect(self.on_pause)
        self.bar.share_chosen.connect(self.on_bar)
        self.list.share_chosen.connect(self.on_list)
        self.look_back.history_wanted.connect(self.worker.ask_history)
        self.look_back.moment_chosen.connect(self.on_moment)
        self.leave_ghost.clicked.connect(self.on_leave_ghost)
        self.rests.clicked.connect(self.on_rests)
        self.proposals.taken.connect(self.on_taken)
        self.proposals.supposed.connect(self.on_proposal_supposed)
        self.proposals.said.connect(self.on_said)
        self.proposals.unsaid.connect(self.on_unsaid)

    # --- showing -----------------------------------------------------------------------------------------------------

    def show_job(self, job: Job, circuit: str) -> None:
        """Show one circuit of a job; with an empty id the suspects written by hand."""
        if (job.number, circuit) != (self._number, self._circuit):
            self._number, self._circuit = job.number, circuit
            self._learn()
            self.suspicion = self._whole = None
            self.list.fold()
            self.bar.choose("")
            self.bar.show_shares((), at_once=True)
            self.proposals.show_proposals(())
            self._show(None)
        self.by_hand.show_job(job)
        self.by_hand.setVisible(not circuit)
        self.proposals.show_access(tuple(one for one in job.access if one.circuit == circuit))
        self.next.setVisible(bool(circuit) and is_being_searched(job))
        self._ask(job)

    def _ask(self, job: Job) -> None:
        basis = Basis(job, self._circuit, self._usual_minutes, self.desk.settings.come_back)
        if not self.isVisible() or not self.worker.ask(basis):
            return
        self.on_leave_ghost()
        if self.suspicion is None:
            self.state.setText("Working out what is still possible…")
            self.state.show()
        self.proposals.wait()

    def _learn(self) -> None:
        from workshop_log.jobs.learning import learnt_minutes

        with self.desk.book.read() as session:
            self._usual_minutes = learnt_minutes(session)

    def showEvent(self, event: object) -> None:
        """Work out what could not be while nobody looked."""
        super().showEvent(event)
        job = self.desk.job
        if job is not None and job.number == self._number:
            self._ask(job)

    def hideEvent(self, event: object) -> None:
        """Work nothing out that nobody sees: the page is left, or the window closed."""
        super().hideEvent(event)
        self._pause.stop()
        if self.worker.is_busy:
            self.worker.stop()

    @Slot(object, bool)
    def on_suspicion(self, found: CircuitSuspicion, is_whole: bool) -> None:
        """Show what is possible now; what was being looked back at is left."""
        if is_whole:
            self._whole = found
        else:
            found = carried_over(found, self._whole)
        self._show(found)

    def _show(self, found: CircuitSuspicion | None) -> None:
        self.suspicion = found
        problem = found.problem if found is not None else ""
        self.state.setText(problem)
        self.state.setVisible(bool(problem))
        if found is None or not self.look_back.is_back or found.n_steps != self.look_back.slider.maximum():
            self.look_back.forget(found.n_steps if found is not None else 0)
        self._show_now()

    def _show_now(self) -> None:
        found = self.suspicion
        shares = found.shares if found is not None else ()
        self.list.show_suspicion(found)
        self._show_shares(shares)
        self._show_doubt(found)
        rests = found.assumptions if found is not None else ()
        self.rests.setVisible(bool(rests))
        self.rests_words.setText("\n".join(rests))
        self._name_rests()

    def _show_shares(self, shares: tuple[Share, ...]) -> None:
        self.shown = shares
        self.bar.show_shares(shares)
        for widget in (self.bar, self.list):
            widget.setVisible(bool(shares))
        self.shares_changed.emit(shares if self._circuit else ())

    def _show_doubt(self, found: CircuitSuspicion | None) -> None:
        doubts = found.contradictions if found is not None else ()
        self.doubt.setVisible(bool(doubts))
        words = "\n".join(f"⚠ {words}" for words in doubts)
        steps = tuple(dict.fromkeys(found.contradicting)) if found is not None else ()
        if words == self.doubt_words.text():
            return
        self.doubt_words.setText(words)
        empty(self._doubt_steps)
        for step in steps:
            self._doubt_steps.addWidget(_StepButton(step, self), 0, Qt.AlignmentFlag.AlignLeft)

    @Slot(object, str)
    def on_proposals(self, proposals: tuple[Proposal, ...], problem: str) -> None:
        """Show what to test next."""
        self.proposals.show_proposals(proposals, "" if proposals else problem or NOTHING_LEFT)

    # --- choosing ----------------------------------------------------------------------------------------------------

    def choose(self, share: str) -> None:
        """Show the suspects of an element that was pressed in the drawing."""
        found = self.suspicion
        if found is not None and found.share_of(share) is not None:
            self.bar.choose(share)
            self.list.choose(share)

    @Slot(str)
    def on_bar(self, share: str) -> None:
        self.list.choose(share)
        self._tell_chosen(share)

    @Slot(str)
    def on_list(self, share: str) -> None:
        self._tell_chosen(share)

    def _tell_chosen(self, share: str) -> None:
        self.bar.choose(share)
        self.by_hand.choose(share)
        self.element_chosen.emit(share if self._circuit else "")

    def focus_list(self) -> None:
        """Put the cursor into the list."""
        wanted = self.list if not self.list.isHidden() else self.by_hand.name
        wanted.setFocus(Qt.FocusReason.ShortcutFocusReason)
        bring_into_view(self.card)

    def focus_next_test(self) -> None:
        """Put the cursor on the best test; Enter takes it."""
        self.proposals.focus_first()

    def focus_look_back(self) -> None:
        """Put the cursor on the slider."""
        if not self.look_back.handle.isHidden():
            self.look_back.slider.setFocus(Qt.FocusReason.ShortcutFocusReason)
            bring_into_view(self.look_back.slider)

    @Slot()
    def on_rests(self) -> None:
        """Show what the figures rest on, or hide it."""
        self.rests_words.setVisible(self.rests_words.isHidden())
        self._name_rests()

    def _name_rests(self) -> None:
        if self.rests.isHidden():
            self.rests_words.hide()
        is_open = not self.rests_words.isHidden()
        self.rests.setText(f"{'▾' if is_open else '▸'}  What these figures rest on")

    # --- looking back ------------------------------------------------------------------------------------------------

    @Slot(object)
    def on_moment(self, moment: Moment | None) -> None:
        """Show the bar, the list and the shading as they stood; None for now."""
        is_now = moment is None
        self.next.setVisible(is_now and bool(self._circuit) and is_being_searched(self.desk.job))
        self.by_hand.setVisible(is_now and not self._circuit)
        if is_now:
            self._show_now()
            return
        self.on_leave_ghost()
        shares = tuple(sorted(moment.shares, key=lambda share: -share.probability))
        self.list.show_suspicion(replace(self.suspicion, shares=shares, suspects=(), contradictions=()))
        self.doubt.hide()
        self.rests.hide()
        self.rests_words.hide()
        self._show_shares(moment.shares)

    # --- what if -----------------------------------------------------------------------------------------------------

    @Slot(object)
    def suppose(self, step: Step | None) -> None:
        """Show how the bar would stand with a step that is only being typed; None for not any more.

        Between two keys a reading may be none: what is shown stays until the person pauses.
        """
        is_about = step is not None and bool(self._circuit) and step.circuit == self._circuit and not step.after_repair
        self._supposed = step if is_about else None
        if is_about or not self.ghost_side.isHidden() or self._pause.isActive():
            self._pause.start()

    @Slot()
    def on_pause(self) -> None:
        if self._supposed is not None:
            self.worker.suppose(self._supposed)
        else:
            self.on_leave_ghost()

    @Slot(object, object)
    def on_supposed(self, step: Step, found: CircuitSuspicion) -> None:
        """Show the bar that there would be."""
        if self._supposed is None or self.suspicion is None:
            return
        from workshop_log.jobs.supposing import supposed_words

        if self.look_back.is_back:
            self.look_back.on_now()
        words = supposed_words(step)
        self.ghost_words.setText(found.problem or f"{words[0].upper()}{words[1:]}:")
        self.ghost.setAccessibleName(f"What would be possible {words}")
        self.ghost.show_shares(in_order_of(found.shares, self.suspicion.shares),
                               at_once=self.ghost_side.isHidden())
        self.ghost.setVisible(bool(found.shares))
        self.ghost_side.show()

    @Slot()
    def on_leave_ghost(self) -> None:
        """Suppose nothing any more."""
        self._supposed = None
        self._pause.stop()
        self.worker.suppose(None)
        self.ghost_side.hide()

    @Slot(object, str)
    def on_proposal_supposed(self, proposal: Proposal, text: str) -> None:
        """Show how the bar would stand if a proposed test showed this."""
        from workshop_log.jobs.supposing import read_result

        read = read_result(text, proposal, self.desk.job)
        if read.step is None:
            self.desk.problem.emit(read.problem)
            return
        self._supposed = read.step
        self.worker.suppose(read.step)

    # --- getting at things -------------------------------------------------------------------------------------------

    @Slot(object)
    def on_taken(self, proposal: Proposal) -> None:
        self.on_leave_ghost()
        self.taken.emit(proposal)

    @Slot(object)
    def on_said(self, about: dict[str, str]) -> None:
        """Note what was said about getting at something; other tests are proposed then."""
        from workshop_log.jobs.access import say_access

        self.desk.add("access", say_access, self._circuit, **about)

    @Slot(str)
    def on_unsaid(self, access: str) -> None:
        """Take that back."""
        self.desk.remove("access", access)


class _StepButton(QPushButton):
    """The way to a step that ought to be repeated."""

    def __init__(self, step: str, panel: SuspicionPanel) -> None:
        super().__init__(f"Show {step}")
        self._step, self._panel = step, panel
        self.setMinimumHeight(theme.TARGET_PX)
        self.setAccessibleName(f"Show step {step}, which ought to be repeated")
        self.clicked.connect(self.on_clicked)

    @Slot()
    def on_clicked(self) -> None:
        self._panel.step_wanted.emit(self._step)
