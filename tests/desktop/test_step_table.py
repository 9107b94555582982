"""The table of test steps: what each row of each sample job says, and Qt's rules for a model."""

from __future__ import annotations

import tomllib
from datetime import timedelta

import pytest
from desktop.looking import SAMPLE_NAMES, SAMPLES, sample
from msgspec.structs import replace
from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtTest import QAbstractItemModelTester

from workshop_log.desktop.step_table import (
    EXPECTED,
    HEADINGS,
    NUMBER,
    READING,
    TEST,
    VERDICT,
    StepModel,
    StepRow,
    StepTable,
    step_rows,
)
from workshop_log.exchange.records import Job
from workshop_log.jobs.evaluation import evaluate

VERDICTS = {name: job["verdicts"] for name, job in
            tomllib.loads((SAMPLES / "expected.toml").read_text(encoding="utf-8")).items()}
each_sample = pytest.mark.parametrize("name", SAMPLE_NAMES)


def rows_of(name: str) -> tuple[Job, tuple[StepRow, ...]]:
    job = sample(name)
    return job, step_rows(job, evaluate(job))


@each_sample
def test_every_step_has_a_row_in_the_order_it_was_taken(name: str):
    """No step is left out, not even a corrected one."""
    job, rows = rows_of(name)
    assert [row.step.id for row in rows] == [step.id for step in job.steps]
    assert [row.upper[NUMBER] for row in rows] == [step.id for step in job.steps]
    assert all(len(row.upper) == len(row.lower) == len(HEADINGS) for row in rows)


@each_sample
def test_every_row_has_the_verdict_that_the_sample_is_known_for(name: str):
    """As `expected.toml` says; a step without a number has none."""
    _, rows = rows_of(name)
    assert {row.step.id: row.verdict for row in rows if row.verdict} == VERDICTS[name]


@each_sample
def test_the_verdict_is_written_in_words(name: str):
    """Whole, in one or two lines, for the eye and for the ear: colour is never the only signal."""
    _, rows = rows_of(name)
    for row in rows:
        if not row.verdict:
            continue
        shown = " ".join(filter(None, (row.upper[VERDICT], row.lower[VERDICT])))
        if not row.replaced:
            assert shown == row.verdict
        assert shown.startswith(row.verdict.split(" to ")[0])
        assert row.verdict in row.spoken


@each_sample
def test_a_corrected_step_is_struck_and_its_correction_says_why(name: str):
    """Both stay in the list."""
    job, rows = rows_of(name)
    corrected = {step.replaces for step in job.steps if step.replaces}
    assert {row.step.id for row in rows if row.replaced} == corrected
    for row in rows:
        if row.step.replaces:
            assert f"corrects {row.step.replaces}: {row.step.because}" in row.lower[TEST]
        if row.replaced:
            assert row.lower[VERDICT] == "replaced"


def test_some_sample_has_a_correction_and_some_a_repeated_test():
    """The claims above are made about something."""
    steps = [step for name in SAMPLE_NAMES for step in sample(name).steps]
    assert any(step.replaces for step in steps)
    assert any(step.after_repair for step in steps)


@each_sample
def test_readings_keep_the_digits_that_were_typed_and_their_unit(name: str):
    """`12.60 V` is not shortened to `12.6 V`."""
    _, rows = rows_of(name)
    for row in rows:
        if row.judged is not None and not row.judged.entry.is_over_range:
            typed = row.step.reading
            digits = "".join(c for c in typed.split()[0] if c.isdigit()).lstrip("0")
            shown = "".join(c for c in row.upper[READING].split()[0] if c.isdigit()).lstrip("0")
            assert shown.rstrip("0") == digits.rstrip("0"), (typed, row.upper[READING])
            assert any(c.isalpha() or c in "°%Ω" for c in row.upper[READING]), row.upper[READING]


@each_sample
def test_the_model_keeps_qts_rules(name: str, qapp: object):
    """Qt's own tester finds nothing wrong while a job's steps come one by one and go."""
    job = sample(name)
    model = StepModel()
    tester = QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Fatal)
    for count in (*range(len(job.steps) + 1), 0):
        model.set_rows(step_rows(replace(job, steps=job.steps[:count]), evaluate(job)))
        assert (model.rowCount(), model.columnCount()) == (count, len(HEADINGS))
    assert tester.model() is model


def test_the_empty_table_has_headings_and_no_rows():
    """A job without a test step."""
    model = StepModel()
    assert (model.rowCount(), model.columnCount()) == (0, len(HEADINGS))
    headings = [model.headerData(n, Qt.Orientation.Horizontal) for n in range(len(HEADINGS))]
    assert headings == list(HEADINGS)
    assert model.data(QModelIndex()) is None


def test_every_cell_says_its_row_to_those_who_listen():
    """The reading, its expected range and the verdict in one sentence."""
    model = StepModel()
    _, rows = rows_of("ground-strap")
    model.set_rows(rows)
    for number, row in enumerate(rows):
        for column in range(len(HEADINGS)):
            index = model.index(number, column)
            assert index.data(Qt.ItemDataRole.AccessibleTextRole) == row.spoken
            assert index.data(Qt.ItemDataRole.DisplayRole) == row.upper[column]
        assert row.spoken.startswith(f"Step {row.step.id}: ")
        assert ", . " not in row.spoken


def test_the_chosen_step_stays_chosen_when_another_is_taken_down(qtbot: object):
    """What is being looked at does not jump."""
    table = StepTable()
    qtbot.addWidget(table)
    job = sample("ground-strap")
    few = replace(job, steps=job.steps[:5])
    table.show_job(few, evaluate(few))
    assert table.chosen() is None
    table.selectRow(2)
    later = replace(few, steps=(*few.steps, job.steps[5]))
    table.show_job(later, evaluate(later))
    assert table.chosen().id == job.steps[2].id


def test_a_table_of_another_job_shows_nothing_of_the_first(qtbot: object):
    """Two jobs with steps of the same ids are two jobs."""
    table = StepTable()
    qtbot.addWidget(table)
    for name in ("ground-strap", "wiper"):
        job = sample(name)
        table.show_job(job, evaluate(job))
    assert [row.step for row in table.steps.rows] == list(sample("wiper").steps)


def test_times_are_shown_as_the_local_clock_had_them():
    """Under the number stands when the step was taken, here."""
    job, rows = rows_of("ground-strap")
    for step, row in zip(job.steps, rows, strict=True):
        assert row.lower[NUMBER] == f"{step.at.astimezone():%H:%M}"
    moved = replace(job, steps=(replace(job.steps[0], at=job.steps[0].at + timedelta(hours=1)),))
    assert step_rows(moved, evaluate(moved))[0].lower[NUMBER] != rows[0].lower[NUMBER]


def test_a_reading_without_a_range_says_that_it_has_none():
    """No verdict is invented."""
    job = sample("ground-strap")
    step = replace(next(s for s in job.steps if s.id == "s5"), expected=None, circuit=None)
    bare = replace(job, steps=(step,))
    row, = step_rows(bare, evaluate(bare))
    assert (row.verdict, row.upper[VERDICT], row.lower[EXPECTED]) == ("", "no range yet", "")
