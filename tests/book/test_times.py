"""Moments as text in a column."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from exchange.strategies import moments
from hypothesis import given

from workshop_log.book.times import microseconds, moment_of, text_of


@given(moments())
def test_a_moment_comes_back_with_its_offset(moment):
    """Nothing of what was typed is lost: neither the instant nor the clock that it was read from."""
    back = moment_of(text_of(moment))
    assert (back, back.utcoffset()) == (moment, moment.utcoffset())


@given(moments(), moments())
def test_texts_sort_by_time_whatever_their_offsets(one, other):
    """A column of times can be sorted by the database as text."""
    if one != other:
        assert (text_of(one) < text_of(other)) == (one < other)
        assert (microseconds(one) < microseconds(other)) == (one < other)


def test_the_text_is_the_moment_in_utc_and_the_offset():
    """08:35 on a clock one hour ahead is 07:35 UTC."""
    assert text_of(datetime(2031, 4, 2, 8, 35, tzinfo=timezone(timedelta(hours=1)))) == (
        "2031-04-02T07:35:00.000000Z+01:00")
    assert moment_of("2031-04-02T07:35:00.000000Z+00:00").tzinfo is UTC


def test_an_offset_with_seconds_is_kept():
    """Offsets of the years before railways have seconds."""
    odd = datetime(2031, 1, 1, tzinfo=timezone(-timedelta(hours=1, minutes=15, seconds=7)))
    assert moment_of(text_of(odd)).utcoffset() == odd.utcoffset()


def test_a_moment_without_zone_is_refused():
    """Nobody could say later when that was."""
    with pytest.raises(ValueError, match="no time zone"):
        text_of(datetime(2031, 1, 1))
