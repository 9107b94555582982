"""What is still possible: suspects, what a test could have seen, the next test, what being wrong would cost.

Pure: values in, values out; the same evidence gives the same answer in whatever order it was entered. What belongs
here: everything that follows from a circuit and what was found out about it. What does not: what a circuit shows
(`electrics`), how a job's steps become evidence and how results are said in words (`jobs`).

evidence       what was found out: each test with its result
suspects       possible causes and how often each is met, before any test
cells          the grid of all faults in all sizes, and what each reading makes of each cell
likelihood     how well all readings together fit each cell
telling        what lamps, looks, movements and swaps say, as tables
pairs          which two faults together may explain what no single one does
inference      how likely each suspect is after all the evidence
standing       standing, cleared by which steps, or proved; contradictions
seen           what a step could have seen of a suspect
telling_apart  which suspects no measurement tells from one another
candidates     which tests could be made, and what each takes
outcomes       what each would show with each suspect, as tables
planning       which test brings the end nearest, from tables alone
next_test      the two together; what deciding now would cost
worth          what it is worth to know more before deciding
trials         how many clean trials it takes
outdated       how a computation ends that nobody waits for any more
"""
