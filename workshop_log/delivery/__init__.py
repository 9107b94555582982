"""Handing a finished report over: to a printer, to a file, by email; and checking one that comes back.

page_choice     which pages of a paper are wanted, and a paper of those alone
cups            the printing system, asked through its own programs
printing        a paper handed to the printing system, followed, and taken out again
health          whether book, fonts, printers and mail are there and work
verifying       whether a report, a job file or a job is what was sealed
book_checks     the same held against the book
findings        what came out of that, check by check
evidence_words  entries of the seal, and what differs in them, in words
page_text       what stands on the pages of a PDF
"""
