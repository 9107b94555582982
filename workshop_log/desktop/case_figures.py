"""The figures on top of a case: how likely the part is the cause, what being wrong costs, the best test first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QFrame, QGridLayout, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.fields import empty, label

if TYPE_CHECKING:
    from workshop_log.exchange.records import Job
    from workshop_log.jobs.case import Case
    from workshop_log.jobs.figures import Figures
    from workshop_log.jobs.suspicion import Proposal


class FiguresPanel(QWidget):
    """What is known by figures about condemning one part; not seen where nothing is.

    Signals
    -------
    test_wanted : object
        The best test first shall be taken next; its `Proposal`.
    """

    test_wanted = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._proposal: Proposal | None = None
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 4)
        column.setSpacing(8)
        blocks = QGridLayout()
        blocks.setHorizontalSpacing(22)
        self.right = _Block("How likely it is the cause")
        self.cost = _Block("Being wrong would cost")
        self.now = _Block("Condemned now, lost on average")
        self.first = _Block("Tested first, on average")
        self._blocks = (self.right, self.cost, self.now, self.first)
        for place, block in enumerate(self._blocks):
            blocks.addWidget(block, 0, place)
            blocks.setColumnStretch(place, 1)
        column.addLayout(blocks)
        self.waiting = label("Working out what the circuit says…", "faint")
        column.addWidget(self.waiting)
        self.words = label("")
        column.addWidget(self.words)
        column.addWidget(self._test_row())
        self.against = QVBoxLayout()
        self.against.setSpacing(3)
        column.addLayout(self.against)
        self.unfold = QPushButton()
        self.unfold.setProperty("part", "quiet")
        self.unfold.setCheckable(True)
        self.unfold.setMinimumHeight(theme.TARGET_PX)
        row = QHBoxLayout()
        row.addWidget(self.unfold)
        row.addStretch(1)
        column.addLayout(row)
        self.cleared = QWidget()
        self.cleared_rows = QVBoxLayout(self.cleared)
        self.cleared_rows.setContentsMargins(8, 0, 0, 4)
        self.cleared_rows.setSpacing(3)
        self.cleared.hide()
        column.addWidget(self.cleared)
        self.unfold.toggled.connect(self.on_unfold)
        self.take.clicked.connect(self.on_take)
        self.hide()

    def _test_row(self) -> QWidget:
        self.test = QFrame()
        self.test.setProperty("part", "band")
        row = QHBoxLayout(self.test)
        row.setContentsMargins(12, 8, 12, 8)
        words = QVBoxLayout()
        words.setSpacing(1)
        self.test_title = label("")
        self.test_why = label("", "faint")
        words.addWidget(self.test_title)
        words.addWidget(self.test_why)
        self.take = QPushButton("Take this test")
        self.take.setMinimumHeight(theme.TARGET_PX)
        row.addLayout(words, 1)
        row.addWidget(self.take)
        self.test.hide()
        return self.test

    def show_figures(self, job: Job, case: Case) -> None:
        """Show the figures of a case, or nothing where there are none."""
        figures = case.figures
        self.setVisible(figures is not None)
        self.waiting.hide()
        for block in self._blocks:
            block.setVisible(figures is not None)
        if figures is None:
            self.words.hide()
            self.unfold.hide()
            self.cleared.hide()
            return
        from workshop_log.jobs.figures import in_a_hundred

        is_open = case.condemned.decision != "let off" and case.condemned.repaired is None
        kept = case.condemned.probability_right
        self.right.show_figure(in_a_hundred(case.probability_right), _standing_words(figures, was_decided=(
            kept is not None and not is_open and case.condemned.decision != "let off")))
        for block in (self.cost, self.now, self.first):
            block.setVisible(is_open)
        if is_open:
            self._show_money(job, case, figures)
        decision = figures.decision if is_open else None
        self.words.setText(decision.words if decision else figures.together_words)
        self.words.setVisible(bool(self.words.text()))
        self._show_test(decision.better_first if decision else None)
        self._show_against(case, figures)
        self._show_cleared(figures)

    def show_waiting(self) -> None:
        """Say that the figures are being worked out; those of before stay until then."""
        self.waiting.show()
        self.show()

    def _show_money(self, job: Job, case: Case, figures: Figures) -> None:
        from workshop_log.jobs.money import show_money

        currency, decision = job.workshop.currency, figures.decision
        cost = decision.cost_if_wrong if figures.is_money_known else case.cost_if_wrong
        self.cost.show_figure("not known yet" if cost is None else show_money(cost, currency),
                              _cost_words(case, figures))
        if not figures.is_money_known:
            for block in (self.now, self.first):
                block.show_figure("not known yet", "Type a price or a fitting time.")
            return
        self.now.show_figure(show_money(decision.expected_loss, currency))
        if decision.going_on is None:
            self.first.show_figure("no test is left")
            return
        self.first.show_figure(show_money(decision.going_on, currency))
        gain = decision.expected_loss - decision.going_on
        better, words = (self.first, gain) if gain > 0 else (self.now, -gain)
        if gain:
            better.note(f"The better of the two, by {show_money(words, currency)}.")

    def _show_test(self, proposal: Proposal | None) -> None:
        self._proposal = proposal
        self.test.setVisible(proposal is not None)
        if proposal is None:
            return
        self.test_title.setText(f"Better first: {proposal.title}")
        self.test_why.setText("\n".join((proposal.why, *(f"⚠ {caution}" for caution in proposal.cautions))))
        self.take.setAccessibleDescription(proposal.title)

    def _show_against(self, case: Case, figures: Figures) -> None:
        empty(self.against)
        if case.condemned.was_the_cause:
            return
        for words in figures.contradictions:
            self.against.addWidget(label(words, "problem"))
        if figures.still_possible:
            self.against.addWidget(label("What stands against it", "faint"))
        for words in figures.still_possible:
            self.against.addWidget(label(f"·  {words}"))

    def _show_cleared(self, figures: Figures) -> None:
        empty(self.cleared_rows)
        for cleared in figures.cleared:
            self.cleared_rows.addWidget(label(cleared.words))
        self.unfold.setVisible(bool(figures.cleared))
        if not figures.cleared:
            self.cleared.hide()
        self._name_fold()

    def _name_fold(self) -> None:
        count = self.cleared_rows.count()
        mark = "▾" if self.unfold.isChecked() else "▸"
        self.unfold.setText(f"{mark}  What else was cleared, and by which steps: {count}")

    @Slot(bool)
    def on_unfold(self, unfolded: bool) -> None:
        """Show what cleared the others, or fold it away."""
        self.cleared.setVisible(unfolded and self.cleared_rows.count() > 0)
        self._name_fold()

    @Slot()
    def on_take(self) -> None:
        """Take the best test next."""
        if self._proposal is not None:
            self.test_wanted.emit(self._proposal)


class _Block(QWidget):
    """One figure with what it is above it and a remark under it."""

    def __init__(self, caption: str) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(1)
        self.figure = label("", "figure")
        self._note = label("", "faint")
        column.addWidget(label(caption, "faint"))
        column.addWidget(self.figure)
        column.addWidget(self._note)
        column.addStretch(1)

    def show_figure(self, figure: str, note: str = "") -> None:
        """Show `figure` with a remark."""
        self.figure.setText(figure)
        self.note(note)

    def note(self, words: str) -> None:
        """Show a remark under the figure; no words take it away."""
        self._note.setText(words)
        self._note.setVisible(bool(words))


def _standing_words(figures: Figures, *, was_decided: bool) -> str:
    if was_decided:
        return "When it was decided."
    steps = f"{figures.n_steps} step{'' if figures.n_steps == 1 else 's'}"
    state = {"proved": "Proved", "cleared": "Cleared"}.get(figures.standing, "Not proved yet")
    return f"{state} by {steps}." if figures.standing != "standing" else f"{state}, after {steps}."


def _cost_words(case: Case, figures: Figures) -> str:
    from workshop_log.jobs.proposing import FIT_MINUTES

    if figures.together and figures.is_money_known:
        return "For all that is replaced together."
    if figures.is_money_known and case.condemned.fit_minutes is None:
        return f"{case.cost.words} Fitting taken as {FIT_MINUTES:.0f} min: type what it takes."
    return case.cost.words
