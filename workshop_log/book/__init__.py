"""The book: where everything is kept, on this machine (SQLite) or shared by several bays (PostgreSQL).

What belongs here: the tables and how they change from release to release, reading and writing whole jobs and their
parts, search, the list, settings, backup. Every function takes an open session and hands over plain records. What
does not: when a transaction begins and what a change means (jobs), the words of the file (exchange). Nothing above
knows SQLAlchemy, and nothing here but `opening` makes a connection.

opening     open_book: the book behind a path or URL, its transactions
place       which book a text means, and where a machine keeps its own
errors      what can go wrong with a book, each in one sentence with its remedy
faults      the databases' own errors in those words
entities    the tables
columns     times, money and lists as text in a column
rows        records to rows and back
schema      which version of the tables a book has; bringing it up to date
migrations  one step for each version of the tables
jobs        a job whole and its fields; new evidence
loading     a job out of its rows, in few statements
chain       evidence as links of the chain of fingerprints
numbers     the numbers of jobs
masters     customers and vehicles remembered from job to job
known       what the book knows about a customer or vehicle, for the desk
experience  what the newest jobs say about the workshop: times of its steps, what became of parts
listing     the list of jobs; light, for the first picture of the window
search      jobs by words, as you type
search_text what of a job can be searched
settings    the workshop's own settings, limits, instruments and people
opinions    the mark that leads an answer back to its job, and the answers laid beside jobs
drafts      what was typed and is no entry yet
outbox      messages on their way out, and who may send them
files       photos and other files by their fingerprint
changes     what other bays changed, as it happens
backup      one file with everything, and back
sqlite_file what a file needs to be a safe book: settings, disks, network shares
"""

from __future__ import annotations
