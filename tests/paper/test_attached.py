"""What a report carries: taken out whole, and one sentence for everything that is no report."""

from __future__ import annotations

import io
import random
import zlib

import pikepdf
import pytest
from paper.conftest import input_for

from workshop_log.errors import WorkshopLogError
from workshop_log.exchange.reading import read_job
from workshop_log.exchange.seal import verify_seal
from workshop_log.paper import attached
from workshop_log.paper.attached import Carried, NoJobFileError, carried_by, report_bytes
from workshop_log.paper.report import make_report

NAME = "2031-0007.job.json"


@pytest.fixture(scope="session")
def pdf(ground_strap, pictures) -> bytes:
    return make_report(input_for(ground_strap, pictures))


@pytest.fixture(scope="session")
def carried(pdf) -> Carried:
    return carried_by(pdf, "report.pdf")


def saved(pdf: bytes, change=lambda _: None, **options) -> bytes:
    """Return the report after `change(opened)`."""
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        change(opened)
        file = io.BytesIO()
        opened.save(file, **options)
    return file.getvalue()


def attach(name: str, data: bytes = b"{}"):
    def change(opened: pikepdf.Pdf) -> None:
        opened.attachments[name] = pikepdf.AttachedFileSpec(opened, data, filename=name)

    return change


def packed(raw: bytes, **entries):
    """Put bytes for the job file as they are, under the given keys of their stream."""
    def change(opened: pikepdf.Pdf) -> None:
        stream = opened.attachments[NAME].obj.EF.F
        stream.write(raw, filter=entries.get("filter"), decode_parms=entries.get("parms"))

    return change


def test_a_report_carries_its_job_and_its_fingerprint(pdf, ground_strap, tmp_path, carried):
    """Name, bytes, the fingerprint of the properties, the moment, the pages."""
    assert carried.name == NAME
    assert carried.fingerprint == ground_strap.seal.entries[-1].fingerprint
    assert carried.created == "D:20310403154000Z"
    assert carried.pages > 3
    path = tmp_path / "a.pdf"
    path.write_bytes(pdf)
    assert carried_by(report_bytes(path), "a.pdf") == carried
    with pytest.raises(NoJobFileError, match="b.pdf cannot be read"):
        report_bytes(tmp_path / "b.pdf")


@pytest.mark.parametrize("options", [{"compress_streams": False, "stream_decode_level": pikepdf.StreamDecodeLevel.all},
                                     {"linearize": True}, {"qdf": True}, {"min_version": "2.0"}], ids=str)
def test_saved_anew_by_another_program_it_carries_the_same(pdf, carried, options):
    """Packed otherwise, or not at all; beside a file of another kind."""
    again = carried_by(saved(pdf, attach("delivery note.txt"), **options), "report.pdf")
    assert (again.data, again.fingerprint) == (carried.data, carried.fingerprint)
    assert (carried.others, again.others) == ((), ("delivery note.txt",))


BOMB = zlib.compress(bytes(attached.MAX_ATTACHED + 5))


@pytest.mark.parametrize(("make", "said"), [
    (lambda _: b"", "is no PDF that can be read"),
    (lambda _: b"A letter.", "is no PDF that can be read"),
    (lambda pdf: pdf[:len(pdf) // 2], "is cut off"),
    (lambda pdf: pdf[:-2000], "is cut off"),
    (lambda _: b"%PDF-1.7\n" + bytes(5000) + b"%%EOF", "is damaged"),
    (lambda pdf: saved(pdf, encryption=pikepdf.Encryption(user="u", owner="o")), "is locked with a password"),
    (lambda pdf: saved(pdf, encryption=pikepdf.Encryption(user="", owner="o")), "is encrypted"),
    (lambda pdf: saved(pdf, lambda opened: opened.attachments.__delitem__(NAME)), "carries no job file"),
    (lambda pdf: saved(pdf, attach("second.job.json")), "carries 2 job files"),
    (lambda pdf: saved(pdf, packed(BOMB, filter=pikepdf.Name.FlateDecode)), "is larger than 50 MB"),
    (lambda pdf: saved(pdf, packed(zlib.compress(b"{}" * 5000)[:-20], filter=pikepdf.Name.FlateDecode)), "damaged"),
    (lambda pdf: saved(pdf, packed(b"x" * 50, filter=pikepdf.Name.FlateDecode)), "damaged"),
    (lambda pdf: saved(pdf, packed(b"7b7d>", filter=pikepdf.Name.ASCIIHexDecode),
                       stream_decode_level=pikepdf.StreamDecodeLevel.none, compress_streams=False),
     "is packed in a way"),
    (lambda pdf: saved(pdf, lambda opened: opened.attachments[NAME].obj.__setitem__("/EF", pikepdf.Dictionary())),
     "report.pdf"),
    (lambda pdf: saved(pdf, lambda opened: opened.Root.__setitem__("/Names", 7)), "carries no job file"),
], ids=["empty", "letter", "half", "end missing", "noise", "password", "encrypted", "no job file", "two", "bomb",
        "cut stream", "noise in stream", "other packing", "no file in it", "names a number"])
def test_what_is_no_report_is_told_in_one_sentence(pdf, make, said):
    """What is wrong and what to do, whatever is inside; never more memory than a job file takes."""
    with pytest.raises(NoJobFileError, match=said) as told:
        carried_by(make(pdf), "report.pdf")
    words = str(told.value)
    assert words.startswith("report.pdf")
    assert "\n" not in words
    assert words.endswith(".")


def test_a_bomb_is_small_and_stays_small():
    """What is refused as too large came in a file of a few kilobytes."""
    assert len(BOMB) < 100_000


def test_noise_anywhere_is_a_report_or_one_sentence(pdf, carried):
    """A few hundred reports, each with some bytes changed somewhere: the job inside is the same, or refused."""
    chance = random.Random(7)
    refused = 0
    for _ in range(250):
        noisy = bytearray(pdf)
        for _ in range(chance.choice((1, 3, 40))):
            noisy[chance.randrange(len(noisy))] = chance.randrange(256)
        try:
            found = carried_by(bytes(noisy), "report.pdf")
            job = read_job(found.data, found.name)
        except WorkshopLogError as error:
            assert "\n" not in str(error)
            refused += 1
        else:
            assert found.data == carried.data or not verify_seal(job).intact
    assert refused
