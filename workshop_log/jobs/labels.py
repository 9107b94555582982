"""The trade's words for a test step, its setup and its times: the same on screen, in the terminal and on paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.exchange import records

if TYPE_CHECKING:
    from workshop_log.exchange.records import Circuit, Job, Step

AS_FOUND = "as found"

DECISIONS = {
    "considered": "considered",
    "replace": "to be replaced",
    "repair": "to be repaired",
    "let off": "let off",
}
STEP_KINDS = {
    records.VoltageStep: "Voltage",
    records.CurrentStep: "Current",
    records.ResistanceStep: "Resistance",
    records.LampStep: "Test lamp",
    records.LookStep: "Look",
    records.MovementStep: "Movement test",
    records.ObserveStep: "Observation",
    records.SwapStep: "Substitution",
    records.ValueStep: "Value",
}


def step_kind(step: Step) -> str:
    """Return the kind of a test step in one or two words: "Voltage", "Movement test"."""
    return STEP_KINDS[type(step)]


def point_words(point: str) -> str:
    """Return a point's name as it is printed: battery negative with a true minus sign."""
    return "B−" if point == "B-" else point


def _circuit_of(step: Step, job: Job | None) -> Circuit | None:
    if job is None or step.circuit is None:
        return None
    return next((circuit for circuit in job.circuits if circuit.id == step.circuit), None)


def element_words(name: str, circuit: Circuit | None = None) -> str:
    """Return an element's title where its circuit gives one, else its name as typed."""
    for element in circuit.elements if circuit else ():
        if element.id == name and element.title:
            return element.title
    return name


def _list_words(names: tuple[str, ...], circuit: Circuit | None) -> str:
    words = [element_words(name, circuit) for name in names]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}" if words else "nothing named"


def _place_words(step: Step | records.WatchVoltage | records.WatchLamp, circuit: Circuit | None) -> str:
    """Return where a voltage, current, resistance or lamp is taken: "starter ground strap to B−"."""
    match step:
        case records.VoltageStep() | records.WatchVoltage() | records.ResistanceStep() | records.WatchResistance():
            return f"{point_words(step.red)} to {point_words(step.black)}"
        case records.CurrentStep() | records.WatchCurrent():
            return element_words(step.through, circuit)
        case _:
            return f"clip on {point_words(step.clip)}, probe on {point_words(step.probe)}"


def watching_words(step: records.MovementStep, circuit: Circuit | None = None) -> str:
    """Return what was watched during a movement test: "watching the voltage, C3.2b to B−"; blank if not said."""
    match step.watching:
        case None:
            return ""
        case records.WatchVoltage():
            kind = "the voltage"
        case records.WatchCurrent():
            kind = "the current through"
        case records.WatchResistance():
            kind = "the resistance"
        case records.WatchLamp():
            kind = "a test lamp"
    comma = "" if isinstance(step.watching, records.WatchCurrent) else ","
    return f"watching {kind}{comma} {_place_words(step.watching, circuit)}"


def step_title(step: Step, job: Job | None = None) -> str:
    """Return what was done in a step, without its result: "Voltage: starter ground strap to B−"."""
    circuit = _circuit_of(step, job)
    match step:
        case records.VoltageStep() | records.ResistanceStep() | records.LampStep():
            return f"{step_kind(step)}: {_place_words(step, circuit)}"
        case records.CurrentStep():
            return f"Current through {_place_words(step, circuit)}"
        case records.LookStep():
            return f"Look: {_list_words(step.elements, circuit)}"
        case records.MovementStep():
            watching = watching_words(step, circuit)
            moved = f"Movement test: {_list_words(step.elements, circuit)}"
            return f"{moved}, {watching}" if watching else moved
        case records.ObserveStep():
            return f"Observation: {element_words(step.element, circuit)}"
        case records.SwapStep():
            return f"Substitution: a known good part for {element_words(step.element, circuit)}"
        case records.ValueStep():
            what = step.what[:1].upper() + step.what[1:]
            return f"{what}: {step.where}" if step.where else what


def step_result(step: Step) -> str:
    """Return what a step showed, in words; a reading as it was typed."""
    match step:
        case records.LampStep():
            return step.result
        case records.LookStep():
            if step.result == "nothing" and step.strength == "fair":
                return "no damage found"
            return f"{'damage' if step.result == 'damage' else 'no damage'} found ({step.strength})"
        case records.MovementStep():
            movements = "movement" if step.trials == 1 else "movements"
            return f"fault shown in {step.shown} of {step.trials} {movements}"
        case records.ObserveStep():
            return "works" if step.works else "does not work"
        case records.SwapStep():
            return "fault gone with the known good part" if step.cured else "fault still there with the known good part"
        case _:
            return step.reading


def setup_words(step: Step, job: Job | None = None) -> str:
    """Return the condition under which a step was made: a setup's title, the words typed, or "as found"."""
    circuit = _circuit_of(step, job)
    for setup in circuit.setups if circuit else ():
        if setup.id == step.setup:
            return setup.title or setup.id
    return step.setup or AS_FOUND


def minutes_words(minutes: float) -> str:
    """Return a time in hours and minutes, rounded to the minute: "2 h 05 min", "45 min"."""
    whole = int(minutes + 0.5)
    hours, rest = divmod(whole, 60)
    return f"{hours} h {rest:02d} min" if hours else f"{rest} min"


def vehicle_words(vehicle: records.Vehicle) -> str:
    """Return what a vehicle is called in a list: make, model and year, as far as they are known."""
    year = str(vehicle.year) if vehicle.year else ""
    return " ".join(word for word in (vehicle.make, vehicle.model, year) if word)
