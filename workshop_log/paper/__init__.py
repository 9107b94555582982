"""The report: from values to the pages of a PDF that a workshop hands over.

What belongs here: what the report says, how it looks, and the file that it is. What does not: how readings are judged
or money is added up (`measuring`, `jobs`), where jobs are kept (`book`), how a finished report leaves (`delivery`).
Nothing here queries, asks the clock or knows the window. ReportLab, pikepdf and Pillow are imported when a report is
made, never before; `glyph_geometry` and the circuit's drawing need none of them, because the window draws the same.

report           the report: `make_report(ReportInput) -> bytes`
papers           estimate, invoice summary, intake receipt, labels: `make_paper(kind, PaperInput) -> bytes`
composing        from any paper's contents to its bytes
report_input     what a report is made from
paper_input      what any other paper is made from

What it says:

sentences        facts of a job as sentences that could be read aloud
wording          the report's own words, from `resources/wording.toml`
letterhead       the head of every paper
first_page       title, vehicle, complaint
answers          the five answers of the first page
reasons          the tests that tell most, and their marks, for the first page
case_section     each condemned part: what speaks for it, how sure it was, what else it could be
proof_section    the same tests before and after the repair; the clean trials
narrowing        which bars show best how the tests narrowed it down
narrowing_section  the paragraph and the bars for the customer
narrowing_bars   the bars as figures
tests_section    every test step with its mark, expected range and verdict
circuit_section  the circuits, with the numbers of the tests where they were made
circuit_words    a circuit in words, for those who hear it
photos_section   photos with captions, before and after beside each other
pictures         pictures made ready for print
money_section    time, parts, total
record_sections  not tested, cautions, remarks, approvals, instruments
seal_section     the fingerprint, for the eye and for a telephone
estimate_paper   the cheaper step first, the ways to go on, what is asked of the customer
ways_table       the ways beside each other, and below each other to be signed
invoice_paper    what was done, line by line, what was agreed
receipt_paper    the complaint as the customer said it, what is agreed, what happens next
label_paper      labels for removed parts, each text cut to its place
signing          head, terms and places to sign of these papers
suspects_annex   every suspect, the method and its basis, for the expert

How it looks:

glyph_geometry   the range glyph as pure geometry, shared with the window
circuit_layout   where everything of a circuit lies on the page, shared with the window
circuit_graph    every element the way current takes, without circles
circuit_rows     how far down the page each point lies
circuit_columns  which column each strand of elements stands in, and the order of the columns
circuit_positions  how switches and relays stand in a setup
circuit_text     what is written beside the symbols, and how wide it is
circuit_symbols  the symbols after IEC 60617, in a unit box
circuit_shapes   the shapes that a drawing consists of
circuit_drawing  a laid-out circuit as shapes: live, dead and floating; marks and currents
drawings         the glyph and rules on paper
qr               a text as a QR code
styles, fonts    sizes, colours, faces
look             the workshop's own colours, logo and terms
text             the one place where paragraphs are made: what a person typed is never markup
tables, sections tables and headings that break well over pages
pages            sheet, margins, footer, bookmarks

The file:

tagging          the structure for screen readers, collected while drawing
table_tags       the tables in it
finishing        structure, attached job file, metadata, fixed dates
"""
