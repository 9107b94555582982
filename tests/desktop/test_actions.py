"""Every command of the window: reached by menu, by key, and only when it can be carried out."""

from __future__ import annotations

import itertools

import pytest
from desktop.looking import LONG, settle, work_done
from PySide6.QtGui import QKeySequence

from workshop_log.desktop.actions import ACTIONS, WindowState
from workshop_log.desktop.main_window import MainWindow
from workshop_log.desktop.reading_dialog import ReadingDialog

STATES = [WindowState(*flags) for flags in itertools.product((False, True), repeat=5)]
# What can be done without a job.
ALWAYS = {"job.new", "job.search", "job.import", "job.check-report", "job.outbox", "book.backup", "window.close",
          "edit.settings", "view.light", "view.dark", "view.system", "help.keys", "help.about"}
BY_STATE = {"edit.undo": "can_undo", "edit.redo": "can_redo", "report.save": "report_ready",
            "report.print": "report_ready", "report.email": "report_ready", "report.issue": "can_issue"}
OF_THE_PAPER = {"report.save", "report.print", "report.email", "report.issue"}


def test_ids_and_keys_are_used_once():
    """No two commands share an id or a key."""
    ids = [spec.id for spec in ACTIONS]
    keys = [QKeySequence(spec.shortcut).toString() for spec in ACTIONS if spec.shortcut]
    assert len(set(ids)) == len(ids)
    assert len(set(keys)) == len(keys)
    assert "" not in keys, "a key that Qt does not know"


def test_no_two_commands_of_a_menu_share_a_letter():
    """Alt and a letter reach one command of a menu, not several in turn; the menus as well."""
    for menu in dict.fromkeys(spec.menu for spec in ACTIONS):
        letters = [spec.title[spec.title.index("&") + 1].lower() for spec in ACTIONS
                   if spec.menu == menu and "&" in spec.title]
        assert len(set(letters)) == len(letters), (menu, letters)
    menus = [menu[menu.index("&") + 1].lower() for menu in dict.fromkeys(spec.menu for spec in ACTIONS)]
    assert len(set(menus)) == len(menus)


def test_every_command_is_in_its_menu(window: MainWindow):
    """The menu bar has all commands and nothing else."""
    there = {(menu.text(), action.objectName()) for menu in window.menuBar().actions()
             for action in menu.menu().actions() if not action.isSeparator()}
    assert there == {(spec.menu, spec.id) for spec in ACTIONS}


@pytest.mark.parametrize("state", STATES, ids=str)
def test_a_command_is_offered_when_it_can_be_carried_out(state: WindowState):
    """Some always, the others with a job, or when there is something to undo or a report to hand over."""
    for spec in ACTIONS:
        if spec.id in ALWAYS:
            wanted = True
        elif spec.id in BY_STATE:
            wanted = getattr(state, BY_STATE[spec.id])
        else:
            wanted = state.job_open
        assert spec.enabled_when(state) is wanted, spec.id


def test_the_window_offers_what_its_state_allows(samples: None, window: MainWindow):
    """Without a job, with one, after an edit, and with the report drawn."""
    def offered() -> set[str]:
        return {name for name, action in window.actions_by_id.items() if action.isEnabled()}

    assert offered() == ALWAYS
    window.open_job(LONG)
    everything = {spec.id for spec in ACTIONS}
    assert offered() == everything - set(BY_STATE)
    window.desk.edit("vehicle.odometer", "61251 mi")
    assert offered() == everything - set(BY_STATE) | {"edit.undo"}
    window.undo()
    assert offered() == everything - set(BY_STATE) | {"edit.redo"}
    window.turn_to(4)
    work_done()
    assert offered() >= OF_THE_PAPER
    window.turn_to(1)
    settle()
    assert not offered() & OF_THE_PAPER


def test_the_keys_are_listed(window: MainWindow, monkeypatch: pytest.MonkeyPatch):
    """F1 shows every key with what it does."""
    shown: list[str] = []
    monkeypatch.setattr(ReadingDialog, "show_text", lambda _parent, _title, text: shown.append(text))
    window.actions_by_id["help.keys"].trigger()
    for spec in ACTIONS:
        if spec.shortcut:
            key = QKeySequence(spec.shortcut).toString(QKeySequence.SequenceFormat.NativeText)
            assert any(line.startswith(key) and line.endswith(spec.title.replace("&", ""))
                       for line in shown[0].splitlines()), spec.id
