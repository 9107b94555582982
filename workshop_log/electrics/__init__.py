"""What a circuit shows at each of its points: elements, setups and their electrical behaviour.

What belongs here: everything that follows from a described circuit alone, healthy or with a fault. Values in, values
out, in SI units: no job, no clock, no database, no window. What does not: what a reading says about a part
(diagnosis), how a circuit is written in a job file (`exchange.circuits` makes the values here from it).

circuit      elements, setups, circuits as plain numbers
checking     what makes a circuit one that cannot be computed
fuses        cold resistance of a rating, how soon an overload opens it
curves       filament lamps and diodes
faults       the kinds of fault, which element may have which, how large each may be
network      a circuit in a setup as nodes and branches, with faults laid in
connections  which nodes hang together, and the way from one to another
solver       node voltages and currents: switching, lamps, floating points
ports        a fault as a change of rank one of the solved circuit
laid_in      all faults of all sizes at once: the products with the inverse, lamps and diodes
moving       relays and fuses of many cells
shown        what the probes show in many cells, and how each tolerance moves it
fault_arrays  what many faults would show on many instruments, as arrays: the way in to the four above
probes       what a meter, a clamp, an ohmmeter or a test lamp must show, and how sure that is
explaining   why, in words
reach        how far a clear test could see, in words
wires        how much current a wire is usually asked to carry
pushed_current  the largest current that a test can push, and what has to be said before it
numeric      numpy, loaded on first use
"""
