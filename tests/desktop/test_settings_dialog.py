"""The workshop's own facts: saved field by field, refused in one sentence, copied into the next job."""

from __future__ import annotations

import gc
import weakref
from decimal import Decimal

import pytest
from desktop.looking import settle
from PySide6.QtWidgets import QDialog, QTableWidget, QTableWidgetItem

from workshop_log.book.opening import open_book
from workshop_log.book.settings import Settings, load_settings
from workshop_log.desktop.desk import Desk
from workshop_log.desktop.settings_dialog import TAX_RULES, SettingsDialog, _InstrumentsPage, _PeoplePage, _RulesPage

FACTS = {"name": "Venn Electrics", "address": "1 Mill Lane\nTamber", "phone": "01632 960123",
         "email": "desk@example.org", "tax_number": "GB 000 0000 00", "currency": "EUR", "labour_rate": "72.50",
         "tax_rate": "19", "tax_rule": "line half up", "come_back": "180.00"}


@pytest.fixture
def dialog(desk: Desk, qtbot: object) -> SettingsDialog:
    made = SettingsDialog(None, desk)
    qtbot.addWidget(made)
    made.show()
    return made


def kept(desk: Desk) -> Settings:
    """Return what the book holds, read by somebody else."""
    book = open_book(desk.book_url)
    with book.read() as session:
        settings = load_settings(session)
    book.close()
    return settings


def page(dialog: SettingsDialog, kind: type) -> object:
    return dialog.tabs.widget([dialog.tabs.tabText(n) for n in range(dialog.tabs.count())].index(
        {_PeoplePage: "People", _InstrumentsPage: "Instruments", _RulesPage: "Ranges"}[kind]))


def put(dialog: SettingsDialog, name: str, text: str) -> None:
    """Type a fact of the workshop and leave the field."""
    dialog.workshop.fields[name].show_value("")
    dialog.on_workshop(name, text)


def cell(table: QTableWidget, row: int, column: int, text: str) -> None:
    """Type into a cell, as its editor does."""
    table.item(row, column).setText(text)


@pytest.mark.parametrize("name", FACTS)
def test_each_fact_is_saved_when_its_field_is_left(dialog: SettingsDialog, desk: Desk, problems: list[str], name: str):
    """Nothing waits for a button."""
    put(dialog, name, FACTS[name])
    settings = kept(desk)
    value = settings.come_back if name == "come_back" else getattr(settings.workshop, name)
    assert str(value) == FACTS[name]
    assert problems == []


def test_what_was_saved_is_shown_the_next_time(dialog: SettingsDialog, desk: Desk, qtbot: object):
    """And the window judges and charges by it at once."""
    for name, text in FACTS.items():
        put(dialog, name, text)
    again = SettingsDialog(None, desk)
    qtbot.addWidget(again)
    shown = {name: field.currentData() if name == "tax_rule" else field.toPlainText() if name == "address"
             else field.text() for name, field in again.workshop.fields.items()}
    assert shown == FACTS
    assert desk.settings.workshop.name == FACTS["name"]


def test_a_new_job_copies_the_facts_and_an_old_one_keeps_its_own(dialog: SettingsDialog, desk: Desk):
    """What was agreed under the old rate stays under the old rate."""
    put(dialog, "labour_rate", "64.00")
    assert desk.take_in()
    old = desk.job.number
    for name, text in FACTS.items():
        put(dialog, name, text)
    assert desk.job.workshop.labour_rate == Decimal("64.00")
    assert desk.take_in()
    workshop = desk.job.workshop
    assert (workshop.name, workshop.currency, workshop.labour_rate, workshop.tax_rule) == (
        "Venn Electrics", "EUR", Decimal("72.50"), "line half up")
    desk.open(old)
    assert desk.job.workshop.labour_rate == Decimal("64.00")


@pytest.mark.parametrize(("name", "text"), [
    ("labour_rate", "a lot"), ("labour_rate", "-1"), ("labour_rate", "NaN"), ("labour_rate", "Infinity"),
    ("labour_rate", "1e999999"), ("tax_rate", ""), ("tax_rate", "twenty"), ("tax_rate", "-20"), ("tax_rate", "1000"),
    ("come_back", "-1"),
    ("currency", "pounds"), ("currency", ""), ("currency", "€"), ("come_back", "x")])
def test_what_cannot_be_is_refused_in_one_sentence(dialog: SettingsDialog, desk: Desk, problems: list[str],
                                                    name: str, text: str):
    """Under its field; the book keeps what it had."""
    before = kept(desk)
    put(dialog, name, text)
    assert kept(desk) == before
    note = dialog.workshop._notes[name]
    assert note.isVisibleTo(dialog)
    assert note.text().endswith(".")
    assert len(note.text().splitlines()) == 1
    assert problems == []


def test_amounts_may_be_typed_as_on_a_bill(dialog: SettingsDialog, desk: Desk):
    """With the currency, a decimal comma, a percent sign; small letters of a currency are made capital."""
    for name, text in (("labour_rate", "£64.00"), ("come_back", "180,50"), ("tax_rate", "20 %")):
        put(dialog, name, text)
    settings = kept(desk)
    assert (settings.workshop.labour_rate, settings.come_back, settings.workshop.tax_rate) == (
        Decimal("64.00"), Decimal("180.50"), Decimal("20"))
    put(dialog, "currency", " eur ")
    assert kept(desk).workshop.currency == "EUR"


def test_an_empty_rate_means_that_there_is_none(dialog: SettingsDialog, desk: Desk):
    """A workshop may have no rate; the bill then says that it is not known."""
    put(dialog, "labour_rate", "64")
    put(dialog, "labour_rate", "")
    assert kept(desk).workshop.labour_rate is None


def test_every_tax_rule_can_be_chosen(dialog: SettingsDialog, desk: Desk):
    """Each of them is one that the bill knows."""
    for rule, _ in TAX_RULES:
        put(dialog, "tax_rule", rule)
        assert kept(desk).workshop.tax_rule == rule


def test_people_are_one_to_a_line(dialog: SettingsDialog, desk: Desk):
    """Blanks and repetitions are left out."""
    page(dialog, _PeoplePage).on_edited("persons", "Ostrel Venn\n\n  Tamber Causey \nOstrel Venn\n")
    assert kept(desk).persons == ("Ostrel Venn", "Tamber Causey")


# --- instruments ----------------------------------------------------------------------------------------------------


def test_an_instrument_is_added_changed_and_removed(dialog: SettingsDialog, desk: Desk):
    """Title, short name, kind and accuracy by range, each saved at once."""
    tools: _InstrumentsPage = page(dialog, _InstrumentsPage)
    assert not tools.remove.isEnabled()
    tools.add.click()
    tools.title.setText("Bench meter")
    tools.title.editingFinished.emit()
    tools.short.setText("bench")
    tools.short.editingFinished.emit()
    cell(tools.ranges, 0, 2, "0.05")
    instrument, = kept(desk).instruments
    assert (instrument.title, instrument.id, instrument.ranges[0].percent) == ("Bench meter", "bench", 0.05)
    for column, text in enumerate(("voltage", "600 V", "0.1", "3", "0.1 V")):
        cell(tools.ranges, tools.ranges.rowCount() - 1, column, text)
    last = kept(desk).instruments[0].ranges[-1]
    assert (last.quantity, last.up_to, last.percent, last.counts, last.resolution) == ("voltage", "600 V", 0.1, 3,
                                                                                       "0.1 V")
    tools.add.click()
    assert [i.id for i in kept(desk).instruments] == ["bench", "meter"]
    tools.list.setCurrentRow(0)
    tools.remove.click()
    assert [i.id for i in kept(desk).instruments] == ["meter"]
    assert tools.title.text() == "New multimeter"


@pytest.mark.parametrize(("column", "text"), [
    (0, "loudness"), (1, "a lot"), (1, "60 ohm"), (2, "x"), (2, "-1"), (3, "nan"), (4, "nothing")])
def test_a_range_that_cannot_be_is_refused_in_one_sentence(dialog: SettingsDialog, desk: Desk, problems: list[str],
                                                            column: int, text: str):
    """The instrument stays as it was in the book."""
    tools: _InstrumentsPage = page(dialog, _InstrumentsPage)
    tools.add.click()
    before = kept(desk).instruments
    cell(tools.ranges, 0, column, text)
    assert kept(desk).instruments == before
    assert dialog.problem.isVisible()
    assert len(dialog.problem.text().splitlines()) == 1
    cell(tools.ranges, 0, column, ("voltage", "60 V", "0.8", "2", "0.01 V")[column])
    assert not dialog.problem.isVisible()
    assert problems == []


def test_two_instruments_cannot_have_one_short_name(dialog: SettingsDialog, desk: Desk):
    """A step that names it must mean one of them."""
    tools: _InstrumentsPage = page(dialog, _InstrumentsPage)
    tools.add.click()
    tools.add.click()
    for wrong in ("meter", ""):
        tools.short.setText(wrong)
        tools.short.editingFinished.emit()
        assert dialog.problem.text() == "An instrument needs a short name of its own."
    assert [i.id for i in kept(desk).instruments] == ["meter", "meter2"]


# --- ranges ---------------------------------------------------------------------------------------------------------


def test_a_changed_range_becomes_the_workshops_own(dialog: SettingsDialog, desk: Desk):
    """It is no longer "common practice, no source"; the others stay as they came."""
    before = kept(desk).rules
    assert "no source" in before[0].source
    rules: _RulesPage = page(dialog, _RulesPage)
    cell(rules.table, 0, 2, "0.35")
    after = kept(desk).rules
    assert (after[0].id, after[0].high, after[0].source) == (before[0].id, 0.35, "the workshop's own list")
    assert after[1:] == before[1:]


def test_a_range_is_added_and_taken_away(dialog: SettingsDialog, desk: Desk):
    """A line is complete with what, a limit and a unit; a line without its words goes."""
    rules: _RulesPage = page(dialog, _RulesPage)
    count = rules.table.rowCount()
    cell(rules.table, count - 1, 0, "tow bar socket, pin 9")
    cell(rules.table, count - 1, 1, "11,8")
    assert len(kept(desk).rules) == count - 1
    cell(rules.table, count - 1, 3, "V")
    added = kept(desk).rules[-1]
    assert (added.what, added.low, added.high, added.unit, added.source) == (
        "tow bar socket, pin 9", 11.8, None, "V", "the workshop's own list")
    assert rules.table.rowCount() == count + 1
    cell(rules.table, count - 1, 0, "")
    assert len(kept(desk).rules) == count - 1


def test_every_rule_keeps_an_id_of_its_own(dialog: SettingsDialog, desk: Desk):
    """However many are added and taken away, the one that is chosen later is the one that is meant."""
    rules: _RulesPage = page(dialog, _RulesPage)

    def add(what: str) -> None:
        last = rules.table.rowCount() - 1
        for column, text in ((0, what), (1, "1"), (3, "V")):
            cell(rules.table, last, column, text)

    add("first")
    add("second")
    cell(rules.table, rules.table.rowCount() - 3, 0, "")
    add("third")
    ids = [rule.id for rule in kept(desk).rules]
    assert len(set(ids)) == len(ids)


@pytest.mark.parametrize(("column", "text"), [(2, "much"), (3, "furlongs per fortnight"), (2, "-5")])
def test_a_rule_that_cannot_be_is_refused_in_one_sentence(dialog: SettingsDialog, desk: Desk, problems: list[str],
                                                           column: int, text: str):
    """An unknown unit, no number, a highest below the lowest: the list in the book stays as it is."""
    rules: _RulesPage = page(dialog, _RulesPage)
    row = next(n for n, rule in enumerate(kept(desk).rules) if rule.low is not None and rule.high is not None
               and rule.unit == "V")
    before = kept(desk).rules
    cell(rules.table, row, column, text)
    assert kept(desk).rules == before
    assert dialog.problem.isVisible()
    assert len(dialog.problem.text().splitlines()) == 1
    assert problems == []


# --- verdicts -------------------------------------------------------------------------------------------------------


def test_the_limits_of_the_verdict_are_saved(dialog: SettingsDialog, desk: Desk):
    """In percent on the screen."""
    dialog.verdicts.fields["inside"].setText("99")
    dialog.verdicts.hand_over()
    assert kept(desk).limits.inside == pytest.approx(0.99)


@pytest.mark.parametrize(("name", "text"), [
    ("inside", "x"), ("inside", "101"), ("inside", "-1"), ("outside", "96"), ("inside", "")])
def test_limits_that_cannot_be_are_refused_in_one_sentence(dialog: SettingsDialog, desk: Desk, problems: list[str],
                                                            name: str, text: str):
    """What is inside must be more probable than what is outside, and neither is beyond certain."""
    before = kept(desk).limits
    dialog.verdicts.fields[name].setText(text)
    dialog.verdicts.hand_over()
    assert kept(desk).limits == before
    assert dialog.verdicts._notes[name].text().endswith(".")
    assert problems == []


def test_what_is_being_typed_is_saved_when_the_dialog_closes(dialog: SettingsDialog, desk: Desk):
    """On every page of it."""
    dialog.workshop.fields["name"].setText("Venn Electrics")
    people = page(dialog, _PeoplePage)
    people.form.fields["persons"].setPlainText("Ostrel Venn")
    dialog.reject()
    settings = kept(desk)
    assert settings.workshop.name == "Venn Electrics"
    assert settings.persons == ("Ostrel Venn",)


def test_a_closed_dialog_is_freed(desk: Desk, monkeypatch: pytest.MonkeyPatch):
    """It goes when it is left, with all its pages."""
    made: list[weakref.ref] = []

    def leave(dialog: SettingsDialog) -> int:
        made.extend(weakref.ref(part) for part in (
            dialog, *(page(dialog, kind) for kind in (_PeoplePage, _InstrumentsPage, _RulesPage))))
        return QDialog.DialogCode.Rejected

    monkeypatch.setattr(SettingsDialog, "exec", leave)
    SettingsDialog.ask(None, desk)
    settle()
    gc.collect()
    assert len(made) == 4
    assert not [ref() for ref in made if ref() is not None]


def test_an_empty_cell_can_be_typed_into(dialog: SettingsDialog):
    """The line for a further range is there on both pages."""
    for table in (page(dialog, _RulesPage).table, page(dialog, _InstrumentsPage).ranges):
        assert all(isinstance(table.item(table.rowCount() - 1, c), QTableWidgetItem) or table.rowCount() == 0
                   for c in range(table.columnCount()))
