"""The seal at the report's end: its fingerprint for the eye and for a telephone, and what is attached."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.exchange.seal import grouped, short
from workshop_log.paper import sentences
from workshop_log.paper.fonts import plain
from workshop_log.paper.qr import qr_code, qr_size
from workshop_log.paper.sections import heading
from workshop_log.paper.tables import ruled_table, side_by_side
from workshop_log.paper.text import Strong, para
from workshop_log.paper.wording import date_words, say

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

    from workshop_log.exchange.records import SealEntry
    from workshop_log.paper.report_input import ReportInput

# Between the code and the words beside it, and the heading above both, which stays with them. [pt]
_GAP, _HEADING = 12.0, 30.0


def last_fingerprint(content: ReportInput) -> str:
    """Return the fingerprint that seals the whole job; blank without a seal."""
    seal = content.job.seal
    return seal.entries[-1].fingerprint if seal and seal.entries else ""


def qr_text(content: ReportInput) -> str:
    """Return what a telephone shows: which report this is, and the whole fingerprint.

    Plain text and no address: it says the same in a shed without a network and when no server of today is left, and
    whoever reads it is sent nowhere. The groups are those on the paper, to be compared or read aloud, and
    `read_fingerprint` takes the text as it is.
    """
    issued = f"{date_words(content.issued)}, {content.issued:%H:%M}"
    number = " ".join(plain(content.job.number).split())
    said = [say("seal.code.what"), say("seal.code.job", number=number) if number else "",
            say("seal.code.issued", when=issued), say("seal.code.fingerprint", seal=grouped(last_fingerprint(content)))]
    return "\n".join(line for line in said if line).replace("\u00a0", " ")


def seal(content: ReportInput, attached: str, unprintable: tuple[str, ...], width: float) -> list[Flowable]:
    """Return the seal, what is attached, and what could not be printed."""
    inside = para(say("seal.attached", name=attached), style="faint")
    if last_fingerprint(content):
        made = _code_and_words(content, inside, width)
    else:
        made = [*heading("seal.heading"), para(say("seal.none")), inside]
    if unprintable:
        # May be as long as it likes, so it stands below the row, which has to stay on one page.
        made.append(para(say("seal.missing_characters", characters=", ".join(unprintable)), style="faint"))
    if last_fingerprint(content) and content.reader == "expert":
        made.append(_chain(content.job.seal.entries, width))
    return made


def _code_and_words(content: ReportInput, inside: Flowable, width: float) -> list[Flowable]:
    from reportlab.platypus import Spacer

    last, said = last_fingerprint(content), qr_text(content)
    side = qr_size(said)
    code = qr_code(said, say("seal.code.alternative", words=said.replace("\n", ", ")))
    words = [para(say("seal.words")), para(Strong(short(last)), style="fingerprint"),
             para(say("seal.in_full", seal=grouped(last)), style="faint"), inside]
    row = side_by_side([[words, code]], [width - side, side], [("RIGHTPADDING", (0, 0), (0, 0), _GAP)])
    return [*heading("seal.heading", space=side + _HEADING), row, Spacer(0, 4)]


def _chain(entries: tuple[SealEntry, ...], width: float) -> Flowable:
    """Return every link with its whole fingerprint, for whoever wants to compute them again."""
    rows = [[para(str(index), style="cell faint"), para(_entry_words(entry), style="cell"),
             para(grouped(entry.fingerprint), style="cell faint")] for index, entry in enumerate(entries, start=1)]
    return ruled_table([say("seal.link"), say("seal.kind"), say("seal.short")], rows,
                       [width * 0.08, width * 0.24, width * 0.68])


def _entry_words(entry: SealEntry) -> str:
    """Return what an entry of the chain is, in the words of the report: "test 3"."""
    kind = say("seal.test") if entry.kind == "step" else entry.kind
    return kind if entry.id == kind else f"{kind} {sentences.number_of(entry.id)}"
