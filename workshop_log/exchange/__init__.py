"""The job file: how one job enters and leaves the program, and what else is read in its words.

Belongs here: the values of a job, their JSON, what makes them false, their fingerprints, the copies that may leave
the workshop, and what a vehicle's number and a fault code say by their structure. Does not belong here: where jobs
are kept (`book`), what a person does with them (`jobs`), how they are printed (`paper`).

records       the values of one job, exactly as the file spells them
reading       bytes to a job; everything that can be wrong with a file, in one sentence with its place
explaining    the decoder's errors in words that a technician can act on
checking      what makes a record false although each value is well formed
circuit_check the same for circuits: which keys belong to which kind of element, points and setups that exist
writing       a job to bytes: the pretty file, and the canonical JSON on which fingerprints rest
seal          the chain of fingerprints over the evidence: made, verified, shown short
anonymous     a copy without people, plate and positions
opinion       the question to a colleague, without money and what is internal besides; the answer that comes back
prices        amounts of money in a job and in what people typed
free_text     the sentences that people wrote, and a job without some of them
taken_out     what a copy for a colleague no longer says, counted and named
pictures      photos without positions and whatever else cameras write into them
quantity_check  whether a text is the quantity that belongs in its place
shown         a copy with only what a report shows
schema        the JSON Schema of the job file
circuits      circuits and setups for `electrics`, with what was assumed marked
values        instruments, readings and expected ranges for `measuring`
vin           what a vehicle identification number says, and what is wrong with it
fault_codes   what a fault code says by its structure
stationery    how a workshop's papers look and its mail goes out: settings, in no job file
letter        what is written to whom, before it is an email
attached      what is attached to a message
"""
