"""Handing a finished report over: to a printer, to a file, by email.

health   whether book, fonts, printers and mail are there and work
"""
