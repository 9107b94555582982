"""Photos on paper: before and after beside each other, three in a row when there are many, within their share."""

from __future__ import annotations

import hashlib
import io
import random

import pypdf
from msgspec.structs import replace
from paper.conftest import ISSUED
from PIL import Image

from workshop_log.exchange import records
from workshop_log.jobs.evaluation import evaluate
from workshop_log.paper.pictures import print_picture
from workshop_log.paper.report import make_report
from workshop_log.paper.report_input import report_input

# A mail server takes this, and no customer waits for it.
LARGEST_REPORT = 5_000_000


def noise(seed: int, width: int = 1600, height: int = 1200) -> bytes:
    """Return a picture that no compression makes small: the worst that a camera can bring."""
    image = Image.frombytes("RGB", (width // 4, height // 4), random.Random(seed).randbytes(width * height * 3 // 16))
    file = io.BytesIO()
    image.resize((width, height), Image.Resampling.BILINEAR).save(file, "JPEG", quality=85)
    return file.getvalue()


def job_with(pictures: list[bytes], steps: tuple[records.Step, ...] = (), of: tuple[str | None, ...] = ()) -> tuple:
    """Return a job with these pictures, of these steps, and their bytes by fingerprint."""
    by_sha = {hashlib.sha256(data).hexdigest(): data for data in pictures}
    photos = tuple(records.Photo(id=f"f{n}", caption=f"Caption {n}.", sha256=sha, step=of[n] if n < len(of) else None)
                   for n, sha in enumerate(by_sha))
    return records.Job(number="2031-0009", steps=steps, photos=photos), by_sha


def drawn(job: records.Job, by_sha: dict[str, bytes], paper: str = "A4") -> bytes:
    """Return the report of the job."""
    return make_report(report_input(job, evaluate(job), by_sha, reader="customer", issued=ISSUED, paper=paper))


def places(pdf: bytes) -> dict[str, tuple[int, float, float]]:
    """Return the page and the place of every piece of text, as far right and up as it begins."""
    found = {}
    for number, page in enumerate(pypdf.PdfReader(io.BytesIO(pdf)).pages):
        def note(text: str, cm: list, tm: list, _font: object, _size: float, number: int = number) -> None:
            if text.strip():
                found.setdefault(text.strip(), (number, round(tm[4] + cm[4]), round(tm[5] + cm[5])))

        page.extract_text(visitor_text=note)
    return found


def test_same_test_before_and_after_stands_side_by_side() -> None:
    """Whatever lies between them in the job; each says which it is, and leads to its test."""
    look = records.LookStep(id="s1", elements=("J1",), result="damage")
    again = replace(look, id="s3", result="nothing", after_repair=True, repeats="s1")
    other = records.VoltageStep(id="s2", red="B+", reading="12.4 V")
    job, by_sha = job_with([noise(n, 400, 300) for n in range(3)], (look, other, again), ("s1", "s2", "s3"))
    pdf = drawn(job, by_sha)
    at = places(pdf)
    before = next(place for text, place in at.items() if text.startswith("Before the repair."))
    after = next(place for text, place in at.items() if text.startswith("After the repair."))
    assert before[0] == after[0]
    assert before[2] == after[2]
    assert before[1] < after[1]
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)
    assert "Before the repair. Test 1. Caption 0." in " ".join(text.split())
    assert "After the repair. Test 3. Caption 2." in " ".join(text.split())


def test_photos_of_tests_that_were_not_made_again_stand_alone() -> None:
    """No photo is called before or after without its counterpart."""
    look = records.LookStep(id="s1", elements=("J1",), result="damage")
    again = replace(look, id="s3", result="nothing", after_repair=True, repeats="s1")
    job, by_sha = job_with([noise(1, 400, 300)], (look, again), ("s1",))
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(drawn(job, by_sha))).pages)
    assert "Caption 0." in text
    assert "Before the repair." not in text


def test_sixty_different_photos_and_two_hundred_readings_stay_under_five_megabytes() -> None:
    """Pictures that cannot be compressed, as fine as their share allows, all in order and three in a row."""
    steps = tuple(records.VoltageStep(id=f"s{n}", red=f"point {n}", reading="12.40 V",
                                      expected=records.Expected(low="12 V", high="13 V")) for n in range(1, 201))
    job, by_sha = job_with([noise(n) for n in range(60)], steps)
    for paper in ("A4", "Letter"):
        pdf = drawn(job, by_sha, paper)
        assert len(pdf) < LARGEST_REPORT
        at = places(pdf)
        rows = [at[f"Caption {n}."] for n in range(60)]
        assert rows == sorted(rows, key=lambda place: (place[0], -place[2], place[1]))
        assert rows[0][2] == rows[1][2] == rows[2][2]
        images = [image.image for page in pypdf.PdfReader(io.BytesIO(pdf)).pages for image in page.images]
        assert len(images) == 60
        # Still fine enough to be told what it is: more than a hundred dots per inch.
        assert min(image.width for image in images) > 160 / 72 * 100


def test_few_photos_are_printed_at_full_resolution() -> None:
    """A share that is not used up costs nothing: 200 dots per inch in the box."""
    data = noise(5)
    full = print_picture(data, 240, 235, 3_800_000)
    assert Image.open(io.BytesIO(full)).width == round(240 / 72 * 200)
    small = print_picture(data, 240, 235, 30_000)
    assert len(small) < len(full) / 2
