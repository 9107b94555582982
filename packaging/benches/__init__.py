"""What bench.py measures: one module for each subject, and the windows as programs of their own.

timing      clocks: two things in turn, so that a busy moment hits both
window      start and memory of the window against a bare Qt window
bare_window a process that shows an empty window and says when it was painted
full_window a process that shows the program's window and says when its list was painted, and what came after
watch       when a widget has been painted
memory      what a process takes of the machine's memory
big         the book that start, opening and searching are measured in
recording   what the program asks of the database, to ask the same without it
opening     opening a job against the same statements without the program
searching   searching as one types, and the list
paper       a report of ten pages against ReportLab with the same boxes and text
reading     judging a reading, reading an entry line
circuits    all faults of a circuit at once, against solving each anew and against a circuit simulator
proof       faults that the circuit simulator answers for, looked for by proposals and in other ways
proof_speed how long the diagnosis thinks, against solving anew each prediction that it needs
"""
