"""Handing a finished report over: to a printer, to a file, by email.

health       whether book, fonts, printers and mail are there and work
addresses    email addresses as they are typed, checked
messages     from a letter and its attachments to the bytes that travel
covering     the letter that is proposed, in plain words
smtp         one message to one server, inside TLS, and what became of it
outcomes     what can become of it
smtp_words   what can go wrong on the way, in sentences
passwords    the keyring, or memory until the program ends
outbox       what is due, sent one after the other
outbox_words a message of the outbox in plain words
own_program  a letter for the person's own mail program
"""
