"""For the expert: every suspect with its share, what cleared it and what that could have seen; method and basis."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.jobs import labels
from workshop_log.jobs.case import current_cases
from workshop_log.jobs.money import show_money
from workshop_log.jobs.percent import percent_sign, percent_words
from workshop_log.jobs.suspicion import HEALTHY
from workshop_log.measuring.showing import NO_BREAK_SPACE
from workshop_log.paper.sections import heading, lines, subheading
from workshop_log.paper.sentences import number_of, with_test_numbers
from workshop_log.paper.tables import CellTexts, ruled_table
from workshop_log.paper.text import Struck, para
from workshop_log.paper.wording import list_words, say, sentence, upper_first

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from reportlab.platypus import Flowable

    from workshop_log.exchange.records import Condemned
    from workshop_log.jobs.suspicion import CircuitSuspicion, Decision, Share, SuspectLine
    from workshop_log.paper.report_input import ReportInput

# Shares of the width: number, suspect, share, standing, cleared by, reach.
_SHARES = (0.05, 0.344, 0.075, 0.088, 0.134, 0.309)
_HEAD = ("annex.number", "annex.suspect", "annex.share", "annex.standing", "annex.cleared_by", "annex.reach")
_DECISION_SHARES = (0.20, 0.115, 0.115, 0.12, 0.225, 0.225)
_DECISION_HEAD = ("annex.part", "annex.right", "annex.cost", "annex.loss", "annex.test_first", "annex.look_first")


def every_suspect(content: ReportInput, width: float) -> list[Flowable]:
    """Return the annex for the expert; nothing for the customer, and nothing where there is no suspect."""
    told = [suspicion for suspicion in content.suspicions if suspicion.suspects or suspicion.problem]
    if not told or content.reader != "expert":
        return []
    made = [*heading("annex.heading", space=150), *_method(told)]
    for suspicion in told:
        made += _of_one(suspicion, width, has_title=len(told) > 1)
    return [*made, *_decisions(content, width)]


def _method(told: list[CircuitSuspicion]) -> list[Flowable]:
    """Return how the figures come about, with the sources, and what the words for where a suspect stands mean."""
    said = []
    if any(suspicion.circuit for suspicion in told):
        said += [say("annex.method"), say("annex.standings")]
    if any(not suspicion.circuit for suspicion in told):
        said += [say("annex.method_by_hand"), say("annex.standings_by_hand")]
    return lines(said)


def _of_one(suspicion: CircuitSuspicion, width: float, has_title: bool) -> list[Flowable]:
    """Return the suspects of one circuit, what does not go together, and what the figures rest on."""
    title = suspicion.title or say("annex.untitled" if suspicion.circuit else "annex.by_hand")
    made = subheading(title, space=110) if has_title else []
    if suspicion.problem:
        return [*made, para(say("annex.problem", problem=sentence(suspicion.problem)))]
    texts = CellTexts()
    made += [_table(suspicion, width, texts), *texts.flowables()]
    for key, said in (("annex.contradictions", suspicion.contradictions), ("annex.assumptions", suspicion.assumptions)):
        if said:
            made += [*subheading(say(key)),
                     *lines((sentence(with_test_numbers(words)) for words in said), style="cell")]
    return made


def _table(suspicion: CircuitSuspicion, width: float, texts: CellTexts) -> Flowable:
    """Return all suspects below the part that they belong to, the likeliest part first.

    “Nothing wrong” is among them, so that the shares of the parts add up.
    """
    numbers = {line.key: str(number) for number, line in
               enumerate((line for share in suspicion.shares for line in suspicion.lines_of(share.key)), start=1)}
    rows, commands, unruled = [], [], set()
    for share in suspicion.shares:
        lines_below = suspicion.lines_of(share.key)
        if [line.name for line in lines_below] == [share.name]:
            rows.append(_row(lines_below[0], numbers, texts))
            continue
        rows.append(_part_row(share, texts))
        if lines_below:
            commands += _close(len(rows), len(rows) + len(lines_below))
            unruled |= set(range(len(rows), len(rows) + len(lines_below)))
            rows += [_row(line, numbers, texts) for line in lines_below]
    return ruled_table([say(key) for key in _HEAD], rows, [width * share for share in _SHARES],
                       right=frozenset({2}), commands=commands, unruled=frozenset(unruled))


def _close(first: int, last: int) -> list[tuple]:
    """Return what keeps the rows of a part close: no one of them alone on a page, and little between them.

    The part stays with its first suspect, and the last of them with the one before it.
    """
    return [("NOSPLIT", (0, first), (0, first + 1)), ("NOSPLIT", (0, max(first, last - 1)), (0, last)),
            ("TOPPADDING", (0, first + 1), (-1, last), 1.7), ("BOTTOMPADDING", (0, first), (-1, last - 1), 0.3)]


def _part_row(share: Share, texts: CellTexts) -> list[Flowable | str]:
    """Return what is known of a part with all its kinds of fault."""
    name = texts.fit(upper_first(share.name) if share.key == HEALTHY else share.name, share.name[:60])
    return ["", para(name, style="cell bold"), para(percent_sign(share.probability), style="cell bold right"),
            para(share.standing, style="cell bold"), _tests_cell(share.cleared_by), ""]


def _row(line: SuspectLine, numbers: Mapping[str, str], texts: CellTexts) -> list[list[Flowable] | Flowable | str]:
    number = numbers[line.key]
    further = say("annex.further", number=number)
    is_one = line.element and line.share == line.element
    name = say("annex.fault", element=line.element, fault=line.fault, appears=line.appears) if is_one else line.name
    name = texts.fit(name, further)
    cell = [para(Struck(name) if line.standing == "cleared" else name, style="cell")]
    if line.size:
        cell.append(para(texts.fit(say("annex.size", size=line.size), further), style="cell faint"))
    alike = sorted((numbers[key] for key in line.same_as if key in numbers), key=int)
    if alike:
        cell.append(para(texts.fit(say("annex.same_as", numbers=list_words(alike)), further), style="cell faint"))
    reach = [para(texts.fit(_reach(line), further), style="cell faint")] if line.reach else ""
    return [para(number, style="cell faint"), cell, para(percent_sign(line.probability), style="cell right"),
            para(line.standing, style="cell"), _tests_cell(line.cleared_by), reach]


def _reach(line: SuspectLine) -> str:
    """Return what the steps that cleared a suspect could have seen; what several could have seen is said once.

    Each part begins with the ids of its steps, and ends with the element, which stands in the same row.
    """
    tests: dict[str, list[str]] = {}
    for words in line.reach.split("; "):
        steps, _, reach = words.partition(": ")
        known = steps.split(", ") if reach and set(steps.split(", ")) <= set(line.cleared_by) else []
        tests.setdefault((reach if known else words).removesuffix(f" at {line.element}"), []).extend(known)
    said = [say("annex.reach_of", tests=f",{NO_BREAK_SPACE}".join(_numbers(steps)), reach=reach) if steps else reach
            for reach, steps in tests.items()]
    return "; ".join(said)


def _numbers(steps: Iterable[str]) -> list[str]:
    """Return the numbers of tests, the lowest first."""
    return sorted(map(number_of, steps), key=lambda number: (int(number) if number.isdecimal() else 0, number))


def _tests_cell(steps: tuple[str, ...]) -> Flowable | str:
    return para(", ".join(_numbers(steps)), style="cell") if steps else ""


# --- what being wrong would cost ------------------------------------------------------------------------------------


def _decisions(content: ReportInput, width: float) -> list[Flowable]:
    """Return the figures of each case that has some, and what they say."""
    from reportlab.platypus import KeepTogether, Spacer

    weighed = [(entry, content.decisions[entry.id]) for entry in current_cases(content.job)
               if entry.id in content.decisions]
    if not weighed:
        return []
    texts = CellTexts()
    rows = [[para(texts.fit(entry.part, entry.part[:60]), style="cell"), _right(entry, decision),
             *_money_cells(content, decision, texts)] for entry, decision in weighed]
    table = ruled_table([say(key) for key in _DECISION_HEAD], rows, [width * share for share in _DECISION_SHARES],
                        right=frozenset({1, 2, 3}), row_headers=True)
    said = [sentence(decision.words) for _, decision in weighed if decision.words]
    return [KeepTogether([*heading("annex.decisions", space=110), table, Spacer(0, 5), *texts.flowables(),
                          *lines(said, style="faint")])]


def _right(entry: Condemned, decision: Decision) -> list[Flowable]:
    """Return how likely it is the part, and how likely it was when it was decided where that is known."""
    made = [para(percent_words(decision.probability_right), style="cell right")]
    if entry.probability_right is not None:
        made.append(para(say("annex.then", chance=percent_words(entry.probability_right)), style="cell faint right"))
    return made


def _money_cells(content: ReportInput, decision: Decision, texts: CellTexts) -> list[Flowable | list[Flowable]]:
    """Return what being wrong costs, what that loses on average, the best test before it, and the cheapest look."""
    currency = content.job.workshop.currency
    unknown = say("annex.not_known")
    cost, loss = ((show_money(amount, currency) if decision.is_cost_known else unknown)
                  for amount in (decision.cost_if_wrong, decision.expected_loss))
    made: list[Flowable | list[Flowable]] = [para(cost, style="cell right"), para(loss, style="cell right")]
    named: set[str] = set()
    for key, first, amount in (("test", decision.better_first, decision.going_on),
                               ("look", decision.look_first, decision.looking)):
        going_on = None if amount is None else show_money(amount, currency)
        if first is not None and first.key in named:
            made.append([para(say("annex.same_test"), style="cell")])
        elif first is not None:
            named.add(first.key)
            made.append([para(texts.fit(first.title, decision.name[:60]), style="cell"),
                         para(say("annex.going_on", minutes=labels.minutes_words(first.minutes),
                                  cost=going_on or unknown), style="cell faint")])
        elif going_on:
            made.append([para(say(f"annex.not_worth_it.{key}", cost=going_on), style="cell")])
        else:
            made.append([para(say(f"annex.none_left.{key}") if decision.is_cost_known else unknown, style="cell")])
    return made
