"""The next test and the figures of a decision, in words and in money."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from workshop_log.exchange import records
from workshop_log.jobs import labels, money
from workshop_log.jobs.circuit_ranges import AS_FOUND, computed_circuit
from workshop_log.jobs.evidence_of import access_of
from workshop_log.jobs.percent import percent_words
from workshop_log.jobs.places import REFERENCE, Place
from workshop_log.jobs.suspecting import (
    SuspicionError,
    circuit_named,
    element_name,
    inference_of,
    same_as,
)
from workshop_log.jobs.suspicion import HEALTHY, SEVERAL, Decision, Proposal
from workshop_log.measuring.showing import show

if TYPE_CHECKING:
    from workshop_log.diagnosis.candidates import Candidate
    from workshop_log.diagnosis.next_test import NextTest, Proposed
    from workshop_log.exchange.records import Circuit, Element, Job

# A fitting time that nobody noted; own estimate. [min]
FIT_MINUTES = 30.0
# Parts of which less is left are not named in a sentence.
_WORTH_NAMING = 0.02
_MOST_NAMED = 3
_SHOWN_DIGITS = 3
# Two parts are not told apart by a test whose outcomes overlap that much with both.
_ALIKE = 0.7
_MOST_GROUPS = 2
# A spread of values wider than this part of the supply is told as "between".
_APART_SHARE = 0.04
_CAUTION_SUSPECTS = 0.02
_MOST_TOGETHER = 3


def proposals_of(job: Job, circuit: str, count: int = 3, is_outdated: Callable[[], bool] | None = None, *,
                 usual_minutes: Mapping[str, float] | None = None, come_back: Decimal | None = None,
                 ) -> tuple[Proposal, ...]:
    """Return the tests that are worth making next, the best first; none where nothing can be computed.

    Parameters
    ----------
    job, circuit, is_outdated
        As `suspecting.suspicion_of`.
    count : int
        How many at most.
    usual_minutes : Mapping[str, float], optional
        How long each kind of test takes in this workshop.
    come_back : Decimal, optional
        What a vehicle costs the workshop that comes back.
    """
    prepared = _prepared(job, circuit, is_outdated, usual_minutes)
    if prepared is None:
        return ()
    record, tests = prepared
    repeat = _to_repeat(record, tests)
    best = tests.best(count)
    loss, _, _ = _losses(job, record, tests, (), come_back)
    proposals = [*repeat, *(_proposal(job, record, tests, one, loss) for one in best)]
    return tuple({proposal.key: proposal for proposal in reversed(proposals)}.values())[::-1][:count]


def decision_of(job: Job, circuit: str, element: str, is_outdated: Callable[[], bool] | None = None, *,
                usual_minutes: Mapping[str, float] | None = None, come_back: Decimal | None = None,
                ) -> Decision | None:
    """Return what condemning an element now would cost on average, against the best test first.

    None where the circuit cannot be computed or has no such element. With an empty circuit `element` is the id of a
    suspect written by hand, for which no test can be proposed.
    """
    if not circuit:
        return _decision_by_hand(job, element, come_back)
    prepared = _prepared(job, circuit, is_outdated, usual_minutes)
    if prepared is None or element not in {one.id for one in prepared[0].elements}:
        return None
    record, tests = prepared
    together = _together(job, record, tests, element)
    shares = tests.found.shares()
    right = min(sum(shares.get(one, 0.0) for one in together), 1.0)
    losses, costs, is_known = _losses(job, record, tests, together, come_back)
    wrong = sum((costs[one] for one in together), Decimal(0))
    expected = _money(job, (1 - right) * float(wrong))
    name = element_name(record, element)
    decision = Decision(element, name, together, right, wrong, expected, is_cost_known=is_known)
    if is_known:
        decision = _against_testing(job, record, tests, losses, decision)
    return replace(decision, words=_decision_words(job, record, decision))


def _decision_by_hand(job: Job, suspect: str, come_back: Decimal | None) -> Decision | None:
    """Return the figures for a suspect written by hand, with what its case says of price and fitting."""
    from workshop_log.jobs.case import cost_if_wrong
    from workshop_log.jobs.hand_suspects import hand_suspicion

    share = hand_suspicion(job).share_of(suspect)
    if share is None or suspect not in {one.id for one in job.suspects}:
        return None
    named = share.name.strip().casefold()
    condemned = next((one for one in reversed(job.condemned) if one.part.strip().casefold() == named),
                     records.Condemned(id="k", part=share.name))
    cost = cost_if_wrong(job, condemned, come_back or Decimal(0))
    expected = _money(job, (1 - share.probability) * float(cost.total))
    decision = Decision(suspect, share.name, (suspect,), share.probability, cost.total, expected,
                        is_cost_known=cost.is_known)
    return replace(decision, words=_decision_words(job, None, decision))


# --- what both rest on ----------------------------------------------------------------------------------------------


def _prepared(job: Job, circuit: str, is_outdated: Callable[[], bool] | None,
              usual_minutes: Mapping[str, float] | None) -> tuple[Circuit, NextTest] | None:
    from workshop_log.diagnosis.inference import Options
    from workshop_log.diagnosis.next_test import NextTest

    if not circuit:
        return None
    record = circuit_named(job, circuit)
    try:
        found = inference_of(job, record, is_outdated)
    except SuspicionError:
        return None
    found = replace(found, options=Options(found.options.weights, found.options.cells, is_outdated))
    return record, NextTest(found, access_of(job, record, usual_minutes))


def _rate(job: Job) -> Decimal:
    return job.workshop.labour_rate or Decimal(0)


def _money(job: Job, amount: float | Decimal) -> Decimal:
    return money.round_money(Decimal(str(amount)), job.workshop.currency)


def _cost_if_wrong(job: Job, element: Element, come_back: Decimal | None) -> Decimal:
    """Return what condemning an element wrongly costs, as `case.cost_if_wrong`; an unknown fitting time is assumed."""
    from workshop_log.jobs.case import cost_if_wrong

    condemned = next((one for one in reversed(job.condemned) if one.element == element.id), None)
    facts = {name: getattr(condemned, name, None) if getattr(condemned, name, None) is not None
             else getattr(element, name) for name in ("price", "returnable", "fit_minutes")}
    if facts["fit_minutes"] is None:
        facts["fit_minutes"] = FIT_MINUTES
    part = records.Condemned(id="k", part=element.title or element.id, **facts)
    return cost_if_wrong(job, part, come_back or Decimal(0)).total


def _losses(job: Job, circuit: Circuit, tests: NextTest, together: tuple[str, ...], come_back: Decimal | None):
    """Return the table of losses, what each element costs if wrong, and whether anything of that is known."""
    costs = {element.id: _cost_if_wrong(job, element, come_back) for element in circuit.elements}
    loss, _ = tests.losses({key: float(cost) for key, cost in costs.items()}, together)
    is_known = any(costs[one] for one in together or costs)
    return loss, costs, is_known


def _against_testing(job: Job, circuit: Circuit, tests: NextTest, loss, decision: Decision) -> Decision:
    """Return a decision with the test, and the look, with which going on costs least, where that is less."""
    from workshop_log.diagnosis.next_test import Proposed
    from workshop_log.electrics.numeric import np

    possible = tests.outcomes.candidates
    if not possible:
        return decision
    minutes = np.array([float(tests.minutes[n]) + tests.access_minutes(n) for n in range(len(possible))])
    total = minutes * float(_rate(job)) / 60 + tests.loss_after(loss)

    def cheapest(numbers: list[int]) -> tuple[Proposal | None, Decimal | None]:
        if not numbers:
            return None, None
        number = min(numbers, key=lambda n: (float(total[n]), n))
        cost = _money(job, float(total[number]))
        if cost >= decision.expected_loss:
            return None, cost
        one = Proposed(possible[number], number, 0.0, float(minutes[number]), tests.opens[number])
        return _proposal(job, circuit, tests, one, loss), cost

    better, going_on = cheapest(list(range(len(possible))))
    # Opening something and looking comes before an expensive part; a look at the part itself is no such thing.
    look, looking = cheapest([n for n, one in enumerate(possible) if one.kind == "look"
                              and not set(one.elements) & set(decision.together)])
    return replace(decision, better_first=better, going_on=going_on, look_first=look, looking=looking)


def _together(job: Job, circuit: Circuit, tests: NextTest, element: str) -> tuple[str, ...]:
    """Return the element with its neighbours that no measurement tells from it in its likeliest fault.

    A wire and the pin at its end are replaced together. Where more than a few cannot be told apart, nothing was
    measured yet, or nothing may be: nobody replaces all of that.
    """
    found = tests.found
    own = [n for n, suspect in enumerate(found.suspects) if suspect.share == element]
    if not own:
        return (element,)
    likeliest = max(own, key=lambda n: found.probability[n])
    keys = same_as(found, job, circuit).get(found.suspects[likeliest].key, ())
    alike = {found.suspects[found.index_of[key]].share for key in keys} - {HEALTHY, SEVERAL, element}
    points = {one.id: set(one.points) - {REFERENCE, found.circuit.supply_point} for one in found.circuit.elements}
    group = [element]
    for one in group:
        group += [other for other in points if other in alike and other not in group and points[one] & points[other]]
    return tuple(group) if len(group) <= _MOST_TOGETHER else (element,)


# --- a proposal in words --------------------------------------------------------------------------------------------


def _proposal(job: Job, circuit: Circuit, tests: NextTest, one: Proposed, loss) -> Proposal:
    candidate = one.candidate
    now = float((loss @ tests.belief).min()) if len(loss) else 0.0
    after = float(tests.loss_after(loss)[one.number]) if len(loss) else 0.0
    healthy, faulty = _shown_words(tests, one.number)
    takes_off = _takes_off_words(circuit, tests, one)
    value = tests.outcomes.value[one.number, 0]
    is_number = candidate.kind in ("voltage", "current", "resistance")
    return Proposal(
        candidate.key, candidate.kind, _place(circuit, candidate), _title(circuit, candidate),
        _why(tests, one, takes_off), one.minutes, healthy, faulty, _reach_words(tests, candidate),
        _cautions(job, circuit, tests, candidate), takes_off, one.bits, _money(job, max(now - after, 0.0)),
        _step(candidate), float(value) if is_number and abs(value) < 1e300 else None,
        candidate.probe.unit if is_number else "")


def _place(circuit: Circuit, candidate: Candidate) -> Place:
    if candidate.elements:
        watching = (candidate.probe.red, candidate.probe.black) if candidate.kind == "movement" else None
        return Place(circuit.id, candidate.setup, element=candidate.elements[0], others=candidate.elements[1:],
                     watching=watching)
    if candidate.kind == "current":
        return Place(circuit.id, candidate.setup, element=candidate.probe.through)
    if candidate.kind == "lamp":
        return Place(circuit.id, candidate.setup, point=candidate.probe.probe, black=candidate.probe.clip)
    return Place(circuit.id, candidate.setup, point=candidate.probe.red, black=candidate.probe.black)


def _step(candidate: Candidate) -> dict[str, object]:
    """Return the step without its result, as the job file writes it."""
    probe = candidate.probe
    if candidate.kind == "look":
        return {"kind": "look", "elements": list(candidate.elements)}
    if candidate.kind == "swap":
        return {"kind": "swap", "element": candidate.elements[0]}
    step: dict[str, object] = {"kind": candidate.kind, "setup": candidate.setup}
    if candidate.kind == "movement":
        from workshop_log.diagnosis.candidates import TRIALS

        return step | {"elements": list(candidate.elements), "trials": TRIALS,
                       "watching": {"kind": "voltage", "red": probe.red, "black": probe.black}}
    if candidate.kind == "current":
        return step | {"through": probe.through}
    if candidate.kind == "lamp":
        return step | {"clip": probe.clip, "probe": probe.probe}
    return step | {"red": probe.red, "black": probe.black}


def _title(circuit: Circuit, candidate: Candidate) -> str:
    probe = candidate.probe
    where = _setup_words(circuit, candidate.setup)
    if candidate.kind == "look":
        return f"Look at {_elements_words(circuit, candidate.elements)}"
    if candidate.kind == "swap":
        return f"Put a known good part in the place of {element_name(circuit, candidate.elements[0])}"
    if candidate.kind == "movement":
        watched = _element_between(circuit, probe.red, probe.black) or f"{probe.red} to {probe.black}"
        return f"Move {_elements_words(circuit, candidate.elements)} and watch the voltage across {watched}{where}"
    if candidate.kind == "current":
        return f"Current through {element_name(circuit, probe.through)}{where}"
    if candidate.kind == "lamp":
        clip, tip = labels.point_words(probe.clip), labels.point_words(probe.probe)
        return f"Test lamp from {clip} to {tip}{where}"
    word = "Voltage" if candidate.kind == "voltage" else "Resistance"
    across = _element_between(circuit, probe.red, probe.black)
    points = f"{labels.point_words(probe.red)} to {labels.point_words(probe.black)}"
    return f"{word} across {across}, {points}{where}" if across else f"{word}, {points}{where}"


def _elements_words(circuit: Circuit, elements: tuple[str, ...]) -> str:
    """Return one element by its name, the pins of a plug as the plug."""
    if len(elements) == 1:
        return element_name(circuit, elements[0])
    plug = next((one.connector for one in circuit.elements if one.id == elements[0]), "")
    return f"plug {plug} with its pins {', '.join(elements[:-1])} and {elements[-1]}"


def _setup_words(circuit: Circuit, setup: str) -> str:
    title = next((one.title or one.id for one in circuit.setups if one.id == setup), setup)
    # A name such as F7 stays as it is.
    is_word = (title.split() or [""])[0][1:].islower()
    return f", {title[0].lower() + title[1:] if is_word else title}"


def _element_between(circuit: Circuit, red: str, black: str) -> str:
    if "B-" in (red, black):
        return ""
    return next((one.id for one in circuit.elements if one.between and set(one.between) == {red, black}), "")


def _takes_off_words(circuit: Circuit, tests: NextTest, one: Proposed) -> str:
    if not one.opens:
        return ""
    minutes = labels.minutes_words(tests.access_minutes(one.number))
    names = " and ".join(element_name(circuit, element) for element in one.opens)
    return f"{minutes} to get at {names}"


def _named(shares: list[tuple[str, float]]) -> str:
    """Return some parts in words, the likeliest first: "F7, W1 and 2 more"."""
    names = {HEALTHY: "nothing wrong", SEVERAL: "two faults at once"}
    ids = [names.get(share, share) for share, _ in sorted(shares, key=lambda one: -one[1])]
    if len(ids) > _MOST_NAMED + 1:
        return f"{', '.join(ids[:_MOST_NAMED])} and {len(ids) - _MOST_NAMED} more"
    return ids[0] if len(ids) == 1 else f"{', '.join(ids[:-1])} and {ids[-1]}"


def _groups(tests: NextTest, number: int) -> list[list[tuple[str, float]]]:
    """Return the parts that a test does not tell from one another, group by group, the likeliest group first.

    Of a fault that comes and goes, what counts is what the test shows while it is there.
    """
    from workshop_log.electrics.numeric import np

    there = tests.of.there[:, None]
    table = tests.outcomes.table[number]
    shown = np.maximum((table - (1 - there) * table[:1]) / there, 0.0)
    weight = np.zeros((len(tests.shares), len(tests.of)))
    weight[tests.part, np.arange(len(tests.of))] = tests.of.probability
    given = weight @ shown / np.maximum(tests.belief, 1e-300)[:, None]
    groups: list[tuple[object, list[tuple[str, float]]]] = []
    for part in np.argsort(-tests.belief, kind="stable").tolist():
        probability = float(tests.belief[part])
        if probability < _WORTH_NAMING:
            continue
        one = (tests.shares[part], probability)
        alike = next((group for first, group in groups if np.minimum(first, given[part]).sum() >= _ALIKE), None)
        if alike is None:
            groups.append((given[part], [one]))
        else:
            alike.append(one)
    return sorted((group for _, group in groups), key=lambda group: -sum(probability for _, probability in group))


def _why(tests: NextTest, one: Proposed, takes_off: str) -> str:
    """Return in one sentence why a test is proposed, and what it takes."""
    candidate = one.candidate
    effort = f"{labels.minutes_words(one.minutes)}, {takes_off or 'nothing to take off'}"
    if candidate.kind in ("look", "swap", "movement"):
        shares = tests.found.shares()
        share = sum(shares.get(element, 0.0) for element in candidate.elements)
        what = {"look": "Goes straight to", "swap": "Settles", "movement": "Provokes the fault at"}[candidate.kind]
        have = "has" if len(candidate.elements) == 1 else "have"
        return (f"{what} {' and '.join(candidate.elements)}, which {have} {percent_words(share)} of what is left; "
                f"{effort}.")
    groups = _groups(tests, one.number)
    if not groups:
        return f"Makes surer what is left; {effort}."
    if len(groups) == 1:
        what = f"Makes {_named(groups[0])} surer" if len(groups[0]) == 1 else f"May narrow down {_named(groups[0])}"
        return f"{what}; {effort}."
    single = next((group for group in groups if len(group) == 1 and group[0][0] not in (HEALTHY, SEVERAL)), None)
    if len(groups) == 2 and single is not None and len(groups[0]) + len(groups[1]) > 2:
        return f"Shows whether it is {_named(single)} ({_sum_words(single)}); {effort}."
    told = [f"{_named(group)} ({_sum_words(group)})" for group in groups[:_MOST_GROUPS]]
    rest = [part for group in groups[_MOST_GROUPS:] for part in group]
    if rest:
        told.append(f"the rest ({_sum_words(rest)})")
    return f"Tells {' from '.join(told)}; {effort}."


def _sum_words(shares: list[tuple[str, float]]) -> str:
    return percent_words(sum(probability for _, probability in shares))


_LOOKS = ((0.15, "dark"), (0.7, "dim"))


def _shown_words(tests: NextTest, number: int) -> tuple[str, str]:
    """Return what a test would show in a healthy circuit, and with the likeliest faults."""
    candidate = tests.outcomes.candidates[number]
    if candidate.kind == "look":
        return "no damage", f"damage if it is {' or '.join(candidate.elements)}"
    if candidate.kind == "swap":
        return "no change", f"cured if it is {candidate.elements[0]}"
    if candidate.kind == "movement":
        return "nothing happens", f"the fault shows if it is {' or '.join(candidate.elements)}"
    values = tests.outcomes.value[number]
    healthy = _value_words(candidate, [float(values[0])], tests)
    told: dict[str, list[tuple[str, float]]] = {}
    for share in _likeliest(tests):
        mine = [n for n in range(len(values)) if tests.shares[tests.part[n]] == share]
        words = _value_words(candidate, [float(values[n]) for n in mine], tests)
        told.setdefault(words, []).append((share, float(tests.belief[tests.shares.index(share)])))
    others = [f"{words} if it is {_named(shares).replace(' and ', ' or ')}"
              for words, shares in told.items() if words != healthy]
    return healthy, "; ".join(others[:_MOST_NAMED])


def _likeliest(tests: NextTest) -> list[str]:
    order = sorted(zip(tests.belief.tolist(), tests.shares, strict=True), key=lambda one: (-one[0], one[1]))
    return [share for probability, share in order if probability >= _WORTH_NAMING and share not in (HEALTHY, SEVERAL)]


def _value_words(candidate: Candidate, values: list[float], tests: NextTest) -> str:
    """Return values as a meter or a lamp shows them; several far apart as "0 V to 3.1 V"."""
    import math

    if candidate.kind == "lamp":
        seen = {next((look for limit, look in _LOOKS if value < limit), "lit") for value in values}
        return " or ".join(look for look in ("dark", "dim", "lit") if look in seen)
    if all(math.isnan(value) for value in values):
        return "anything"
    kept = [value for value in values if not math.isnan(value)]
    low, high = min(kept), max(kept)
    unit = candidate.probe.unit
    if math.isinf(low):
        return "OL"
    if math.isinf(high):
        return f"{_shown(low, unit)} to OL"
    scale = {"V": tests.found.singles.cells.supply_v, "A": max(abs(high), 1.0), "ohm": max(abs(high), 1.0)}[unit]
    if high - low <= _APART_SHARE * scale:
        return _shown((low + high) / 2, unit)
    return f"{_shown(low, unit)} to {_shown(high, unit)}"


_SMALL = {"V": 0.005, "A": 0.005, "ohm": 0.05}


def _shown(value: float, unit: str) -> str:
    if abs(value) < _SMALL[unit]:
        return f"0 {'Ω' if unit == 'ohm' else unit}"
    return show(value, unit, digits=_SHOWN_DIGITS)


def _reach_words(tests: NextTest, candidate: Candidate) -> str:
    """Return what a clear result could have seen of the suspects that stand."""
    from workshop_log.diagnosis.seen import reach_of_clear
    from workshop_log.electrics.probes import Lamp, Voltage, expected_range
    from workshop_log.electrics.reach import Band, reach_words

    if candidate.probe is None or candidate.kind == "movement":
        return ""
    cells = tests.found.singles.cells
    if isinstance(candidate.probe, Lamp):
        share, _ = cells.lamp_share(candidate.setup, candidate.probe)
        look = candidate.probe.filament.look(float(share[0]) * candidate.probe.rated_v)
        if look == "dim":
            return ""
        band = Band.of_look(candidate.probe, look)
        low, high = band.low, band.high
    else:
        healthy = expected_range(cells.circuit, candidate.setup, candidate.probe)
        if healthy is None:
            return ""
        low, high, look = healthy.low, healthy.high, ""
    standing = {tests.found.suspects[n].faults[0] for n in range(1, len(tests.found.suspects))
                if len(tests.found.suspects[n].faults) == 1 and tests.found.probability[n] >= _WORTH_NAMING}
    probe = Voltage(candidate.probe.probe, candidate.probe.clip) if look else candidate.probe
    if look:
        # The voltage across the lamp itself, laid in.
        return reach_words([one for one in _lamp_reach(cells, candidate, low, high) if one.fault in standing],
                           candidate.probe, look)
    found = reach_of_clear(cells, candidate.setup, probe, Band(low, high))
    return reach_words([one for one in found if one.fault in standing], candidate.probe)


def _lamp_reach(cells, candidate: Candidate, low: float | None, high: float | None):
    from workshop_log.diagnosis.seen import reach_of_cells
    from workshop_log.electrics.numeric import np

    share, _ = cells.lamp_share(candidate.setup, candidate.probe)
    volts = np.abs(share) * candidate.probe.rated_v
    seen = np.zeros(len(volts), dtype=bool)
    if low is not None:
        seen |= volts < low
    if high is not None:
        seen |= volts > high
    return [reach_of_cells(cells, fault, seen[cells.cells_of(fault)]) for fault in range(1, len(cells.faults))]


def _cautions(job: Job, circuit: Circuit, tests: NextTest, candidate: Candidate) -> tuple[str, ...]:
    """Return what has to be said before a test: what it could push, and what can hurt there."""
    from workshop_log.electrics.pushed_current import cautions_for
    from workshop_log.jobs.cautions import cautions_for_step

    words = []
    step = _as_record(circuit, candidate)
    if step is not None:
        words += [f"{caution.title}: {caution.words}" for caution in cautions_for_step(step, job)]
    if candidate.kind == "lamp":
        standing = tuple({tests.found.suspects[n].faults[0] for n in range(1, len(tests.found.suspects))
                          if len(tests.found.suspects[n].faults) == 1
                          and tests.found.probability[n] >= _CAUTION_SUSPECTS})
        found = cautions_for(computed_circuit(circuit), candidate.setup, candidate.probe,
                             tuple(sorted(standing, key=lambda fault: fault.words())))
        words += [caution.words for caution in found]
    return tuple(dict.fromkeys(words))


def _as_record(circuit: Circuit, candidate: Candidate):
    """Return a test as a step with a blank result, to look up what can hurt there."""
    common = {"id": "s", "circuit": circuit.id, "setup": "" if candidate.setup == AS_FOUND else candidate.setup}
    probe = candidate.probe
    match candidate.kind:
        case "voltage":
            return records.VoltageStep(**common, red=probe.red, black=probe.black, reading="0 V")
        case "current":
            return records.CurrentStep(**common, through=probe.through, reading="0 A")
        case "resistance":
            return records.ResistanceStep(**common, red=probe.red, black=probe.black, reading="0 ohm")
        case "lamp":
            return records.LampStep(**common, clip=probe.clip, probe=probe.probe, result="dark")
        case "look":
            return records.LookStep(**common, elements=candidate.elements, result="nothing")
        case "swap":
            return records.SwapStep(**common, element=candidate.elements[0], cured=False)
        case "movement":
            return records.MovementStep(**common, elements=candidate.elements)
    return None


def _to_repeat(circuit: Circuit, tests: NextTest) -> list[Proposal]:
    """Return the tests that ought to be made again because they do not go with the others."""
    from workshop_log.diagnosis.standing import contradictions

    proposals = []
    for doubt in contradictions(tests.found):
        evidence = next(one for one in tests.found.evidence if one.step == doubt.repeat)
        candidate = _candidate_of(evidence)
        if candidate is None:
            continue
        minutes = tests.access.base_minutes(tests.found.circuit, candidate)
        others = " and ".join(doubt.against)
        reason = f"cannot be right together with {others}" if others else "does not go with the other steps"
        proposals.append(Proposal(
            f"again {candidate.key}", candidate.kind, _place(circuit, candidate),
            f"Again: {_title(circuit, candidate)}",
            f"Step {doubt.repeat} {reason}; {labels.minutes_words(minutes)} to make it again.", minutes,
            step=_step(candidate)))
    return proposals


def _candidate_of(evidence) -> Candidate | None:
    from workshop_log.diagnosis.candidates import Candidate

    probe = getattr(evidence, "probe", None)
    if probe is None or not hasattr(evidence, "setup"):
        return None
    kind = {"Voltage": "voltage", "Current": "current", "Resistance": "resistance", "Lamp": "lamp"}
    return Candidate(kind[type(probe).__name__], evidence.setup, probe)


# --- a decision in words --------------------------------------------------------------------------------------------


def _decision_words(job: Job, circuit: Circuit | None, decision: Decision) -> str:
    currency = job.workshop.currency
    others = [element_name(circuit, one) for one in decision.together[1:]] if circuit else []
    what = f"{decision.name} together with {' and '.join(others)}" if others else decision.name
    words = f"That it is {what} is {percent_words(decision.probability_right)} sure."
    if others:
        words += " No measurement tells them apart: they are replaced together."
    if not decision.is_cost_known:
        return f"{words} Without a labour rate and a price nobody can say what being wrong would cost."
    words += (f" Condemning now would cost {money.show_money(decision.expected_loss, currency)} on average for being "
              "wrong.")
    if decision.going_on is None:
        return words
    cost = money.show_money(decision.going_on, currency)
    if decision.better_first is None:
        return f"{words} The best test first would cost {cost}: condemning now is not dearer."
    words += f" Going on first ({_in_sentence(decision.better_first)}) would cost {cost}, the test included: less."
    look = decision.look_first
    if look is not None and look.key != decision.better_first.key:
        words += (f" Even opening up and looking ({_in_sentence(look)}, {labels.minutes_words(look.minutes)}) would "
                  f"cost {money.show_money(decision.looking, currency)}, the look included.")
    return words


def _in_sentence(proposal: Proposal) -> str:
    return f"{proposal.title[0].lower()}{proposal.title[1:]}"
