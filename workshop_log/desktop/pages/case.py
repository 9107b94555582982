"""Case: for each part considered, the figures, what speaks for it, what being wrong costs, and the proof afterwards."""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer, Signal, Slot
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.case_figures import FiguresPanel
from workshop_log.desktop.case_weigher import CaseWeigher
from workshop_log.desktop.desk import now
from workshop_log.desktop.fields import Card, ChoiceField, Form, LineField, TextField, empty, in_tab_order, label
from workshop_log.desktop.flow import FlowLayout
from workshop_log.desktop.pages.page import Page, scrolling
from workshop_log.desktop.range_glyph import RangeGlyph, has_glyph

if TYPE_CHECKING:
    from workshop_log.exchange.records import Condemned, Job
    from workshop_log.jobs.deciding import Case
    from workshop_log.jobs.evaluation import JudgedReading
    from workshop_log.jobs.weighing import Offer, Weighed

RETURNABLE = (("", "not known"), ("yes", "can be returned"), ("no", "cannot be returned"))
# The facts of a case that are written before it is decided.
FACTS = ("finding", "others_cleared", "unproved", "price", "returnable", "fit_minutes", "all_the_same", "what_was_done")
# Those of them by which the case is shown before it is decided.
SHOWN_FACTS = ("others_cleared", "price", "returnable", "fit_minutes", "all_the_same")
# While a button is held down nothing on a card moves; after this long it is looked at again.
AGAIN_MS = 120


class CasePage(Page):
    """One card for each part condemned or considered.

    Signals
    -------
    test_wanted : object
        A test shall be taken before a part is condemned; its `Proposal`.
    """

    test_wanted = Signal(object)

    def __init__(self, desk: object, parent: QWidget | None = None) -> None:
        super().__init__(desk, parent)
        self._cards: dict[str, _CaseCard] = {}
        self._steps: tuple[str, ...] = ()
        self.column = QVBoxLayout()
        begin = Card("Consider a part")
        row = QHBoxLayout()
        self.part = QLineEdit()
        self.part.setPlaceholderText("which part: “front brake discs”, “ground strap, engine to body”")
        self.part.setAccessibleName("Part to consider")
        self.part.setMinimumHeight(theme.TARGET_PX)
        self.begin = QPushButton("Consider")
        self.begin.setMinimumHeight(theme.TARGET_PX)
        row.addWidget(self.part, 1)
        row.addWidget(self.begin)
        begin.body.addLayout(row)
        self.likely = QWidget()
        self.likely_row = FlowLayout(self.likely)
        self.likely.hide()
        begin.body.addWidget(self.likely)
        self.why = label("", "faint")
        begin.body.addWidget(self.why)
        self.cases = QVBoxLayout()
        self.cases.setSpacing(14)
        self.column.addWidget(begin)
        self.column.addLayout(self.cases)
        open_ends = Card("What was not tested, and why")
        self.open_ends = self.register(Form())
        self.open_ends.add_field("One sentence in each line; it is printed", TextField("not_tested", lines=3),
                                 "The rear lamps were not tested: not part of the complaint.")
        open_ends.body.addWidget(self.open_ends)
        self.column.addWidget(open_ends)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(scrolling((self.column,), (1,)))
        self.weigher = CaseWeigher(self)
        self.weigher.weighed.connect(self.on_weighed)
        self.weigher.offered.connect(self.on_offered)
        self.weigher.failed.connect(self.on_failed)
        self.begin.clicked.connect(self.on_begin)
        self.part.returnPressed.connect(self.on_begin)

    def consider_step(self, step_id: str) -> None:
        """Begin a case that rests on the step `step_id`."""
        self._steps = (step_id,)
        self._say_why()
        self.part.setFocus()

    def _say_why(self) -> None:
        self.why.setText(f"Rests on step {', '.join(self._steps)}; every reading outside its range is listed as well."
                         if self._steps else "Every reading outside its range is listed as speaking for it.")

    def show_job(self, job: Job | None) -> None:
        """Show the cases; a card keeps what is being typed into it."""
        if job is None:
            return
        from workshop_log.jobs.deciding import current_cases
        from workshop_log.jobs.intake import text_at

        self._say_why()
        # What was condemned comes first, what was let off last.
        rank = {"replace": 0, "repair": 0, "considered": 1, "let off": 2}
        current = sorted(current_cases(job), key=lambda condemned: rank[condemned.decision])
        for key in [k for k in self._cards if k not in {_root(job, c) for c in current}]:
            card = self._cards.pop(key)
            card.hide()
            card.deleteLater()
        has_new = False
        for condemned in current:
            root = _root(job, condemned)
            card = self._cards.get(root)
            is_new = card is None or card.number != job.number
            if card is None or card.number != job.number:
                if card is not None:
                    card.deleteLater()
                card = self._cards[root] = _CaseCard(self.desk, job.number, root)
                card.changed.connect(self.weigh)
                card.figures.test_wanted.connect(self.test_wanted)
            if is_new and has_new:
                # All at once they would hold the window up: the first stands, the others follow one by one.
                card.hide()
                QTimer.singleShot(0, self, self._show_next_card)
            has_new = has_new or is_new
            self.cases.addWidget(card)
            card.show_condemned(job, condemned)
            if is_new:
                in_tab_order(self.open_ends.fields["not_tested"], [card])
        self.open_ends.fields["not_tested"].show_value(text_at(job, "not_tested"))
        self.weigh()

    def _show_next_card(self) -> None:
        """Show the first card that is not shown yet."""
        hidden = next((card for card in self._cards.values() if card.isHidden()), None)
        if hidden is not None:
            hidden.show()

    # --- the figures -------------------------------------------------------------------------------------------------

    @Slot()
    def weigh(self) -> None:
        """Work out the figures of every card, where something has changed."""
        job = self.desk.job
        if job is not None:
            self.weigher.ask(job, tuple(card.condemned for card in self._cards.values()),
                             self.desk.settings.come_back)

    @Slot(object)
    def on_weighed(self, weighed: dict[str, Weighed]) -> None:
        """Show the figures of each card."""
        for card in tuple(self._cards.values()):
            if card.condemned.id in weighed:
                card.take_weighed(weighed[card.condemned.id])

    @Slot(object)
    def on_offered(self, offers: tuple[Offer, ...]) -> None:
        """Offer the likeliest suspects for a case of their own."""
        empty(self.likely_row)
        self.likely.setVisible(bool(offers))
        if not offers:
            return
        words = label("Likeliest now:", "faint")
        words.setWordWrap(False)
        words.setMinimumHeight(theme.TARGET_PX)
        self.likely_row.addWidget(words)
        for offer in offers:
            button = _OfferButton(offer, self.likely)
            button.offer_wanted.connect(self.on_offer)
            self.likely_row.addWidget(button)
        after = self.begin.nextInFocusChain()
        while self.likely.isAncestorOf(after) or not after.focusPolicy() & Qt.FocusPolicy.TabFocus:
            after = after.nextInFocusChain()
        in_tab_order(after, [self.likely])

    @Slot(object)
    def on_offer(self, offer: Offer) -> None:
        """Consider a suspect that was offered."""
        from workshop_log.jobs.deciding import consider

        facts = {"circuit": offer.circuit, "element": offer.element} if offer.circuit else {}
        if self.desk.do(consider, "" if offer.circuit else offer.name, self._steps, now(), **facts):
            self._steps = ()
            self._say_why()

    @Slot(str)
    def on_failed(self, problem: str) -> None:
        """Say that there are no figures; what was to be decided is decided without them only by another press."""
        for card in self._cards.values():
            card.forget_wish()
        self.desk.problem.emit(problem)

    def hand_over(self) -> None:
        """Save what is being typed into any card."""
        super().hand_over()
        for card in self._cards.values():
            card.hand_over()

    def first_focus(self) -> QWidget:
        """Begin with the part to consider, unless a case is open."""
        return next(iter(self._cards.values())).first_field() if self._cards and not self._steps else self.part

    @Slot()
    def on_begin(self) -> None:
        """Consider the named part."""
        from workshop_log.jobs.deciding import consider

        if self.part.text().strip() and self.desk.do(consider, self.part.text().strip(), self._steps, now()):
            self._steps = ()
            self.part.clear()
            self._say_why()


def _root(job: Job, condemned: Condemned) -> str:
    """Return the id of the first entry of this case, which stays while later entries replace it."""
    by_id = {c.id: c for c in job.condemned}
    while condemned.replaces in by_id:
        condemned = by_id[condemned.replaces]
    return condemned.id


class _OfferButton(QPushButton):
    """A suspect that may be worth a case.

    Signals
    -------
    offer_wanted : object
        It was pressed; its `Offer`.
    """

    offer_wanted = Signal(object)

    def __init__(self, offer: Offer, parent: QWidget) -> None:
        super().__init__(offer.words.replace("&", "&&"), parent)
        self._offer = offer
        self.setMinimumHeight(theme.TARGET_PX)
        self.clicked.connect(self.on_clicked)

    @Slot()
    def on_clicked(self) -> None:
        self.offer_wanted.emit(self._offer)


class _CaseCard(Card):
    """One part: the figures, what speaks for it, what does not, the decision, and the proof after the repair.

    Signals
    -------
    changed
        Something was written that the figures depend on, or they are needed for a decision.
    """

    changed = Signal()

    def __init__(self, desk: object, number: str, root: str) -> None:
        super().__init__(" ")
        self.desk, self.number, self.root = desk, number, root
        self._case: Case | None = None
        # As the last entry has it, with what is written on the card and not decided yet.
        self.condemned: Condemned | None = None
        self._weighed: Weighed | None = None
        # A decision that waits for its figures.
        self._wish = ""
        self._again = QTimer(self)
        self._again.setSingleShot(True)
        self._again.setInterval(0)
        self._again.timeout.connect(self.on_again)
        self.state = label("", "faint")
        self.state.setWordWrap(False)
        self.head.addWidget(self.state)
        self.figures = FiguresPanel()
        self.body.addWidget(self.figures)
        columns = QHBoxLayout()
        columns.setSpacing(22)
        left, right = QVBoxLayout(), QVBoxLayout()
        columns.addLayout(left, 3)
        columns.addLayout(right, 2)
        self.body.addLayout(columns)

        left.addWidget(label("What speaks for it", "faint"))
        self.evidence = QVBoxLayout()
        self.evidence.setSpacing(4)
        left.addLayout(self.evidence)
        self.form = Form()
        self.form.edited.connect(self.on_edited)
        self.form.add_field(
            "&Finding, as it could be read aloud to the customer", TextField("finding", lines=3), span=2
        )
        self.form.add_field("What every &other cause was cleared by", TextField("others_cleared", lines=3), span=2)
        self.form.add_field("What is still &unproved", TextField("unproved", lines=2), span=2)
        left.addWidget(self.form)
        left.addStretch(1)

        self.cost_title = label("What being wrong would cost", "faint")
        self.cost = label("", "figure")
        self.cost_words = label("", "faint")
        for widget in (self.cost_title, self.cost, self.cost_words):
            right.addWidget(widget)
        self.doubts_title = label("What is unproved", "faint")
        self.doubts = label("", "")
        self.doubts.setAlignment(Qt.AlignmentFlag.AlignTop)
        right.addWidget(self.doubts_title)
        right.addWidget(self.doubts)
        self.money = Form()
        self.money.edited.connect(self.on_edited)
        self.money.add_field("Price", LineField("price"), "without tax")
        self.money.add_field("Fitting, minutes", LineField("fit_minutes"), "45", column=1, same_row=True)
        self.money.add_field("The part", ChoiceField("returnable", RETURNABLE), span=2)
        self.money.add_field("Condemned all the same because", LineField("all_the_same"),
                             "your own reason; it is printed", span=2)
        right.addWidget(self.money)
        buttons = QHBoxLayout()
        self.replace = QPushButton("Condemn: replace")
        self.replace.setProperty("part", "main")
        self.repair = QPushButton("Condemn: repair")
        self.let_off = QPushButton("Let it off")
        for button in (self.replace, self.repair, self.let_off):
            button.setMinimumHeight(theme.TARGET_PX)
            buttons.addWidget(button)
        right.addLayout(buttons)

        self.after = QWidget()
        after = QVBoxLayout(self.after)
        after.setContentsMargins(0, 6, 0, 0)
        self.after_form = Form()
        self.after_form.edited.connect(self.on_edited)
        self.after_form.add_field("What was &done", TextField("what_was_done", lines=2))
        after.addWidget(self.after_form)
        self.repaired = QPushButton("The repair is done")
        self.repaired.setMinimumHeight(theme.TARGET_PX)
        after.addWidget(self.repaired)
        self.proof = QVBoxLayout()
        after.addLayout(self.proof)
        judge = QHBoxLayout()
        self.was_it = label("Was it the cause?", "")
        self.yes, self.no = QPushButton("Yes"), QPushButton("No")
        for button in (self.yes, self.no):
            button.setMinimumHeight(theme.TARGET_PX)
            button.setCheckable(True)
        judge.addWidget(self.was_it, 1)
        judge.addWidget(self.yes)
        judge.addWidget(self.no)
        after.addLayout(judge)
        right.addWidget(self.after)
        right.addStretch(1)

        self.replace.clicked.connect(lambda: self.decide("replace"))
        self.repair.clicked.connect(lambda: self.decide("repair"))
        self.let_off.clicked.connect(lambda: self.decide("let off"))
        self.repaired.clicked.connect(self.on_repaired)
        self.yes.clicked.connect(lambda: self.judge(True))
        self.no.clicked.connect(lambda: self.judge(False))

    def first_field(self) -> QWidget:
        """Return the field to begin with."""
        return self.form.fields["finding"]

    @property
    def _fields(self) -> dict[str, object]:
        return {**self.form.fields, **self.money.fields, **self.after_form.fields}

    # --- showing -----------------------------------------------------------------------------------------------------

    def show_condemned(self, job: Job, condemned: Condemned) -> None:
        """Show the case of a part as it stands, with its figures where they are known."""
        from workshop_log.jobs.deciding import case_of

        drafts = self._drafts()
        self.condemned = _with_facts(condemned, drafts, job.workshop.currency)
        weighed = self._weighed
        case = case_of(job, self.desk.evaluation, self.condemned, self.desk.settings,
                       weighed.suspicion if weighed else None, weighed.decision if weighed else None)
        self._show_case(job, case, drafts)
        if not self._has_figures():
            self.figures.show_waiting()

    def take_weighed(self, weighed: Weighed) -> None:
        """Show what was worked out, and decide what waited for it."""
        self._weighed = weighed
        self._again.start()
        if self._wish:
            QTimer.singleShot(0, self, self.on_figures_there)

    @Slot()
    def on_figures_there(self) -> None:
        """Decide what waited for its figures."""
        wish, self._wish = self._wish, ""
        if wish:
            self.decide(wish)

    def _show_case(self, job: Job, case: Case, drafts: dict[str, str]) -> None:
        from workshop_log.jobs.labels import DECISIONS
        from workshop_log.jobs.money import show_money

        self._case = case
        condemned = case.condemned
        self.heading.setText(condemned.part)
        self.heading.show()
        self.state.setText(_state_words(condemned, DECISIONS[condemned.decision]))
        for name, field in self._fields.items():
            field.show_value(drafts.get(name, _fact_text(condemned, name)))
        self._show_evidence(job, case)
        self.figures.show_figures(job, case)
        known = case.cost.is_known
        self.cost.setText(show_money(case.cost.total, job.workshop.currency) if known else "not known yet")
        self.cost_words.setText(case.cost.words)
        for widget in (self.cost_title, self.cost, self.cost_words):
            widget.setVisible(case.figures is None)
        shown_above = (*case.figures.still_possible, *case.figures.contradictions) if case.figures else ()
        doubts = [doubt for doubt in case.doubts if doubt not in shown_above]
        self.doubts_title.setVisible(bool(doubts))
        self.doubts.setVisible(bool(doubts))
        self.doubts.setText("\n".join(f"·  {doubt}" for doubt in doubts))
        self._ask_for_a_reason(case)
        undecided = condemned.decision == "considered"
        self.replace.setEnabled(condemned.repaired is None)
        self.repair.setEnabled(condemned.repaired is None)
        self.let_off.setEnabled(condemned.repaired is None)
        self.after.setVisible(not undecided and condemned.decision != "let off")
        self.repaired.setVisible(condemned.repaired is None)
        self._show_proof(job, condemned)
        self.yes.setChecked(condemned.was_the_cause is True)
        self.no.setChecked(condemned.was_the_cause is False)
        for widget in (self.was_it, self.yes, self.no):
            widget.setVisible(condemned.repaired is not None)

    def _ask_for_a_reason(self, case: Case) -> None:
        """Say at its field why the technician's own reason is asked for."""
        is_asked = case.condemned.decision == "considered" and case.needs_a_reason
        self.money.show_note("all_the_same", f"Asked for: {' '.join(case.says_no)}" if is_asked else "", problem=False)

    def _show_evidence(self, job: Job, case: Case) -> None:
        from workshop_log.jobs.labels import step_title

        empty(self.evidence)
        for reading in case.speaks_for:
            self.evidence.addWidget(reading_row(reading, job))
        for remark in case.remarks:
            self.evidence.addWidget(label(f"{remark.step.id}  {step_title(remark.step, job)}: {remark.words}"))
        if not case.speaks_for and not case.remarks:
            part = "faint" if case.condemned.decision == "let off" else "problem"
            self.evidence.addWidget(label("Nothing: no reading is outside its expected range.", part))
        if case.speaks_against:
            self.evidence.addWidget(label("What speaks against it", "faint"))
        for told in case.speaks_against:
            if has_glyph(told):
                self.evidence.addWidget(reading_row(told, job))
            else:
                self.evidence.addWidget(label(f"{told.step.id}  {step_title(told.step, job)}: {told.words}"))

    def _show_proof(self, job: Job, condemned: Condemned) -> None:
        empty(self.proof)
        if condemned.repaired is None:
            return
        from workshop_log.jobs.deciding import before_and_after, clean_trials

        pairs = before_and_after(job, self.desk.evaluation)
        self.proof.addWidget(label("Before and after the repair", "faint"))
        for pair in pairs:
            self.proof.addWidget(label(pair.words))
            # A look or a movement test has no range to draw.
            if has_glyph(pair.before) and has_glyph(pair.after):
                row = QWidget()
                line = QHBoxLayout(row)
                line.setContentsMargins(0, 0, 0, 0)
                line.addWidget(RangeGlyph(pair.before))
                line.addWidget(QLabel("→"))
                line.addWidget(RangeGlyph(pair.after))
                line.addStretch(1)
                self.proof.addWidget(row)
        for tried in clean_trials(job, self.desk.evaluation):
            self.proof.addWidget(label(f"{tried.title}. {tried.words}", "" if tried.is_enough else "problem"))
        if not pairs:
            self.proof.addWidget(
                label(
                    "The tests that failed are to be made again: on the Testing page, choose the step "
                    "and press “Again after the repair”.",
                    "problem",
                )
            )

    # --- what the person does ----------------------------------------------------------------------------------------

    def _key(self, name: str) -> str:
        return f"{self.number}/case {self.root}/{name}"

    def _drafts(self) -> dict[str, str]:
        from workshop_log.book.drafts import drafts

        with self.desk.book.read() as session:
            kept = drafts(session, f"{self.number}/case {self.root}/")
        return {name: kept[self._key(name)] for name in FACTS if self._key(name) in kept}

    @Slot(str, str)
    def on_edited(self, name: str, text: str) -> None:
        """Keep the fact until the case is decided; only a decision is an entry of the record."""
        from workshop_log.book.drafts import save_draft

        def keep() -> None:
            with self.desk.book.session() as session:
                save_draft(session, self._key(name), text)

        self.desk.attempt(keep)
        from workshop_log.jobs.deciding import FactError, check_fact

        try:
            check_fact(name, text, self.desk.job.workshop.currency)
            problem = ""
        except FactError as error:
            problem = error.reason
        for form in (self.form, self.money, self.after_form):
            form.show_note(name, problem, problem=True)
        if not problem and name in SHOWN_FACTS:
            self._again.start()

    @Slot()
    def on_again(self) -> None:
        """Show the case with its new figures, or with what was just written on the card."""
        # What moves between press and release of a button would take the press away from it.
        if QGuiApplication.mouseButtons() != Qt.MouseButton.NoButton:
            self._again.start(AGAIN_MS)
            return
        entry = self._entry()
        if entry is not None:
            self.show_condemned(self.desk.job, entry)
            self.changed.emit()

    def _entry(self) -> Condemned | None:
        """Return the last entry of the case in the job, or None when another job is open."""
        from workshop_log.jobs.deciding import current_cases

        job = self.desk.job
        if job is None or job.number != self.number or self.condemned is None:
            return None
        return next((entry for entry in current_cases(job) if entry.id == self.condemned.id), None)

    def hand_over(self) -> None:
        """Save what is being typed."""
        for form in (self.form, self.money, self.after_form):
            form.hand_over()

    def _facts(self) -> dict[str, str]:
        self.hand_over()
        facts = {}
        for name, field in self._fields.items():
            facts[name] = field.currentData() if isinstance(field, ChoiceField) else (
                field.toPlainText() if isinstance(field, TextField) else field.text())
        return facts

    def _forget_drafts(self) -> None:
        from workshop_log.book.drafts import clear_draft

        with self.desk.book.session() as session:
            for name in FACTS:
                clear_draft(session, self._key(name))

    def _has_figures(self) -> bool:
        """Whether the figures are those of this moment, or there are none to wait for."""
        from workshop_log.jobs.weighing import is_about_a_suspect

        job = self.desk.job
        return not is_about_a_suspect(job, self.condemned) or (
            self._weighed is not None and self._weighed.is_of(job, self.condemned, self.desk.settings.come_back))

    def forget_wish(self) -> None:
        """Decide nothing of what waited for its figures."""
        self._wish = ""

    def decide(self, decision: str) -> None:
        """Record the decision with what is written on the card; a part is condemned once its figures are there."""
        from workshop_log.jobs.deciding import decide

        facts = self._facts()
        facts.pop("what_was_done")
        self.condemned = _with_facts(self.condemned, facts, self.desk.job.workshop.currency)
        if decision != "let off" and not self._has_figures():
            self._wish = decision
            self.figures.show_waiting()
            self.changed.emit()
            return
        if self.desk.do(decide, self.condemned.id, decision, facts, now(), weighed=self._weighed):
            self._forget_drafts()

    @Slot()
    def on_repaired(self) -> None:
        """Record that the repair is done."""
        from workshop_log.jobs.deciding import record_repair

        if self.desk.do(record_repair, self.condemned.id, self._facts()["what_was_done"], now()):
            self._forget_drafts()

    def judge(self, was_the_cause: bool) -> None:
        """Record whether the part was the cause."""
        from workshop_log.jobs.deciding import judge_repair

        self.desk.do(judge_repair, self.condemned.id, was_the_cause, now())


def reading_row(reading: JudgedReading, job: Job) -> QWidget:
    """Return one reading with its glyph and words in a line."""
    from workshop_log.jobs.labels import setup_words, step_title
    from workshop_log.measuring.entry import show_entry

    row = QWidget()
    line = QHBoxLayout(row)
    line.setContentsMargins(0, 0, 0, 0)
    line.addWidget(RangeGlyph(reading))
    condition = f", {setup_words(reading.step, job)}" if reading.step.setup else ""
    line.addWidget(label(f"{reading.step.id}  {step_title(reading.step, job)}{condition}: {show_entry(reading.entry)}, "
                         f"expected {reading.expected.words()}"), 1)
    return row


def _with_facts(condemned: Condemned, drafts: dict[str, str], currency: str) -> Condemned:
    """Return the entry with what is written on its card, as far as that can be read."""
    from msgspec.structs import replace

    from workshop_log.jobs.deciding import FactError, check_fact

    facts = {}
    for name in SHOWN_FACTS:
        if name in drafts:
            with contextlib.suppress(FactError):
                facts[name] = check_fact(name, drafts[name], currency)
    return replace(condemned, **facts)


def _state_words(condemned: Condemned, decision: str) -> str:
    """Return how far a case has come."""
    if condemned.repaired is None:
        return decision
    proved = {True: ", was the cause", False: ", was not the cause", None: ""}[condemned.was_the_cause]
    return f"repaired {condemned.repaired.astimezone():%d %b}{proved}"


def _fact_text(condemned: Condemned, name: str) -> str:
    value = getattr(condemned, name)
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)
