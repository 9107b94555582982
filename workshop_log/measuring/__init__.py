"""Quantities, instruments, uncertainty, expected ranges and the verdict on a reading.

What belongs here: everything that is true of one reading on its own. Values in, values out: no circuit, no job,
no clock, no database, no window. What does not: what a circuit should show (electrics), what a reading says
about a part (diagnosis).

units         the units a reading can have; the one pint registry, made on first use
entry         what a person types, read once and kept as typed
showing       values and readings shown as a meter shows them, and as the job file writes them
instruments   instruments with their accuracy by range, and the default ones
uncertainty   the standard uncertainty of a reading (GUM)
ranges        expected ranges with their source
verdict       inside, outside or too close to call (JCGM 106)
rules         the rules of thumb: common practice, no source
sensors       what a Pt100, an NTC and a type K thermocouple should show at a temperature
conductors    resistance of a conductor and the voltage drop along it
batteries     rested voltage and state of charge; how long a drain takes
findings      what a check found, for the person to put right
"""
