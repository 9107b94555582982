"""The rules of thumb."""

from __future__ import annotations

import pytest

from workshop_log.measuring.ranges import RangeError
from workshop_log.measuring.rules import COMMON_PRACTICE, Rule, rule, rules


def test_every_rule_is_a_limit_that_says_it_has_no_source():
    """No rule of thumb can be mistaken for a standard."""
    assert len(rules()) > 15
    for found in rules():
        assert found.source == COMMON_PRACTICE
        assert found.expected_range().source.endswith(COMMON_PRACTICE)
        assert found.what in found.expected_range().source


def test_ids_are_unique():
    """The book finds its own copy of a rule by its id."""
    assert len({found.id for found in rules()}) == len(rules())


@pytest.mark.parametrize(("id", "words"), [
    ("drop-wire", "at most 0.2 V"), ("quiescent-current", "at most 50 mA"), ("charging-12", "13.5 to 14.8 V"),
    ("cranking-voltage", "at least 9.6 V"), ("relay-coil", "60 to 120 Ω"),
])
def test_rule_gives_its_range(id, words):
    """Limits come in the unit and prefix of the trade."""
    assert rule(id).expected_range().words().replace("\u00a0", " ") == words


def test_workshops_own_rule_is_the_same_kind_of_record():
    """A changed limit is a changed record; one that cannot be is refused at once."""
    own = Rule("drop-wire", "voltage drop across a wire", None, 150, "mV", source="this workshop")
    assert own.expected_range().high == 0.15
    with pytest.raises(RangeError):
        Rule("x", "nothing", None, None, "V")
    with pytest.raises(KeyError):
        rule("no-such-rule")
