"""One line typed at the vehicle, understood as a test step.

    0.48 V strap while cranking <0.2 V

The parts of a line may stand in any order, except that what a place or an element is called stands together. Case
and spaces do not matter; a comma is as good as a point.

Readings
    a number with its unit, anywhere. The kind follows from the unit: V is a voltage, A a current, ohm a resistance,
    anything else a value. A leading `voltage`, `current`, `resistance` or `value` says it first; the unit may then
    be left out (V, A, ohm). `OL` is over range. `voltage alternator ripple 40 mV`, `resistance F7 to C3.2 OL`.
Places
    what is left of the line: `strap`, or two points `C3.2 to B-`, `C3.2 > B-`, `red C3.2 black B-`. One point is the
    red lead; black is then at B-. `across W1` means its two ends. For a value what is measured comes before the
    reading and where after it, or after a comma or `at`: `brake disc thickness 21.3 mm front left`.
Expected range
    `<0.2 V`, `≤ 0.2 V`, `>= 22 mm`, `max 0.2 V`, `at most 0.2 V`, `min 22 mm`, `0.1..0.3 V`, `12.4-12.8 V`,
    `12.4 to 12.8 V`; a word in brackets behind it is its source: `<0.2 V (maker's data)`. Without unit it has the
    reading's. Or the name of a rule of thumb: `rule ground path`.
Setup
    after `while`, `with`, `during` or `@`: `while cranking`, `@idle`. `at` begins a setup where the place is said
    already or a condition follows (`at 2000 rpm`), else a place.
Other clauses
    `using meter` names the instrument. `after` or `after repair` marks a step made after the repair; `after charging`
    is a setup. Behind a semicolon stands a note.
Steps without a number
    `lamp F7 dark`, `lamp B+ to S1 lit` (clip, probe; the clip is on B- unless said), `look strap damage`,
    `look loom, C3 nothing`, `look strap strong damage`, `move loom 3/10`, `move loom 0 of 20 watching C3.2`,
    `works wiper`, `wiper works`, `wiper does not work`, `swap relay R2 cured`, `swap R2 same`.

A line is never lost: what is not understood comes back whole, with one sentence that says where it failed.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any, Literal

from msgspec.structs import replace

from workshop_log.exchange import records, values
from workshop_log.exchange.records import Expected
from workshop_log.jobs import labels
from workshop_log.jobs.ids import next_id
from workshop_log.measuring import rules as thumb
from workshop_log.measuring import units
from workshop_log.measuring.entry import Entry, EntryError, read_entry, show_entry
from workshop_log.measuring.ranges import RangeError
from workshop_log.measuring.units import UnitMismatchError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from workshop_log.exchange.records import Circuit, Job, Step
    from workshop_log.measuring.rules import Rule

MAX_LINE = 400
BLACK = "B-"
# Stands where a reading or an expected range was cut out of the line: a character that no line may have.
_CUT = "\ue000"
_READING = _CUT + "\ue001"

_KINDS = {
    "voltage": "voltage", "volts": "voltage", "volt": "voltage", "drop": "voltage",
    "current": "current", "amps": "current", "resistance": "resistance", "ohms": "resistance",
    "value": "value", "lamp": "lamp", "look": "look", "looked": "look",
    "move": "movement", "moved": "movement", "movement": "movement", "wiggle": "movement",
    "works": "observe", "observe": "observe", "swap": "swap", "swapped": "swap",
}
# What the three electrical kinds measure is called as they are; these are their usual units.
_UNITS = {"voltage": "V", "current": "A", "resistance": "ohm"}
_SETUP_WORDS = {"while", "with", "during"}
_CLAUSE_WORDS = {*_SETUP_WORDS, "at", "using", "watching", "rule", "after"}
# After "at" these begin a condition and no place.
_CONDITIONS = {"idle", "idling", "cranking", "rest", "night", "speed", "full", "half", "no", "load", "standstill",
               "cold", "hot", "ignition", "key", "start"}
_STRENGTHS = ("slight", "fair", "strong")
_LAMP_RESULTS = {"lit": "lit", "on": "lit", "bright": "lit", "dim": "dim", "dark": "dark", "off": "dark", "out": "dark"}
_LOOK_RESULTS = {"damage": "damage", "damaged": "damage", "nothing": "nothing", "ok": "nothing", "clean": "nothing",
                 "fine": "nothing", "good": "nothing"}
_SWAP_RESULTS = {"not cured": False, "no change": False, "cured": True, "same": False, "gone": True}

_COUNT = re.compile(r"(?<!\S)(\d{1,6})\s*(?:/|of|in)\s*(\d{1,6})(?!\S)", re.ASCII)
_NUMBER = r"[+\-−]?(?:\d+(?:[.,]\d+)?|[.,]\d+)"


@dataclass(frozen=True, slots=True)
class EntryLine:
    """A line and how it was understood.

    Attributes
    ----------
    text : str
        As typed.
    step : Step | None
        The step that it describes, not yet recorded; None when the line is empty or not understood.
    words : str
        How it was understood, for the person to see before pressing Enter.
    problem : str
        What was not understood, where, and what to do; blank otherwise.
    """

    text: str
    step: Step | None = None
    words: str = ""
    problem: str = ""


class _NotUnderstoodError(Exception):
    """Carries the one sentence that goes into `EntryLine.problem`."""


@dataclass(slots=True)
class _Clauses:
    """The parts of a line, while it is being read."""

    main: str = ""
    setup: str = ""
    using: str = ""
    watching: str = ""
    rule: str = ""
    after_repair: bool = False
    note: str = ""


def read_entry_line(text: str, job: Job, rules: Sequence[Rule] | None = None) -> EntryLine:
    """Read one line typed at the vehicle; see the top of this module for what it may say.

    Parameters
    ----------
    text : str
        The line.
    job : Job
        Gives the step its number, and the instruments, circuits and setups that the line may name.
    rules : Sequence[Rule], optional
        The workshop's rules of thumb; those of the trade unless given.
    """
    if not text.strip():
        return EntryLine(text)
    try:
        step = _read(text, job, thumb.rules() if rules is None else rules)
    except _NotUnderstoodError as problem:
        return EntryLine(text, problem=str(problem))
    return EntryLine(text, step, understood_words(step, job))


def _read(text: str, job: Job, rules: Sequence[Rule]) -> Step:
    line, _, note = text.partition(";")
    if len(line) > MAX_LINE:
        raise _NotUnderstoodError(f"The line has more than {MAX_LINE} characters: put remarks behind a semicolon.")
    bad = next((c for c in text if not c.isprintable() and not c.isspace()), None)
    if bad is not None:
        raise _NotUnderstoodError(f"The line has a character that cannot be printed (U+{ord(bad):04X}): delete it.")
    line = " ".join(line.split())
    kind, line = _leading_kind(line)
    if kind is None:
        kind, line = _trailing_works(line)
    if kind in ("lamp", "look", "movement", "observe", "swap"):
        # "swap relay with the horn's cured": there "with" begins no setup.
        clauses = _split(line, _CLAUSE_WORDS - {"rule"} - ({"with"} if kind == "swap" else set()), "word")
        readers = {"lamp": _lamp, "look": _look, "movement": _movement, "observe": _observe, "swap": _swap}
        fields = readers[kind](clauses)
    else:
        fields = _reading_step(line, kind, job, rules)
        clauses = fields.pop("clauses")
    return _step(fields, clauses, note.strip(), job)


def _leading_kind(line: str) -> tuple[str | None, str]:
    """Return the kind that the first word says and the rest of the line."""
    line = re.sub(r"^test lamp\b", "lamp", line, flags=re.IGNORECASE)
    first, _, rest = line.partition(" ")
    kind = _KINDS.get(first.lower().rstrip(":,"))
    return (kind, rest) if kind else (None, line)


def _trailing_works(line: str) -> tuple[str | None, str]:
    """Understand "wiper works", "F7 holds", "wiper does not work" as an observation."""
    found = re.search(r"\s(works|runs|holds|works not|does not (?:work|run|hold)|fails|blows)(?=\s|$)", line,
                      re.IGNORECASE)
    if not found:
        return None, line
    works = found[1].lower() in ("works", "runs", "holds")
    rest = (line[:found.start()] + line[found.end():]).strip()
    return "observe", f"{rest}{_CUT}" if works else f"not {rest}{_CUT}"


# --- clauses --------------------------------------------------------------------------------------------------------


def _split(line: str, clause_words: set[str], at: Literal["place or setup", "place", "word"]) -> _Clauses:
    """Sort the words of a line into its clauses.

    What "at" begins where no condition follows it: a place or, where the place is said, a setup; always a place; or
    nothing, because it is a word like any other.
    """
    clauses, name = _Clauses(), "main"
    words = line.split()
    for place, word in enumerate(words):
        lower = word.lower()
        following = [w.lower() for w in words[place + 1:place + 3]]
        if word.startswith("@"):
            name, word = "setup", word[1:]
        elif lower == "after" and "after" in clause_words:
            if not following or place == 0 or following[0] in clause_words or _is_repair(following) or \
                    following[0][0] in f"<>≤≥@{_CUT}":
                clauses.after_repair = True
                continue
            name = "setup"
        elif lower in ("repair", "the") and clauses.after_repair and _is_repair([lower, *following]) and \
                words[place - 1].lower() in ("after", "the"):
            continue
        elif lower in _SETUP_WORDS & clause_words:
            name = "setup"
            continue
        elif lower == "at" and "at" in clause_words:
            is_said = at == "place or setup" and _plain(clauses.main)
            if is_said or (following and (following[0] in _CONDITIONS or following[0][0].isdigit())):
                name = "setup"
                continue
            if at != "word":
                clauses.main += "," if _plain(clauses.main) else ""
                continue
        elif lower in ("using", "watching", "rule") and lower in clause_words:
            name = lower
            continue
        setattr(clauses, name, f"{getattr(clauses, name)} {word}".strip())
    return clauses


def _is_repair(words: list[str]) -> bool:
    return words[:1] == ["repair"] or words[:2] == ["the", "repair"]


# --- numbers in a line ----------------------------------------------------------------------------------------------


@cache
def _patterns() -> dict[str, re.Pattern[str]]:
    spelled = sorted(units.SPELLED, key=len, reverse=True)
    unit = "(?:" + "|".join(re.escape(s).replace(r"\ ", r"\s+") for s in spelled) + "|[kKM])"
    end = r"(?=$|[\s,;()]|" + _CUT + ")"
    lead = r"(?:(?:expected|expect|exp\.?|should\s+be)[:\s]*)?"
    source = r"(?:\s*\((?P<source>[^()]*)\))?"
    return {
        "range": re.compile(
            rf"(?<![^\s,]){lead}(?P<low>{_NUMBER})\s*(?P<low_unit>{unit})?"
            rf"(?P<between>\s*(?:\.\.\.?|…)\s*|\s*[-–—]\s*|\s+to\s+)"
            rf"(?P<high>{_NUMBER})\s*(?P<high_unit>{unit})?{end}{source}"),
        "limit": re.compile(
            rf"(?<![^\s,]){lead}(?P<relation>[<>]=?|=[<>]|[≤≥]|[Mm]ax\.?|[Mm]in\.?|[Aa]t most|[Aa]t least)\s*"
            rf"(?P<number>{_NUMBER})\s*(?P<unit>{unit})?{end}{source}"),
        "reading": re.compile(
            rf"(?<![^\s,])(?:(?P<relation>[<>≤≥]=?)\s*)?"
            rf"(?:(?P<number>{_NUMBER}(?:[eE][+-]?\d+)?)\s*(?P<unit>{unit})"
            rf"|\d*[RrkKM]\d+(?:\s*(?:ohms?|Ω|Ohms?))?|(?i:O\.?L\.?)){end}"),
        "number": re.compile(rf"(?<![^\s,]){_NUMBER}{end}"),
    }


def _reading_step(line: str, kind: str | None, job: Job, rules: Sequence[Rule]) -> dict[str, Any]:
    """Read a line with a reading in it."""
    line, limits = _cut_limits(line)
    reading, start, end = _find_reading(line, kind)
    if reading is None:
        raise _NotUnderstoodError(_why_no_reading(line, kind))
    entry = _entry(reading, _UNITS.get(kind or ""))
    if kind is None:
        # Only an ohmmeter shows OL so often that nobody says with what.
        kind = "resistance" if not entry.unit else entry.dimension if entry.dimension in _UNITS else "value"
        entry = _entry(reading, _UNITS.get(kind))
    clauses = _split(f"{line[:start]} {_READING} {line[end:]}".strip(), _CLAUSE_WORDS,
                     "place" if kind == "value" else "place or setup")
    # A reading at the end of a setup clause belongs to the step: "strap while cranking 0.48 V".
    clauses.setup, clauses.using, clauses.rule = (
        _plain(text) for text in (clauses.setup, clauses.using, clauses.rule))
    if kind in _UNITS and entry.unit and entry.dimension != kind:
        raise _NotUnderstoodError(f"“{reading}” is no {kind}: change the unit or the word “{kind}”.")
    fields: dict[str, Any] = {"clauses": clauses, "reading": reading if entry.unit == "" or _has_unit(reading)
                              else f"{reading} {_UNITS[kind]}"}
    fields["expected"] = _expected(limits, clauses.rule, clauses.setup, entry, rules)
    fields |= _value_place(clauses.main) if kind == "value" else _electrical_place(_plain(clauses.main), kind, job)
    return fields


def _plain(text: str) -> str:
    return " ".join(text.replace(_READING, " ").replace(_CUT, " ").split()).strip(" ,:")


def _has_unit(reading: str) -> bool:
    return not re.fullmatch(rf"\s*[<>]?=?\s*{_NUMBER}\s*", reading)


def _cut_limits(line: str) -> tuple[str, list[re.Match[str]]]:
    """Cut the expected range out of a line; a lone "<0.1 V" is the reading and stays."""
    patterns = _patterns()
    found: list[re.Match[str]] = []
    rest = line
    for match in patterns["range"].finditer(line):
        dots = "." in match["between"] or "…" in match["between"]
        if (dots or match["high_unit"]) and not found:
            found.append(match)
    taken = [match.span() for match in found]
    limits = [m for m in patterns["limit"].finditer(line) if not any(a < m.end() and m.start() < b for a, b in taken)]
    rest = _without(line, [*found, *limits])
    if not patterns["reading"].search(rest) and not patterns["number"].search(rest):
        # The first bare "<" or ">" with a unit is the reading.
        first = next((m for m in limits if m["relation"] in "<>≤≥" and m["unit"]), None)
        if first is not None:
            limits.remove(first)
            rest = _without(line, [*found, *limits])
    return rest, [*found, *limits]


def _without(line: str, matches: list[re.Match[str]]) -> str:
    for match in sorted(matches, key=lambda m: m.start(), reverse=True):
        line = f"{line[:match.start()]} {_CUT} {line[match.end():]}"
    return " ".join(line.split())


def _find_reading(line: str, kind: str | None) -> tuple[str | None, int, int]:
    """Return the reading and where it stands: the first of the kind asked for, else the first electrical one."""
    candidates = list(_patterns()["reading"].finditer(line))

    if kind not in _UNITS:
        electrical = [m for m in candidates if kind is None and _dimension(m) in _UNITS]
        best = (electrical or candidates or [None])[0]
    else:
        bare = [m for m in _patterns()["number"].finditer(line)
                if not any(c.start() <= m.start() < c.end() for c in candidates)]
        fitting = [m for m in candidates if _dimension(m) == kind or not m["unit"]]
        # Two numbers without a unit could each be the reading.
        best = (fitting or (bare if len(bare) == 1 else candidates) or [None])[0]
    return (best[0], best.start(), best.end()) if best else (None, 0, 0)


def _dimension(reading: re.Match[str]) -> str:
    """Return what a reading in a line measures; a number with a bare k, and 4k7, are ohms."""
    unit = units.SPELLED.get(" ".join((reading["unit"] or "").split()))
    return unit[0].dimension if unit else "resistance"


def _why_no_reading(line: str, kind: str | None) -> str:
    bare = _patterns()["number"].search(line)
    if bare and kind not in _UNITS:
        return f"“{bare[0]}” has no unit: write for example {bare[0]} V, or begin the line with voltage."
    shown = _plain(line)
    where = f" in “{shown}”" if shown else ""
    return (f"There is no reading{where}: type a number with its unit, or begin with lamp, look, move, works or swap.")


def _entry(reading: str, usual_unit: str | None) -> Entry:
    try:
        return read_entry(reading, usual_unit=usual_unit)
    except EntryError as error:
        raise _NotUnderstoodError(error.reason) from None


# --- expected range -------------------------------------------------------------------------------------------------


def _expected(limits: list[re.Match[str]], rule: str, setup: str, entry: Entry,
              rules: Sequence[Rule]) -> Expected | None:
    if rule and limits:
        raise _NotUnderstoodError(f"There is a rule (“{rule}”) and a range (“{limits[0][0].strip()}”): keep one.")
    if rule:
        expected = _rule_expected(rule, setup, rules)
    elif limits:
        expected = _typed_expected(limits, entry)
    else:
        return None
    try:
        range_ = values.expected_of(expected)
    except (EntryError, RangeError, UnitMismatchError) as error:
        raise _NotUnderstoodError(f"Expected range: {error}") from None
    if entry.unit and range_.dimension != entry.dimension:
        raise _NotUnderstoodError(f"The reading {show_entry(entry)} and the expected range ({range_.words()}) measure "
                                  f"different things: change the unit of one.")
    return expected


def _typed_expected(limits: list[re.Match[str]], entry: Entry) -> Expected:
    low = high = None
    source = ""
    unit = f" {units.UNIT[entry.unit].name}" if entry.unit else ""
    for match in limits:
        found = match.groupdict()
        source = source or (found["source"] or "").strip()
        if "low" in found:
            low_unit = found["low_unit"] or found["high_unit"]
            low = f"{found['low']} {low_unit}" if low_unit else f"{found['low']}{unit}"
            high = f"{found['high']} {found['high_unit'] or low_unit}" if low_unit else f"{found['high']}{unit}"
            continue
        limit = f"{found['number']} {found['unit']}" if found["unit"] else f"{found['number']}{unit}"
        is_low = found["relation"].lower().rstrip(".") in (">", ">=", "=>", "≥", "min", "at least")
        if (low if is_low else high) is not None:
            raise _NotUnderstoodError(f"“{match[0].strip()}” gives a second {'lowest' if is_low else 'highest'} value: "
                                      f"keep one.")
        low, high = (limit, high) if is_low else (low, limit)
    return Expected(low=low, high=high, source=source)


def _rule_expected(name: str, setup: str, rules: Sequence[Rule]) -> Expected:
    """Return the range of the one rule of thumb that the words name; the setup decides between two."""
    words = re.findall(r"\w+", name.lower())
    matching = [rule for rule in rules if _has_words(rule, words)]
    if len(matching) > 1:
        exact = [rule for rule in matching if rule.id == name.lower()]
        fitting = [rule for rule in matching if setup and _has_words(rule, re.findall(r"\w+", setup.lower()))]
        matching = exact or fitting or matching
    if not matching:
        raise _NotUnderstoodError(f"No rule of thumb is called “{name}”: look it up in the list of rules.")
    if len(matching) > 1:
        names = "; ".join(f"{rule.what} ({rule.id})" for rule in matching[:3])
        raise _NotUnderstoodError(f"“{name}” could be several rules: {names}.")
    (rule,) = matching

    def limit(value: float | None) -> str | None:
        return None if value is None else f"{value:g} {rule.unit}"

    return Expected(low=limit(rule.low), high=limit(rule.high), source=rule.expected_range().source)


def _has_words(rule: Rule, words: list[str]) -> bool:
    own = re.findall(r"\w+", f"{rule.id} {rule.what} {rule.condition}".lower())
    return bool(words) and all(any(mine.startswith(word) for mine in own) for word in words)


# --- places ---------------------------------------------------------------------------------------------------------


def _electrical_place(place: str, kind: str, job: Job) -> dict[str, Any]:
    if kind == "current":
        through = re.sub(r"^(?:through|in|of)\s+", "", place, flags=re.IGNORECASE)
        if not through:
            raise _NotUnderstoodError("Through what does the current flow? Name the element behind the reading.")
        return {"type": records.CurrentStep, "through": through}
    red, black = _two_points(place, job)
    step_type = records.VoltageStep if kind == "voltage" else records.ResistanceStep
    return {"type": step_type, "red": red, "black": black}


def _two_points(place: str, job: Job) -> tuple[str, str]:
    """Return the red and the black point; one point alone is measured against battery negative."""
    if not place:
        raise _NotUnderstoodError("Where was it measured? Name the point, or two as in “C3.2 to B-”.")
    across = re.fullmatch(r"across\s+(.+)", place, re.IGNORECASE)
    if across:
        return _ends(across[1], job)
    for pattern in (r"red\s+(?:at\s+|on\s+)?(.+?),?\s+black\s+(?:at\s+|on\s+)?(.+)", r"(?:from\s+)?(.+?)\s+to\s+(.+)",
                    r"(.+?)\s*(?:>|->|→)\s*(.+)"):
        found = re.fullmatch(pattern, place, re.IGNORECASE)
        if found:
            return _point(found[1]), _point(found[2])
    return _point(re.sub(r"^(?:red|on)\s+", "", place, flags=re.IGNORECASE)), BLACK


def _ends(name: str, job: Job) -> tuple[str, str]:
    found = [e.between for circuit in job.circuits for e in circuit.elements if e.between and name in (e.id, e.title)]
    return found[0] if len(found) == 1 else (f"{name}, one end", f"{name}, other end")


def _point(text: str) -> str:
    text = text.strip(" ,")
    return text.upper().replace("−", "-") if re.fullmatch(r"[bB][+\-−]", text) else text


def _value_place(main: str) -> dict[str, Any]:
    before, _, behind = main.partition(_READING)
    what, where = _plain(before), _plain(behind)
    if not what:
        what, where = where, ""
    if not where:
        what, _, where = what.partition(",")
    if not what.strip():
        raise _NotUnderstoodError("What was measured? Name it before the reading: “brake disc thickness 21.3 mm”.")
    where = re.sub(r"^(?:at|on)\s+", "", where.strip(), flags=re.IGNORECASE)
    return {"type": records.ValueStep, "what": what.strip(), "where": where}


# --- steps without a number -----------------------------------------------------------------------------------------


def _take_result(text: str, results: dict[str, Any], hint: str) -> tuple[Any, str]:
    """Return what the last result word means and the text without it."""
    alternatives = "|".join(map(re.escape, results))
    found = list(re.finditer(rf"(?:^|(?<=[\s,]))(?:{alternatives})(?=$|[\s,])", text, re.IGNORECASE))
    if not found:
        raise _NotUnderstoodError(f"There is no result in “{text}”: {hint}.")
    last = found[-1]
    return results[last[0].lower()], _plain(f"{text[:last.start()]} {text[last.end():]}")


def _names(text: str, hint: str) -> tuple[str, ...]:
    names = tuple(name.strip() for name in re.split(r",|\sand\s|\s\+\s", text) if name.strip())
    if not names:
        raise _NotUnderstoodError(hint)
    return names


def _lamp(clauses: _Clauses) -> dict[str, Any]:
    result, place = _take_result(clauses.main, _LAMP_RESULTS, "end the line with lit, dim or dark")
    if not place:
        raise _NotUnderstoodError("Where did the lamp's probe touch? Name the point, as in “lamp F7 dark”.")
    clip = re.fullmatch(r"clip\s+(?:on\s+)?(.+?),?\s+probe\s+(?:on\s+)?(.+)", place, re.IGNORECASE)
    two = clip or re.fullmatch(r"(?:from\s+)?(.+?)\s+(?:to|>|->|→)\s+(.+)", place, re.IGNORECASE)
    ends = (_point(two[1]), _point(two[2])) if two else (BLACK, _point(place))
    return {"type": records.LampStep, "clip": ends[0], "probe": ends[1], "result": result}


def _look(clauses: _Clauses) -> dict[str, Any]:
    result, rest = _take_result(clauses.main, _LOOK_RESULTS, "end the line with damage or nothing")
    strength = next((s for s in _STRENGTHS if re.search(rf"(?:^|\s){s}(?:$|\s)", rest, re.IGNORECASE)), None)
    if strength:
        rest = _plain(re.sub(rf"(?:^|\s){strength}(?=$|\s)", " ", rest, count=1, flags=re.IGNORECASE))
    elements = _names(rest, "What was looked at? Name it, as in “look strap damage”.")
    return {"type": records.LookStep, "elements": elements, "result": result, "strength": strength or "fair"}


def _movement(clauses: _Clauses) -> dict[str, Any]:
    text = clauses.main if _COUNT.search(clauses.main) else clauses.watching
    count = next(iter(reversed(list(_COUNT.finditer(text)))), None)
    if count is None:
        raise _NotUnderstoodError(f"How often did the fault show in “{clauses.main}”? Write 3/10 for three of ten "
                                  f"movements.")
    shown, trials = int(count[1]), int(count[2])
    if not 1 <= trials <= 100_000 or shown > trials:
        raise _NotUnderstoodError(f"“{count[0].strip()}” cannot be: the fault showed in at most all of the movements, "
                                  f"and there was at least one.")

    def without_count(part: str) -> str:
        return _plain(part.replace(count[0], " ", 1))

    elements = _names(without_count(clauses.main), "What was moved? Name it, as in “move loom 3/10”.")
    return {"type": records.MovementStep, "elements": elements, "watching": _watching(without_count(clauses.watching)),
            "trials": trials, "shown": shown}


def read_count(text: str) -> tuple[int, int] | None:
    """Return how often the fault showed and in how many movements, if the text is that alone: "3/10", "3 of 10"."""
    found = _COUNT.fullmatch(text.strip())
    if not found or not 1 <= int(found[2]) <= 100_000 or int(found[1]) > int(found[2]):
        return None
    return int(found[1]), int(found[2])


def read_look(text: str) -> tuple[str, str] | None:
    """Return what a look showed and how strongly, if the text is that alone: "damage", "nothing strong"."""
    words = text.lower().split()
    strengths = [word for word in words if word in _STRENGTHS]
    results = [word for word in words if word in _LOOK_RESULTS]
    if len(results) != 1 or len(strengths) > 1 or len(words) != len(results) + len(strengths):
        return None
    return _LOOK_RESULTS[results[0]], strengths[0] if strengths else "fair"


def read_swap(text: str) -> bool | None:
    """Return whether a known good one cured it, if the text is that alone: "cured", "not cured"; None if not."""
    return _SWAP_RESULTS.get(" ".join(text.lower().split()))


def is_bare_number(text: str) -> bool:
    """Whether a reading is typed without its unit."""
    return not _has_unit(text)


def _watching(text: str) -> Any:
    kind, place = _leading_kind(text)
    if not text:
        return None
    if not place:
        raise _NotUnderstoodError(f"What was watched? Name the point behind “watching {text}”.")
    if kind == "current":
        return records.WatchCurrent(through=re.sub(r"^through\s+", "", place, flags=re.IGNORECASE))
    two = re.fullmatch(r"(?:from\s+)?(.+?)\s+(?:to|>|->|→)\s+(.+)", place, re.IGNORECASE)
    first, second = (_point(two[1]), _point(two[2])) if two else (_point(place), BLACK)
    if kind == "lamp":
        return records.WatchLamp(clip=first, probe=second) if two else records.WatchLamp(clip=BLACK, probe=first)
    if kind == "resistance":
        return records.WatchResistance(red=first, black=second)
    return records.WatchVoltage(red=first, black=second)


def _observe(clauses: _Clauses) -> dict[str, Any]:
    words = clauses.main.replace(_CUT, " ").split()
    works = True
    for word in ("not", "no"):
        if words and word in (words[0].lower(), words[-1].lower()):
            words.pop(0 if words[0].lower() == word else -1)
            works = False
            break
    if len(words) > 1 and words[-1].lower() == "yes":
        words.pop()
    if not words:
        raise _NotUnderstoodError("What works, or does not? Name it, as in “works wiper” or “wiper does not work”.")
    return {"type": records.ObserveStep, "element": " ".join(words), "works": works}


def _swap(clauses: _Clauses) -> dict[str, Any]:
    cured, element = _take_result(clauses.main, _SWAP_RESULTS, "end the line with cured or same")
    if not element:
        raise _NotUnderstoodError("What was swapped? Name it, as in “swap relay R2 cured”.")
    return {"type": records.SwapStep, "element": element, "cured": cured}


# --- the step -------------------------------------------------------------------------------------------------------


def _step(fields: dict[str, Any], clauses: _Clauses, note: str, job: Job) -> Step:
    step_type = fields.pop("type")
    step = step_type(id=next_id(job.steps, "s"), setup=_plain(clauses.setup), note=note,
                     instrument=_instrument(_plain(clauses.using), job), after_repair=clauses.after_repair, **fields)
    return _in_circuit(step, job)


def _instrument(name: str, job: Job) -> str | None:
    if not name:
        return None
    for instrument in job.instruments:
        if name.lower() in (instrument.id.lower(), instrument.title.lower()):
            return instrument.id
    known = ", ".join(instrument.id for instrument in job.instruments)
    raise _NotUnderstoodError(f"No instrument of this job is called “{name}”: "
                              + (f"choose one of {known}." if known else "add it to the job first."))


def _in_circuit(step: Step, job: Job) -> Step:
    """Tie the step to the one circuit that has everything it names, and to that circuit's setup."""
    fitting = [circuit for circuit in job.circuits if _names_all(step, circuit)]
    if len(fitting) != 1:
        return step
    (circuit,) = fitting
    if not step.setup:
        return replace(step, circuit=circuit.id)
    for setup in circuit.setups:
        if step.setup.lower() in (setup.id.lower(), setup.title.lower()):
            return replace(step, circuit=circuit.id, setup=setup.id)
    return step


def _names_all(step: Step, circuit: Circuit) -> bool:
    points = {point for element in circuit.elements for point in (element.between or ())}
    elements = {element.id for element in circuit.elements}
    match step:
        case records.VoltageStep() | records.ResistanceStep():
            return {step.red, step.black} <= points
        case records.LampStep():
            return {step.clip, step.probe} <= points
        case records.CurrentStep():
            return step.through in elements
        case records.LookStep():
            return set(step.elements) <= elements
        case records.ObserveStep() | records.SwapStep():
            return step.element in elements
        case _:
            return False


def understood_words(step: Step, job: Job) -> str:
    """Return how a line was understood: "Voltage 0.48 V, red at strap, black at B−; expected at most 0.2 V"."""
    match step:
        case records.VoltageStep() | records.ResistanceStep():
            red, black = labels.point_words(step.red), labels.point_words(step.black)
            parts = [f"{labels.step_kind(step)} {step.reading}, red at {red}, black at {black}"]
        case records.CurrentStep() | records.ValueStep():
            parts = [f"{labels.step_title(step, job)}, {step.reading}"]
        case _:
            parts = [f"{labels.step_title(step, job)}, {labels.step_result(step)}"]
    if step.setup:
        parts.append(_setup_phrase(labels.setup_words(step, job)))
    if step.instrument:
        parts.append(f"using {step.instrument}")
    if step.after_repair:
        parts.append("after the repair")
    words = ", ".join(parts)
    if step.expected:
        range_ = values.expected_of(step.expected)
        words += f"; expected {range_.words()}" + (f" ({range_.source})" if range_.source else "")
    return words


def _setup_phrase(setup: str) -> str:
    lower = setup.lower()
    if lower.startswith("after "):
        return setup
    return f"while {setup}" if lower.split(" ")[0].endswith("ing") else f"setup: {setup}"
