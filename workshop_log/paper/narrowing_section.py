"""How we narrowed it down: one paragraph and one figure for the customer, from many possible causes to what is left."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.jobs.labels import step_title
from workshop_log.jobs.percent import percent_words
from workshop_log.jobs.suspicion import HEALTHY, SEVERAL
from workshop_log.paper.case_section import doubtful_words, told_in_cases
from workshop_log.paper.narrowing import narrowing_of
from workshop_log.paper.narrowing_bars import SWATCH_WIDTH, bar_figure, swatch
from workshop_log.paper.sections import heading
from workshop_log.paper.sentences import decided, number_of, result_words
from workshop_log.paper.tables import shortened, side_by_side
from workshop_log.paper.text import para
from workshop_log.paper.wording import list_words, say

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

    from workshop_log.jobs.suspicion import CircuitSuspicion, SuspectLine
    from workshop_log.paper.narrowing import Bar, Narrowing
    from workshop_log.paper.report_input import ReportInput

# Room for what stands left of a bar, as a part of the width.
_BESIDE = 0.33
# Parts that one sentence names as left; the others are summed up.
_MOST_LEFT = 3
_WORTH_NAMING = 0.05
# As many characters say beside a bar what was tested, with its result.
_FEW = 88
_MOST_ALIKE = 4


def narrowed_down(content: ReportInput, width: float) -> list[Flowable]:
    """Return for each circuit with evidence, and for suspects written by hand, what was possible and what is left."""
    from reportlab.platypus import KeepTogether, Spacer

    told = [suspicion for suspicion in content.suspicions if is_worth_telling(suspicion)]
    made: list[Flowable] = []
    for suspicion in told:
        narrowing = narrowing_of(suspicion, content.histories.get(suspicion.circuit, ()))
        title = heading("narrowing.heading", space=250) if not made else []
        if len(told) > 1 and suspicion.title:
            title.append(para(suspicion.title, style="subheading"))
        made.append(KeepTogether([*title, para(" ".join(_sentences(content, suspicion, narrowing))),
                                  *_figure(content, suspicion, narrowing, width),
                                  *([] if made else [para(say("narrowing.how_drawn"), style="faint")]), Spacer(0, 4)]))
    return made


def is_worth_telling(suspicion: CircuitSuspicion) -> bool:
    """Whether anything is known of what is still possible: a test that bears on it, or suspects written by hand."""
    return bool(suspicion.shares) and not suspicion.problem and bool(suspicion.n_steps or not suspicion.circuit)


# --- in words -------------------------------------------------------------------------------------------------------


def _sentences(content: ReportInput, suspicion: CircuitSuspicion, narrowing: Narrowing) -> list[str]:
    """Return what was possible at the beginning, how it was narrowed down, what is left and how sure that is."""
    by_hand = {suspect.id for suspect in content.job.suspects}
    parts = [share for share in suspicion.shares
             if (share.key not in (HEALTHY, SEVERAL) if suspicion.circuit else share.key in by_hand)]
    said = [_beginning(suspicion, len(parts))] if parts else []
    if parts and suspicion.n_steps:
        cleared = sum(share.standing == "cleared" for share in parts)
        said.append(_counted("cleared", cleared))
        if narrowing.told_most:
            tests = list_words([number_of(step) for step in narrowing.told_most])
            key = "narrowing.told_one" if len(narrowing.told_most) == 1 else "narrowing.told"
            said.append(say(key, tests=tests))
    said.append(say(f"narrowing.left.{state_of(content, suspicion)}", left=_left(suspicion)))
    if any(share.standing == "proved" for share in suspicion.shares):
        said.append(say("narrowing.proved"))
    told = told_in_cases(content, suspicion)
    alike = _alike(suspicion)
    if alike and "alike" not in told:
        more = len(alike) - _MOST_ALIKE
        names = alike if more <= 0 else [*alike[:_MOST_ALIKE], _counted("more", more)]
        said.append(say("narrowing.alike", names=list_words(names)))
    if suspicion.contradicting and "doubtful" not in told:
        said.append(doubtful_words(suspicion))
    return said


def _beginning(suspicion: CircuitSuspicion, count: int) -> str:
    if not suspicion.circuit:
        return _counted("causes", count)
    ways = {(line.element, line.fault) for line in suspicion.suspects if line.share not in (HEALTHY, SEVERAL)}
    return _counted("parts", count, ways=f", {_counted('ways', len(ways))}" if ways else "")


def _counted(key: str, count: int, **values: object) -> str:
    """Return a sentence about so many things; none and one of them have sentences of their own."""
    which = {0: "none", 1: "one"}.get(count, "many")
    return say(f"counted.{key}_{which}", count=count, **values)


def state_of(content: ReportInput, suspicion: CircuitSuspicion) -> str:
    """Return when the evidence ended: "now", at the decision ("decided") or before the repair ("repaired")."""
    entries = decided(content.job)
    if any(entry.repaired for entry in entries) or any(step.after_repair for step in content.job.steps):
        return "repaired"
    is_decided = any(entry.circuit in (suspicion.circuit, None, "") for entry in entries)
    return "decided" if is_decided else "now"


def _left(suspicion: CircuitSuspicion) -> str:
    """Return the likeliest parts with their shares, and how much is left for everything else."""
    first = [share for share in suspicion.shares[:_MOST_LEFT] if share.probability >= _WORTH_NAMING]
    first = first or list(suspicion.shares[:1])
    named = [say("narrowing.share", name=shortened(share.name, 160), chance=percent_words(share.probability))
             for share in first]
    if len(first) < len(suspicion.shares):
        rest = max(0.0, 1.0 - sum(share.probability for share in first))
        named.append(say("narrowing.rest", chance=percent_words(rest)))
    return "; ".join(named)


def _alike(suspicion: CircuitSuspicion) -> list[str]:
    """Return the parts that no test tells from the likeliest one, with itself; nothing where it stands alone."""
    if not suspicion.suspects:
        return []
    likeliest = suspicion.suspects[0]
    lines = {line.key: line for line in suspicion.suspects}
    keys = dict.fromkeys(_share_of(lines, key) for key in (likeliest.key, *likeliest.same_as))
    found = [share for key in keys if (share := suspicion.share_of(key)) and share.standing != "cleared"]
    return [shortened(share.name, 160) for share in found] if len(found) > 1 else []


def _share_of(lines: dict[str, SuspectLine], key: str) -> str:
    return lines[key].share if key in lines else ""


# --- in bars --------------------------------------------------------------------------------------------------------


def _figure(content: ReportInput, suspicion: CircuitSuspicion, narrowing: Narrowing, width: float) -> list[Flowable]:
    """Return the bars under each other, each beside what was tested, and whose fills they are."""
    from reportlab.platypus import Spacer

    beside = width * _BESIDE
    rows = [[_words_beside(say("narrowing.test", number=number_of(bar.step)) if bar.step else say("narrowing.before"),
                           _tested_words(content, bar)), bar_figure(bar, width - beside)] for bar in narrowing.earlier]
    rows.append([_words_beside(say(f"narrowing.bar.{state_of(content, suspicion)}"),
                               _last_words(content, suspicion, narrowing)), bar_figure(narrowing.last, width - beside)])
    bars = side_by_side(rows, [beside, width - beside], [
        ("RIGHTPADDING", (0, 0), (0, -1), 10), ("BOTTOMPADDING", (0, 0), (-1, -2), 5),
        ("TOPPADDING", (1, 0), (1, -1), 1.5)])
    return [Spacer(0, 2), bars, Spacer(0, 5), *_key(narrowing, width), Spacer(0, 3)]


def _last_words(content: ReportInput, suspicion: CircuitSuspicion, narrowing: Narrowing) -> str:
    if narrowing.last.step:
        return say("narrowing.after_test", number=number_of(narrowing.last.step),
                   title=_tested_words(content, narrowing.last))
    return _counted("after_all", suspicion.n_steps) if suspicion.n_steps else ""


def _words_beside(name: str, title: str) -> list[Flowable]:
    made = [para(name, style="cell bold")]
    return [*made, para(title, style="cell faint")] if title else made


def _tested_words(content: ReportInput, bar: Bar) -> str:
    """Return what was tested and what it showed; blank before the first test. Where it is long the result stays."""
    step = next((step for step in content.job.steps if step.id == bar.step), None)
    if step is None:
        return shortened(bar.title, _FEW) if bar.step else ""
    result = result_words(step, content.evaluation)
    return f"{shortened(step_title(step, content.job), max(_FEW - len(result), _FEW // 3))}: {shortened(result, _FEW)}"


def _key(narrowing: Narrowing, width: float) -> list[Flowable]:
    """Return each fill with the name of its part, two beside each other."""
    entries = [(number, share.name) for number, share in enumerate(narrowing.named)]
    if narrowing.has_others:
        entries.append((None, say("narrowing.others")))
    cells = [[swatch(fill), para(shortened(name, 120), style="cell faint")] for fill, name in entries]
    cells += [["", ""]] * (len(cells) % 2)
    rows = [cells[number] + cells[number + 1] for number in range(0, len(cells), 2)]
    name_width = width / 2 - SWATCH_WIDTH - 6
    return [side_by_side(rows, [SWATCH_WIDTH + 6, name_width] * 2, [
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2), ("RIGHTPADDING", (1, 0), (1, -1), 10)])] if rows else []
