"""What a person does with a job: take it in, test, decide, clock, charge, hand it back.

What belongs here: one public function for one thing that a person does. It takes the book, does everything in one
transaction, sets what the job now waits for in the same transaction, and returns the job as it then stands. What is
worked out from a job alone (verdicts, totals, what it waits for, cautions) is here too, pure: a job in, values out.
What does not: how a reading is judged (measuring), how a job is stored (book) or written to a file (exchange), how
anything looks (paper, desktop). Nothing heavy is imported before it is needed.

Pure, from one job:

evaluation    the verdict on each reading, and words for every other test step
circuit_ranges  what a step on a circuit should show when the circuit is healthy
circuit_table  what every point of a circuit shows, healthy and with a fault
circuit_editing  insert, split, branch, rename, remove; setups; names that are free; evidence keeps its place
circuit_fields  what can be typed of an element, and what is assumed where nothing is
suspicion     what is still possible, as values: suspects, the bar, proposals, decisions
evidence_of   a job's steps as evidence about a circuit; what is thought before any test; what it takes to get at things
suspecting    suspects from circuits and steps: how likely, cleared by what, how that moved, what if
proposing     the next test and the figures of a decision, in words and in money
suspicion_words  the same as lines for a terminal
suspicion_json  the same for programs
case          what speaks for condemning a part, what is unproved, what being wrong would cost
figures       how likely a part is the cause, what cleared the others, what is still possible
reported      all that a report says of suspects, worked out in one place
weighing      the figures of a case worked out, and whether they still hold; suspects that may be worth a case
supposing     a proposed test made, or only supposed: what it may show, and the step that this would be
percent       a probability as people read it
before_after  the same tests before and after the repair; how many clean trials are enough
comparison    a colleague's answer against the job, as values
comparing     the same worked out: steps, parts, notes, figures
comparing_descriptions  the same for what is edited freely: circuits, suspects by hand, access, complaints
money         net, tax, gross; what was approved and what would go beyond it
estimating    the ways to go on, the cheapest first, and the cheaper step before them
removed       parts that were taken out and are kept for their owner
waiting       what a job waits for, and since when
cautions      what can hurt on this job; steps that are refused
labels        the trade's words for steps, setups and times
entry_line    one line typed at the vehicle, understood as a test step
fields        what is typed into a field, as the field's own type
starters      usual circuits to begin with
ids           short ids that people see and that stay

In the book, one function for each thing done:

change        one transaction on one job; what it waits for is worked out again inside it
intake        a new job; fields of customer, vehicle and complaint
testing       test steps, corrections, instruments
completing    the end of every way in which a step is typed
places        a point or element of a circuit that was pressed, and what is typed for it
photos        pictures: turned upright, stripped of positions, made small
hand_suspects  suspects written by hand, what steps say of them, and what is still possible
access        what cannot be reached, is off already or not available
learning      how long each kind of test takes here, how often a condemned part was the cause
deciding      parts considered, condemned, let off, repaired
clock         time lines: one running for each person
approving     options of the estimate; what the customer agreed to
parts         ordered, arrived, fitted, returned
handing       the report, the hand-back, the bill
outgoing      messages into the outbox and out of it; a report that has left enters the record
transfer      job files in and out
asking        a question for a colleague, and the answer that goes back
opinions      a colleague's answer: recognised, laid beside the job, read, a note of it copied
"""
