"""Suspicions and proposals made by hand, for the widgets that show them."""

from __future__ import annotations

from workshop_log.jobs.places import Place
from workshop_log.jobs.suspicion import HEALTHY, SEVERAL, CircuitSuspicion, Moment, Proposal, Share, SuspectLine

W1 = "W1 (feed to the pump)"
C32 = "C3.2 (pin at the pump)"
F7 = "F7 (pump fuse)"
G1 = "G1 (ground point)"


def line(element: str, fault: str, probability: float, **more: object) -> SuspectLine:
    """Return a suspect of an element."""
    appears = str(more.pop("appears", "always"))
    return SuspectLine(f"{element}: {fault}, {appears}", element, fault, appears, f"{element}: {fault}", probability,
                       more.pop("standing", "standing"), share=element, **more)


# Two elements that nothing tells apart, a small one, one that is healthy, and two that were cleared.
SUSPICION = CircuitSuspicion(
    "pump", "Fuel pump", 0.15,
    suspects=(
        line("W1", "open", 0.3, size="", same_as=("C3.2: open, always",)),
        line("W1", "high resistance", 0.2, size="0.20 Ω to 1.4 Ω", appears="comes and goes"),
        line("W1", "short to ground", 0.0, standing="cleared", cleared_by=("s4",),
             reach="s4: any path to ground below 19 Ω at W1"),
        line("C3.2", "open", 0.3, same_as=("W1: open, always",)),
        line("PUMP", "dead", 0.04),
        line("S1", "stuck open", 0.005), line("S2", "stuck open", 0.003),
        line("F7", "open", 0.0, standing="cleared", cleared_by=("s2",), reach="s2: an open at F7"),
        line("G1", "open", 0.0, standing="cleared", cleared_by=("s4", "s9"), reach="s9: an open at G1"),
    ),
    shares=(
        Share("W1", W1, 0.5), Share("C3.2", C32, 0.3), Share(HEALTHY, "nothing wrong in this circuit", 0.15),
        Share("PUMP", "PUMP (fuel pump)", 0.04), Share("S1", "S1", 0.005), Share("S2", "S2", 0.003),
        Share(SEVERAL, "two faults at once", 0.002), Share("F7", F7, 0.0, "cleared", ("s2",)),
        Share("G1", G1, 0.0, "cleared", ("s4", "s9")),
    ),
    summary="Most likely it is W1.", assumptions=("All fuses count the same.",), n_steps=3)

VOLTAGE = Proposal(
    "voltage c B- running", "voltage", Place("pump", "running", point="c"), "Voltage, c to B−, pump running",
    "Splits what is left in half; 3 min, nothing to take off.", 3.0, "12.4 V",
    "0 V if it is W1; 0 V to 11.1 V if it is C3.2", "would have shown an open at W1, C3.2",
    ("Fuel: Fuel and its vapour burn. No sparks.",), "",
    step={"kind": "voltage", "setup": "running", "red": "c", "black": "B-"}, healthy_value=12.4, unit="V")
LOOK = Proposal(
    "look W1", "look", Place("pump", element="W1"), "Look at W1 (feed to the pump)",
    "Goes straight to W1, which has 50 % of what is left; 10 min, 5 min to get at W1.", 15.0, "no damage",
    "damage if it is W1", takes_off="5 min to get at W1", step={"kind": "look", "elements": ["W1"]})
SWAP = Proposal(
    "swap PUMP", "swap", Place("pump", element="PUMP"), "Put a known good part in the place of PUMP (fuel pump)",
    "Settles PUMP, which has 4 % of what is left; 30 min, nothing to take off.", 30.0, "no change",
    "cured if it is PUMP", step={"kind": "swap", "element": "PUMP"})
PROPOSALS = (VOLTAGE, LOOK, SWAP)

MOMENTS = tuple(Moment(step, title, tuple(Share(key, name, probability) for (key, name), probability in zip(
    (("W1", W1), ("C3.2", C32), ("F7", F7)), shares, strict=True))) for step, title, shares in (
        ("", "before the first test", (0.3, 0.3, 0.4)), ("s2", "Voltage: a to B−: 12.4 V", (0.45, 0.5, 0.05)),
        ("s4", "Voltage: b to B−: 12.3 V", (0.6, 0.4, 0.0)), ("s9", "Look: C3.2: nothing", (0.9, 0.1, 0.0))))
