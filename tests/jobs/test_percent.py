"""A probability as people read it."""

from __future__ import annotations

import pytest

from workshop_log.jobs.percent import percent_sign, percent_words


@pytest.mark.parametrize(("probability", "words", "sign"), [
    (0.0, "under 1 %", "<1 %"), (0.004, "under 1 %", "<1 %"), (0.0099, "under 1 %", "<1 %"), (0.01, "1 %", "1 %"),
    (0.424, "42 %", "42 %"), (0.125, "13 %", "13 %"), (0.99, "99 %", "99 %"), (0.9951, "over 99 %", ">99 %"),
    (1.0, "over 99 %", ">99 %")])
def test_a_probability_has_no_more_digits_than_it_deserves(probability: float, words: str, sign: str):
    """Whole percents; next to nothing and next to certain are said so, never 0 % or 100 %."""
    assert percent_words(probability).replace("\N{NO-BREAK SPACE}", " ") == words
    assert percent_sign(probability).replace("\N{NO-BREAK SPACE}", " ") == sign
