"""The window.

It holds no rule of the trade: a widget shows what `jobs` gives it and calls one `jobs`
function for what the person did. Nothing here imports SQLAlchemy, pint, ReportLab or
numpy at module level; they are loaded behind the first paint by `warm_up`.

    app            start: one window, one book, one crash log
    desk           the one object that pages talk to: the open job, its changes, undo
    main_window    the list on the left, the job on the right, wired in one block
    book_panel     the list of jobs, searched as you type
    identity_strip registration, vehicle, complaint, clock and cautions, always visible
    pages/         intake, testing, case, money, report
    money_rows     the rows of the money page: fields in a table, a part, a way to go on
    case_figures   the figures on top of a case, the better test, what cleared the others
    case_weigher   the figures of all cases, worked out beside the window
    circuit_dialog a circuit described: begun, changed in the drawing, saved
    circuit_begin  what a circuit begins with, searched
    circuit_element_panel  the chosen element or point of the drawing, with its fields
    circuit_setup_panel  what is on, pulled, unplugged, disconnected and bridged in a setup
    suspicion_panel  what is still possible and what to test next, beside the steps and the circuit
    suspicion_worker  the same worked out beside the window, dropped when it is outdated
    suspicion_bar  one part for each element, as wide as it is likely
    suspect_list   the suspects, the likeliest first, the cleared struck out
    look_back      how the bar moved, step by step
    proposal_cards  the tests that are worth making, what if, and what stands in their way
    hand_suspects_editor  suspects written by hand, where no circuit is described
    email_dialog   an email with papers attached: proposed, sent, saved or handed to the own mail program
    email_draft    what is being written, kept until it is sent
    email_fields   to whom, about what, and the text
    email_own      a message saved as a file, or opened in the person's own mail program
    email_work     what of it is done beside the window
    outbox_panel   what waits, what was sent, refused or is in doubt
    outbox_worker  sends what is due beside the window
    password_dialog  the password of the mail account, where no keyring has it
    settings_mail  how mail goes out, among the settings
    actions        every command of the window as data
    fields         labelled fields that save when the cursor leaves them
    opinion_flow   a second opinion: ask, send the answer back, lay it beside, read it
    opinion_line   the line that says that a colleague asks or answered
    opinion_ask_dialog  what a colleague would read, before it is given away
    opinion_dialog an answer beside the job
    range_glyph    a reading's mark, drawn to scale
    theme          colours, fonts, sizes, light and dark
    workers        work off the window's thread
    printing       a paper to a printer: the system's dialog, the job beside the window
    print_choice   what was chosen in that dialog
    drawn_printing  pages drawn for a printer that takes no PDF
    long_work      what takes long: its progress at the foot of the window, and a way to end it
"""
