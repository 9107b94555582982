"""The report: from values to the pages of a PDF. It queries nothing and knows neither window nor book.

Modules
-------
glyph_geometry   the range glyph as pure geometry, shared with the window
"""
