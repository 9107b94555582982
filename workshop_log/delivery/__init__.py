"""Handing a finished report over: to a printer, to a file, by email."""
