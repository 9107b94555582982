"""Pages are understood as they are written, and a paper of them has these pages alone."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from delivery.papers import paper, words_of
from hypothesis import given
from hypothesis import strategies as st

from workshop_log.delivery.page_choice import (
    PageChoiceError,
    chosen,
    excerpt,
    facts_of,
    ranges_of,
    read_ranges,
    save_pages,
    written,
)
from workshop_log.whole_file import WriteError

RANGES = st.lists(st.tuples(st.integers(1, 60), st.integers(0, 20)).map(lambda pair: (pair[0], sum(pair))),
                  max_size=6).map(tuple)


@pytest.mark.parametrize(("words", "ranges"), [
    ("", ()), (" , ", ()), ("3", ((3, 3),)), ("1-3,5", ((1, 3), (5, 5))), (" 1 - 3 , 5 ", ((1, 3), (5, 5))),
    ("7,2-2", ((7, 7), (2, 2)))])
def test_ranges_are_read_as_people_write_them(words: str, ranges: tuple):
    """With spaces or without, in any order; a range may be one page."""
    assert read_ranges(words) == ranges


@pytest.mark.parametrize("words", ["0", "3-1", "-2", "2-", "one", "1.5", "1-2-3", "1;2", "²", "1234567"])
def test_what_names_no_pages_is_refused_with_its_words(words: str):
    """No page 0, no range that runs backwards, nothing that is no number."""
    with pytest.raises(PageChoiceError, match="names no pages"):
        read_ranges(f"1,{words}")


@given(RANGES)
def test_what_is_written_is_read_again(ranges: tuple):
    """Writing and reading are each other's opposite."""
    assert read_ranges(written(ranges)) == ranges


@given(RANGES, st.integers(1, 50), st.sampled_from(["all", "odd", "even"]))
def test_chosen_pages_are_those_in_the_ranges(ranges: tuple, count: int, sides: str):
    """Each page of the paper that lies in a range and on a wanted side, once and in order; and no other."""
    wanted = [page for page in range(1, count + 1)
              if (not ranges or any(page in range(first, last + 1) for first, last in ranges))
              and (sides == "all" or page % 2 == (sides == "odd"))]
    if wanted:
        pages = chosen(ranges, count, sides)
        assert list(pages) == wanted
        assert chosen(ranges_of(pages), count) == pages
    else:
        with pytest.raises(PageChoiceError, match="Nothing to print"):
            chosen(ranges, count, sides)


@given(st.sets(st.integers(1, 40)))
def test_ranges_hold_their_pages_and_are_the_fewest(pages: set):
    """Between two ranges a page is missing."""
    ranges = ranges_of(pages)
    assert [page for first, last in ranges for page in range(first, last + 1)] == sorted(pages)
    assert all(before[1] + 1 < after[0] for before, after in zip(ranges, ranges[1:], strict=False))


def test_a_page_that_is_not_there_is_told_with_those_that_are():
    """So that the person knows what to write."""
    with pytest.raises(PageChoiceError, match=r"the paper has pages 1 to 5, and none of them was chosen by 8-9"):
        chosen(((8, 9),), 5)
    with pytest.raises(PageChoiceError, match="the paper has one page, and none with an even number"):
        chosen((), 1, "even")


def test_an_excerpt_has_the_chosen_pages_in_their_order():
    """And nothing of the others, nor of what belongs to the whole."""
    whole = paper(5)
    part = excerpt(whole, (4, 2))
    assert words_of(part) == ["Page number 4", "Page number 2"]
    assert (_page_objects(whole), _page_objects(part)) == (5, 2)
    assert part == excerpt(whole, (4, 2))


def _page_objects(pdf: bytes) -> int:
    import pikepdf

    with pikepdf.open(io.BytesIO(pdf)) as opened:
        return sum(isinstance(item, pikepdf.Dictionary) and item.get("/Type") == pikepdf.Name.Page
                   for item in opened.objects)


def test_all_pages_are_the_very_paper():
    """Byte for byte: a fingerprint that was written down still holds."""
    whole = paper(3)
    assert excerpt(whole, (1, 2, 3)) is whole


def test_facts_of_a_paper():
    """Its pages, and the size of the first."""
    facts = facts_of(paper(2))
    assert (facts.pages, round(facts.width_pt), round(facts.height_pt)) == (2, 595, 842)
    with pytest.raises(PageChoiceError, match="no PDF"):
        facts_of(b"%PDF-1.4 torn")
    import pikepdf

    held = io.BytesIO()
    pikepdf.new().save(held)
    with pytest.raises(PageChoiceError, match="no PDF with pages"):
        facts_of(held.getvalue())


def test_a_saved_paper_replaces_an_older_one(tmp_path: Path):
    """It is there whole, and nothing else is."""
    path = tmp_path / "paper.pdf"
    path.write_bytes(b"old")
    assert save_pages(paper(3), (2,), path) == path
    assert words_of(path.read_bytes()) == ["Page number 2"]
    assert list(tmp_path.iterdir()) == [path]


def test_a_place_that_cannot_be_written_is_told_and_nothing_is_left(tmp_path: Path):
    """The older file stays as it was."""
    with pytest.raises(WriteError, match="gone/paper.pdf cannot be written: No such file or directory"):
        save_pages(paper(1), (1,), tmp_path / "gone" / "paper.pdf")
    (tmp_path / "folder.pdf").mkdir()
    with pytest.raises(WriteError, match="cannot be written"):
        save_pages(paper(1), (1,), tmp_path / "folder.pdf")
    assert [path.name for path in tmp_path.iterdir()] == ["folder.pdf"]
