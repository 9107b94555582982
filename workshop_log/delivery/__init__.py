"""Handing a finished report over: to a printer, to a file, by email; and checking one that comes back.

page_choice     which pages of a paper are wanted, and a paper of those alone
cups            the printing system, asked through its own programs
printing        a paper handed to the printing system, followed, and taken out again
addresses       email addresses as they are typed, checked
messages        from a letter and its attachments to the bytes that travel
covering        the letter that is proposed, in plain words
smtp            one message to one server, inside TLS, and what became of it
outcomes        what can become of it
smtp_words      what can go wrong on the way, in sentences
passwords       the keyring, or memory until the program ends
outbox          what is due, sent one after the other
outbox_words    a message of the outbox in plain words
own_program     a letter for the person's own mail program
health          whether book, fonts, printers and mail are there and work
verifying       whether a report, a job file or a job is what was sealed
book_checks     the same held against the book
findings        what came out of that, check by check
evidence_words  entries of the seal, and what differs in them, in words
page_text       what stands on the pages of a PDF
"""
