"""Tables on paper: what is too long for a cell."""

from __future__ import annotations

import pytest

from workshop_log.paper.tables import CELL_LIMIT, CellTexts, shortened


@pytest.mark.parametrize(("text", "limit", "kept"), [
    ("any resistance in series", 40, "any resistance in series"),
    ("any resistance in series above 11 mΩ", 22, "any resistance in …"),
    ("a wire behind", 1, "a …"),
    # One word that is cut all the same, because nearly nothing would be left without it.
    ("at Kettlewickshire-on-the-Water", 20, "at Kettlewickshire-o …")])
def test_long_words_are_cut_between_words(text: str, limit: int, kept: str) -> None:
    """Half a word is worse than none."""
    assert shortened(text, limit) == kept


def test_text_cut_in_a_cell_stands_whole_below_the_table() -> None:
    """Nothing is lost, and the cell says where the rest is."""
    text = " ".join(["resistance"] * 60)
    texts = CellTexts()
    cell = texts.fit(text, "More about test 3")
    words, _, rest = cell.partition(" … ")
    assert set(words.split()) == {"resistance"}
    assert rest == "(whole text below)"
    assert len(cell) <= CELL_LIMIT
    assert texts.kept == [("More about test 3", text)]
