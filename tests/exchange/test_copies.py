"""The two copies that leave the workshop: the anonymous one, and the one inside the report."""

from __future__ import annotations

import hashlib
import io
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from exchange.strategies import jobs
from hypothesis import given, settings
from msgspec.structs import replace
from PIL import Image

from workshop_log.exchange import records as r
from workshop_log.exchange.anonymous import anonymous_copy
from workshop_log.exchange.checking import check_job
from workshop_log.exchange.pictures import has_position, without_metadata
from workshop_log.exchange.reading import read_job
from workshop_log.exchange.seal import seal_job, verify_seal
from workshop_log.exchange.shown import shown_job
from workshop_log.exchange.writing import write_job

NOW = datetime(2031, 4, 2, 8, 35, tzinfo=UTC)
_GPS, _ORIENTATION, _MAKE = 0x8825, 0x0112, 0x010F


def picture(kind="JPEG", orientation=6):
    """Return a photo, wider than high, red on the left, with a position, an orientation and a camera's name in it."""
    image = Image.new("RGB", (40, 20), "white")
    image.paste((255, 0, 0), (0, 0, 20, 20))
    exif = Image.Exif()
    exif[_ORIENTATION], exif[_MAKE] = orientation, "Camera of A. Sample"
    exif.get_ifd(_GPS)[1], exif.get_ifd(_GPS)[2] = "N", (51.0, 30.0, 12.0)
    buffer = io.BytesIO()
    image.save(buffer, kind, exif=exif)
    return buffer.getvalue()


PHOTO = picture()
JOB = r.Job(
    number="2031-0007",
    workshop=r.Workshop(name="Mill Lane Vehicle Electrics", address="7 Mill Lane\nSampleton", phone="01632 960123",
                        email="desk@example.org", tax_number="GB 123", labour_rate=Decimal("64.00")),
    customer=r.Customer(name="Mrs Joan Dent", phone="+44 7700 900456", email="joan@example.org",
                        address="12 Harbour Street, Sampleton"),
    vehicle=r.Vehicle(registration="XX31 ABC", vin="XXXZZZ99ZTS000001", make="Invented", model="Merle", year=2031),
    complaints=(r.Complaint(id="c1", words="Mrs Dent says XX31ABC cranks slowly since the dent in the wing."),),
    steps=(r.VoltageStep(id="s1", at=NOW, red="engine block", reading="0.48 V",
                         note="Rang 07700 900456, left word for Joan."),
           r.LookStep(id="s2", elements=("strap",), result="damage", note="seen with R. Bolt")),
    condemned=(r.Condemned(id="k1", part="ground strap", finding="The strap of vin xxxzzz99zts 000001 is corroded.",
                           steps=("s1",), price=Decimal("18.50")),),
    circuits=(r.Circuit(id="feed", elements=(r.Element(id="F1", kind="fuse", between=("F1 out", "B-")),)),),
    suspects=(r.HandSuspect(id="h1", name="what R. Bolt fitted to XX31 ABC", weight=3.0,
                            bearings=(r.Bearing(step="s1", says="supports", strength="strong"),)),),
    access=(r.Access(id="a1", circuit="feed", point="F1 out", state="already off"),
            r.Access(id="a2", circuit="feed", test="swap", element="F1", state="not available")),
    estimate=(r.EstimateOption(id="o1", title="strap"), r.EstimateOption(id="o2", title="starter as well")),
    approvals=(r.Approval(id="a1", at=NOW, by="Joan Dent", option="o1", up_to=Decimal("120.00"),
                          words="Rang from the neighbour's, 01632 960999"),
               r.Approval(id="a2", at=NOW, by="Mrs Joan Dent")),
    clock=(r.TimeLine(id="t1", person="R. Bolt", start=NOW), r.TimeLine(id="t2", person="K. Weld", start=NOW)),
    parts=(r.Part(id="p1", name="ground strap", number="ST-0199200", supplier="Sampleton Parts", price=Decimal("18.50"),
                  cost=Decimal("9.10"), fitted=NOW, condemned="k1"),
           r.Part(id="p2", name="starter", cost=Decimal("110.00"), returned=NOW)),
    photos=(r.Photo(id="f1", name="joan dent car.jpg", step="s1", caption="Mail to joan.dent@example.org",
                    data=PHOTO, sha256=hashlib.sha256(PHOTO).hexdigest()),),
    notes=(r.Note(id="n1", at=NOW, who="R. Bolt", words="12 Harbour Street, serial 000001", internal=True),
           r.Note(id="n2", at=NOW, who="Mrs Joan Dent", words="Thanked us.", internal=False)))
PERSONAL = ("Joan", "Dent", "900456", "900 456", "960999", "960123", "example.org", "Harbour", "Mill Lane", "GB 123",
            "XX31", "000001", "Bolt", "Weld")


def test_nothing_personal_is_left_in_the_anonymous_copy():
    """Neither in its own field nor in what somebody typed; what resembles a name but is none stays."""
    copy = anonymous_copy(seal_job(JOB))
    text = write_job(replace(copy, photos=())).decode()
    assert [personal for personal in PERSONAL if personal in text] == []
    assert copy.anonymous
    assert copy.seal is None
    assert copy.complaints[0].words == "Mrs [name] says [plate] cranks slowly since the dent in the wing."
    assert copy.steps[0].note == "Rang [phone], left word for [name]."
    assert copy.condemned[0].finding == "The strap of vin [VIN] is corroded."
    assert copy.photos[0].caption == "Mail to [email]"
    assert copy.photos[0].name == ""


def test_what_the_case_teaches_stays_in_the_anonymous_copy():
    """Readings, parts, prices, maker and model, and who did what under a neutral name."""
    copy = anonymous_copy(JOB)
    assert (copy.number, copy.vehicle.model, copy.vehicle.vin) == ("2031-0007", "Merle", "XXXZZZ99ZTS******")
    assert copy.steps[0].reading == "0.48 V"
    assert copy.workshop == r.Workshop(labour_rate=Decimal("64.00"))
    assert (copy.parts[0].price, copy.parts[0].number) == (Decimal("18.50"), "ST-0199200")
    assert [line.person for line in copy.clock] == ["person 1", "person 2"]
    assert [approval.by for approval in copy.approvals] == ["person 3", "the customer"]
    assert copy.notes[0].who == "person 1"
    assert copy.suspects == (replace(JOB.suspects[0], name="what [name] fitted to [plate]"),)
    assert copy.access == JOB.access


def test_a_vin_of_another_length_is_left_out_whole():
    """Nobody knows where its serial part begins."""
    copy = anonymous_copy(replace(JOB, vehicle=replace(JOB.vehicle, vin="ABC000001")))
    assert copy.vehicle.vin == ""


def test_names_of_points_and_elements_in_a_circuit_stay():
    """Steps refer to them: a customer called Coil must not break the circuit."""
    circuit = r.Circuit(id="f", elements=(r.Element(id="Coil", kind="fuse", between=("Coil", "B-")),))
    step = r.VoltageStep(id="s1", circuit="f", red="Coil", reading="1 V", note="for Coil")
    access = (r.Access(id="a1", circuit="f", point="Coil", state="already off"),
              r.Access(id="a2", circuit="f", element="Coil", state="cannot be reached"))
    job = replace(JOB, customer=r.Customer(name="Anna Coil"), circuits=(circuit,), steps=(step,), access=access,
                  condemned=(), parts=(), photos=())
    copy = anonymous_copy(job)
    assert copy.access == access
    assert (copy.steps[0].red, copy.steps[0].note) == ("Coil", "for [name]")
    assert not [finding for finding in check_job(copy) if finding.severity == "error"]


@settings(max_examples=60, deadline=None)
@given(job=jobs())
def test_an_anonymous_copy_is_a_job_file_again(job):
    """It is read like any other, and making it anonymous again changes no more."""
    copy = anonymous_copy(job)
    assert read_job(write_job(copy), "a.job.json") == copy
    assert (copy.customer, copy.vehicle.registration, copy.workshop.name) == (r.Customer(), "", "")


@pytest.mark.parametrize(("kind", "media_type"), [("JPEG", "image/jpeg"), ("PNG", "image/png"), ("WEBP", "image/webp")])
def test_a_photo_loses_its_position_and_stands_upright(kind, media_type):
    """The picture is drawn anew: what the camera wrote is gone, and the turn that it asked for is made."""
    clean = without_metadata(picture(kind), media_type)
    with Image.open(io.BytesIO(clean)) as image:
        assert (image.format, image.size, len(image.getexif())) == (kind, (20, 40), 0)
        red = image.convert("RGB").getpixel((10, 5))
        assert red[0] > 200
        assert red[1] < 60
    assert b"Exif" not in clean
    assert b"Sample" not in clean


def test_the_anonymous_copy_has_the_clean_photo_under_its_own_fingerprint():
    """Else the file would be refused: bytes and fingerprint belong together."""
    photo = anonymous_copy(JOB).photos[0]
    assert hashlib.sha256(photo.data).hexdigest() == photo.sha256
    assert b"Sample" in PHOTO
    assert b"Sample" not in photo.data


@pytest.mark.parametrize(("kind", "media_type"), [("JPEG", "image/jpeg"), ("PNG", "image/png"), ("WEBP", "image/webp")])
def test_whether_a_photo_says_where_it_was_taken_is_known(kind, media_type):
    """Before it is drawn anew, and no longer afterwards; of what cannot be read nothing is known."""
    assert has_position(picture(kind))
    assert not has_position(without_metadata(picture(kind), media_type))
    assert not has_position(b"no picture")


@pytest.mark.parametrize("data", [b"", b"\xff\xd8\xff", PHOTO[:200], b"GIF89a", picture("PNG")])
def test_a_picture_that_cannot_be_read_is_left_out(data):
    """What is in it cannot be known, so it does not leave."""
    assert without_metadata(data, "image/jpeg") is None
    copy = anonymous_copy(replace(JOB, photos=(r.Photo(id="f1", sha256="0" * 64, data=data),)))
    assert copy.photos[0].data is None


def test_a_picture_that_unfolds_to_gigabytes_is_left_out():
    """A few kilobytes that claim a hundred million points."""
    buffer = io.BytesIO()
    Image.new("1", (12_000, 12_000)).save(buffer, "PNG")
    assert without_metadata(buffer.getvalue(), "image/png") is None


def test_the_shown_copy_has_nothing_internal():
    """What a part cost, what was not fitted, what was thought aloud and how to reach the customer stay here."""
    shown = shown_job(JOB)
    assert [(part.id, part.cost, part.supplier, part.price) for part in shown.parts] == [
        ("p1", None, "", Decimal("18.50"))]
    assert [note.id for note in shown.notes] == ["n2"]
    assert [option.id for option in shown.estimate] == ["o1"]
    assert shown.customer == r.Customer(name="Mrs Joan Dent", address="12 Harbour Street, Sampleton")
    assert all(photo.data is None for photo in shown.photos)
    text = write_job(shown).decode()
    assert "9.10" not in text
    assert "110.00" not in text


@settings(max_examples=60, deadline=None)
@given(job=jobs())
def test_the_shown_copy_is_a_job_file_whose_seal_is_intact(job):
    """Whoever has the report can verify it without the book."""
    shown = shown_job(seal_job(job))
    assert verify_seal(shown).intact
    assert read_job(write_job(shown), "report") == shown
