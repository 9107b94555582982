"""Handing a finished report over: to a printer, to a file, by email.

page_choice  which pages of a paper are wanted, and a paper of those alone
cups         the printing system, asked through its own programs
printing     a paper handed to the printing system, followed, and taken out again
health       whether book, fonts, printers and mail are there and work
"""
