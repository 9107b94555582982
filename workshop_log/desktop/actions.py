"""Every command of the window as data: menu, shortcut, help page and tests use the same list."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from workshop_log.desktop.main_window import MainWindow


# Tuples, because the first paint waits for this module and a dataclass takes a millisecond to make.
class WindowState(NamedTuple):
    """What decides whether an action can be used."""

    job_open: bool
    can_undo: bool
    can_redo: bool
    report_ready: bool
    can_issue: bool


class ActionSpec(NamedTuple):
    """One command: where it stands, how it is reached and when it can be used."""

    id: str
    menu: str
    title: str
    shortcut: str
    run: Callable[[MainWindow], None]
    enabled_when: Callable[[WindowState], bool] = lambda _state: True
    # A line is drawn above it in the menu.
    apart: bool = False


def _job(state: WindowState) -> bool:
    return state.job_open


def _ready(state: WindowState) -> bool:
    return state.report_ready


ACTIONS = (
    ActionSpec("job.new", "&Job", "&New job", "Ctrl+N", lambda w: w.take_in()),
    ActionSpec("job.search", "&Job", "&Search the book", "Ctrl+F", lambda w: w.search()),
    ActionSpec("job.clock", "&Job", "Start or stop the &clock", "F9", lambda w: w.on_clock_pressed(), _job, apart=True),
    ActionSpec("job.import", "&Job", "&Import job files…", "Ctrl+I", lambda w: w.import_files(), apart=True),
    ActionSpec("job.export", "&Job", "&Export this job…", "Ctrl+E", lambda w: w.export_job(), _job),
    ActionSpec(
        "job.export-anonymous",
        "&Job",
        "Export without &people and plate…",
        "",
        lambda w: w.export_job(anonymous=True),
        _job,
    ),
    ActionSpec("job.ask", "&Job", "&Ask a colleague…", "", lambda w: w.ask_colleague(), _job, apart=True),
    ActionSpec("job.lay-beside", "&Job", "La&y a colleague's answer beside…", "", lambda w: w.lay_beside(), _job),
    ActionSpec("job.verify", "&Job", "&Verify the seal", "", lambda w: w.verify(), _job),
    ActionSpec("job.check-report", "&Job", "Check a &report's seal…", "", lambda w: w.check_report()),
    ActionSpec("job.outbox", "&Job", "&Outbox…", "", lambda w: w.show_outbox(), apart=True),
    ActionSpec("book.backup", "&Job", "&Back the book up…", "", lambda w: w.back_up(), apart=True),
    ActionSpec("window.close", "&Job", "C&lose", "Ctrl+Q", lambda w: w.close(), apart=True),
    ActionSpec("edit.undo", "&Edit", "&Undo", "Ctrl+Z", lambda w: w.undo(), lambda s: s.can_undo),
    ActionSpec("edit.redo", "&Edit", "&Redo", "Ctrl+Shift+Z", lambda w: w.redo(), lambda s: s.can_redo),
    ActionSpec("edit.note", "&Edit", "&Note or call…", "Ctrl+Shift+N", lambda w: w.add_note(), _job, apart=True),
    ActionSpec(
        "edit.settings", "&Edit", "&Workshop and instruments…", "Ctrl+,", lambda w: w.edit_settings(), apart=True
    ),
    ActionSpec("page.intake", "&Page", "&Intake", "Ctrl+1", lambda w: w.turn_to(0), _job),
    ActionSpec("page.testing", "&Page", "&Testing", "Ctrl+2", lambda w: w.turn_to(1), _job),
    ActionSpec("page.case", "&Page", "&Case", "Ctrl+3", lambda w: w.turn_to(2), _job),
    ActionSpec("page.money", "&Page", "Time and &money", "Ctrl+4", lambda w: w.turn_to(3), _job),
    ActionSpec("page.report", "&Page", "&Report", "Ctrl+5", lambda w: w.turn_to(4), _job),
    ActionSpec("test.line", "&Test", "&Entry line", "F2", lambda w: w.go_to_entry_line(), _job),
    ActionSpec("test.correct", "&Test", "&Correct the chosen step", "F3",
               lambda w: w.at_the_vehicle().on_correct(), _job),
    ActionSpec("test.again", "&Test", "Chosen step &again after the repair", "F4",
               lambda w: w.at_the_vehicle().on_again(), _job),
    ActionSpec("test.consider", "&Test", "Consider a &part because of it", "F6",
               lambda w: w.at_the_vehicle().on_consider(), _job),
    ActionSpec("test.range", "&Test", "Expected &range from a source…", "F7",
               lambda w: w.at_the_vehicle().on_range_wanted(), _job),
    ActionSpec("test.proved", "&Test", "Instrument just pro&ved", "F8",
               lambda w: w.at_the_vehicle().on_prove(), _job),
    ActionSpec("test.next", "&Test", "Best &next test", "F5",
               lambda w: w.at_the_vehicle().suspicion.focus_next_test(), _job, apart=True),
    ActionSpec("test.suspects", "&Test", "What is s&till possible", "Ctrl+L",
               lambda w: w.at_the_vehicle().suspicion.focus_list(), _job),
    ActionSpec("test.look-back", "&Test", "&Look back, step by step", "Ctrl+H",
               lambda w: w.at_the_vehicle().suspicion.focus_look_back(), _job),
    ActionSpec("paper.customer", "&Report", "Report for the &customer", "", lambda w: w.show_paper(0), _job),
    ActionSpec("paper.expert", "&Report", "Report for an e&xpert", "", lambda w: w.show_paper(1), _job),
    ActionSpec("paper.estimate", "&Report", "Es&timate for approval", "", lambda w: w.show_paper(2), _job),
    ActionSpec("paper.invoice", "&Report", "&Invoice summary", "", lambda w: w.show_paper(3), _job),
    ActionSpec("paper.receipt", "&Report", "Intake &receipt", "", lambda w: w.show_paper(4), _job),
    ActionSpec("paper.label", "&Report", "&Labels for removed parts", "", lambda w: w.show_paper(5), _job),
    ActionSpec("report.save", "&Report", "&Save the PDF…", "Ctrl+S", lambda w: w.report.on_save(), _ready, apart=True),
    ActionSpec("report.print", "&Report", "&Print…", "Ctrl+P", lambda w: w.report.on_print(), _ready),
    ActionSpec("report.email", "&Report", "&Email…", "Ctrl+Shift+M", lambda w: w.report.on_email(), _ready),
    ActionSpec("report.issue", "&Report", "&Hand over…", "", lambda w: w.report.on_issue(), lambda s: s.can_issue),
    ActionSpec("view.light", "&View", "&Light", "", lambda w: w.set_theme("light")),
    ActionSpec("view.dark", "&View", "&Dark", "", lambda w: w.set_theme("dark")),
    ActionSpec("view.system", "&View", "As the &system", "", lambda w: w.set_theme("system")),
    ActionSpec("help.keys", "&Help", "&Keys", "F1", lambda w: w.show_keys()),
    ActionSpec("help.cautions", "&Help", "&Cautions for this job", "", lambda w: w.show_cautions(), _job),
    ActionSpec("help.about", "&Help", "&About", "", lambda w: w.show_about()),
)
