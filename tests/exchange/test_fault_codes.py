"""What is said about a fault code."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop_log.exchange.fault_codes import FaultCodeError, read_fault_code


@pytest.mark.parametrize(("typed", "code", "words"), [
    ("P0143", "P0143", "power train, defined by the standard"),
    ("p 0143", "P0143", "power train, defined by the standard"),
    ("b1000-16", "B1000-16", "body, defined by the maker: voltage too low"),
    ("B100016", "B1000-16", "body, defined by the maker: voltage too low"),
    ("U0073-04", "U0073-04", "network, defined by the standard: general"),
    ("C0031-23", "C0031-23", "chassis, defined by the standard: general signal"),
    ("U3001-87", "U3001-87", "network, reserved by the standard: bus signal or message"),
    ("0x9000 16", "B1000-16", "body, defined by the maker: voltage too low"),
    ("B123", "B3123", "body, reserved by the standard"),
    ("P0127-00", "P0127-00", "power train, defined by the standard"),
    ("P1A2F", "P1A2F", "power train, defined by the maker"),
    ("P33FF", "P33FF", "power train, defined by the maker"),
    ("P3400", "P3400", "power train, defined by the standard"),
    ("P0001-F5", "P0001-F5", "power train, defined by the standard"),
])
def test_a_code_says_where_and_by_whom(typed, code, words):
    """Letters or bytes, with or without the failure type."""
    reading = read_fault_code(typed)
    assert (reading.code, reading.words()) == (code, words)


@pytest.mark.parametrize(("typed", "words"), [
    ("", "Type a fault code"),
    ("P4000", "the first digit is 0 to 3"),
    ("X0143", "begins with P, C, B or U"),
    ("P01", "write a letter and four characters"),
    ("P0143-1", "write a letter and four characters"),
    ("01434", "write a letter and four characters"),
    ("P014G", "write a letter and four characters"),
    ("P" * 5000, "…"),
])
def test_what_is_no_code_is_refused_in_one_sentence(typed, words):
    """With what would be one."""
    with pytest.raises(FaultCodeError) as caught:
        read_fault_code(typed)
    assert words in caught.value.reason
    assert len(caught.value.reason) < 160


@given(bits=st.integers(0, 0xFFFF))
def test_every_pair_of_bytes_has_its_own_code(bits):
    """The code leads back to its bytes: two bits, two bits, twelve bits."""
    code = read_fault_code(f"{bits:04X}").code
    assert "PCBU".index(code[0]) << 14 | int(code[1]) << 12 | int(code[2:], 16) == bits
    assert read_fault_code(code).code == code
