"""What is said about a VIN."""

from __future__ import annotations

import pytest

from workshop_log.exchange.vin import check_character, check_vin

GOOD = "1G4AH59H45G118341"


@pytest.mark.parametrize("typed", [GOOD.lower(), " 1G4 AH59H 45 G118341 ", "1G4AH59H4-5G118341", GOOD])
def test_spaces_dashes_and_small_letters_do_not_matter(typed):
    """People copy it from papers in groups."""
    check = check_vin(typed)
    assert (check.vin, check.findings, check.check_digit) == (GOOD, (), "right")
    assert check.is_well_formed


@pytest.mark.parametrize(("vin", "sentence"), [
    ("1G4AH59H45G11834O", "A VIN never has the letters I, O or Q; position 17 is O: is it a zero?"),
    ("IG4AH59H45G118341", "A VIN never has the letters I, O or Q; position 1 is I: is it a one?"),
    ("1G4AH59H45G1183/1", "A VIN has only letters and digits; position 16 is “/”."),
    ("1G4AH59H45G1183Ä1", "A VIN has only letters and digits; position 16 is “Ä”."),
    ("1G4AH59H45G11834", "A VIN has 17 characters; this has 16: 1 missing."),
    ("1G4AH59H45G1183411", "A VIN has 17 characters; this has 18: 1 too many."),
])
def test_what_is_wrong_is_said_with_its_place(vin, sentence):
    """So that one looks at one character again, not at seventeen."""
    check = check_vin(vin)
    assert check.findings == (sentence,)
    assert (check.check_digit, check.model_years) == ("not used", ())


def test_a_short_vin_with_a_wrong_letter_has_two_findings():
    """Both are said at once."""
    assert len(check_vin("1G4AH59H45G1183O").findings) == 2


def test_a_wrong_check_digit_binds_in_north_america_only():
    """The same slip in a European number cannot be told from a number without check digit."""
    wrong = check_vin("1G4AH59H55G118341")
    assert wrong.check_digit == "wrong"
    assert "position 9 is 5 but the rest asks for 4" in wrong.findings[0]
    assert "one character was mistyped" in wrong.findings[0]
    foreign = check_vin("WG4AH59H55G118341")
    assert (foreign.check_digit, foreign.findings) == ("not used", ())


def test_a_check_digit_that_agrees_elsewhere_is_right():
    """Some makers outside North America use it, too."""
    vin = "WG4AH59H05G118341"
    vin = vin[:8] + check_character(vin) + vin[9:]
    assert check_vin(vin).check_digit == "right"


@pytest.mark.parametrize(("vin", "years"), [
    ("1G4AH59H45G118341", (2005, 2035)),   # position 7 a digit, North America: both cycles stand
    ("1G4AH5AH05G118341", (2035,)),        # position 7 a letter: 2010 or later
    ("WG4AH5AH05G118341", (2005, 2035)),   # the letter means nothing elsewhere
    ("WG4AH59H0AG118341", (1980, 2010)),
    ("WG4AH59H0YG118341", (2000, 2030)),
    ("WG4AH59H09G118341", (2009, 2039)),
    ("WG4AH59H00G118341", ()),             # no code: 0, U and Z are not used
    ("WG4AH59H0UG118341", ()),
])
def test_model_years(vin, years):
    """Thirty-year cycles; in North America a letter in position 7 tells the second one."""
    assert check_vin(vin).model_years == years


def test_a_check_digit_needs_a_whole_vin():
    """A caller's mistake is an exception."""
    with pytest.raises(ValueError, match="17 characters"):
        check_character("1G4")


def test_a_very_long_text_gives_few_findings():
    """A page pasted into the field must not become a page of sentences."""
    assert len(check_vin("?" * 100_000).findings) <= 35
