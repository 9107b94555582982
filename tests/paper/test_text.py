"""Text on paper: one door for paragraphs, and every sentence of the wording used."""

from __future__ import annotations

import ast
import re
import tomllib
from pathlib import Path

import pytest

from workshop_log import resources
from workshop_log.paper import fonts
from workshop_log.paper.wording import lower_first, say, sentence

SECTIONS = set(tomllib.loads(resources.path("wording.toml").read_text(encoding="utf-8")))
PAPER = Path(__file__).resolve().parents[2] / "workshop_log" / "paper"


def test_only_one_function_makes_paragraphs():
    """No module but `tagging` names ReportLab's paragraph, and only `text` calls what makes one."""
    for path in sorted(PAPER.glob("*.py")):
        names = {node.id for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, ast.Name)}
        imported = {alias.name for node in ast.walk(ast.parse(path.read_text()))
                    if isinstance(node, ast.ImportFrom) for alias in node.names}
        if path.name not in ("tagging.py", "text.py"):
            assert not {"Paragraph", "XPreformatted", "tagged_paragraph"} & (names | imported), path.name
    text = ast.parse((PAPER / "text.py").read_text())
    makers = [f.name for f in ast.walk(text) if isinstance(f, ast.FunctionDef)
              and any(isinstance(n, ast.Name) and n.id == "tagged_paragraph" for n in ast.walk(f))]
    assert makers == ["para"]


def test_reportlab_is_not_loaded_by_what_the_window_needs():
    """Neither the package nor the glyph's geometry imports anything heavy at module level."""
    heavy = {"reportlab", "pikepdf", "PIL", "pypdf"}
    for path in sorted(PAPER.glob("*.py")):
        for node in ast.parse(path.read_text()).body:
            roots = ([alias.name.split(".")[0] for alias in node.names] if isinstance(node, ast.Import)
                     else [(node.module or "").split(".")[0]] if isinstance(node, ast.ImportFrom) else [])
            assert not heavy & set(roots), path.name


def _keys(table: dict, start: str = ""):
    for name, value in table.items():
        yield from _keys(value, f"{start}{name}.") if isinstance(value, dict) else [start + name]


def test_every_sentence_is_used_and_every_used_one_exists():
    """The wording has neither dead sentences nor holes."""
    keys = set(_keys(tomllib.loads(resources.path("wording.toml").read_text(encoding="utf-8"))))
    source = "\n".join(path.read_text() for path in PAPER.glob("*.py"))
    quoted = re.findall(r"""["']([a-z_]+(?:\.[a-z_]+)+)["']""", source)
    whole = {key for key in quoted if key.split(".")[0] in SECTIONS}
    assert whole - keys == set()
    # A key whose end is a fact, f"found.{decision}", uses what begins like it.
    begun = tuple(re.findall(r'say\(\s*f"([a-z_.]+)\{', source))
    assert {key for key in keys - whole if not key.startswith(begun)} == set()


def test_facts_are_never_read_as_a_template():
    """A person may type braces; they are printed and not filled in."""
    assert say("letterhead.for", names="{boom} {0} %s") == "For {boom} {0} %s"


def test_trade_signs_are_in_the_text_face():
    """The signs of the trade come from the text face itself, in every weight."""
    for name in (fonts.REGULAR, fonts.BOLD, fonts.ITALIC):
        assert [c for c in "µΩ°±≤≥−→²³×·–“”" if ord(c) not in fonts._characters(name)] == []
    assert fonts.font_of("✓") == fonts.FALLBACK


def test_all_weights_have_the_same_characters():
    """The text face is asked once for all its weights."""
    assert fonts._characters(fonts.REGULAR) == fonts._characters(fonts.BOLD) == fonts._characters(fonts.ITALIC)


@pytest.mark.parametrize(("typed", "kept"), [
    ("a\tb\r\nc\rd", "a    b\nc\nd"), ("a\x00b\x85c\u200bd\u202ee", "abcde"), ("e\u0301", "é"), ("\ufe0f✓", "✓")])
def test_plain_text_has_no_controls(typed, kept):
    """Controls and marks that only steer are left out, line ends are kept."""
    assert fonts.plain(typed) == kept


@pytest.mark.parametrize(("text", "shown"), [
    ("loses 1.31 V now", "loses 1.31\u00a0V now"), ("95 % of", "95\u00a0% of"), ("10 minutes", "10 minutes"),
    ("2 Vans", "2 Vans"), ("35 mm² strap", "35\u00a0mm² strap"), ("5 kΩ", "5\u00a0kΩ"),
    ("half of 70 Ah at 0.4 N", "half of 70\u00a0Ah at 0.4\u00a0N"), ("2 North Yard", "2 North Yard")])
def test_number_and_unit_stay_together(text, shown):
    """A line never ends between a number and its unit; a number before another word may."""
    assert fonts.unbroken(text) == shown


def test_sentences_are_ended_once():
    """A full stop is added where none is, and capitals of abbreviations stay."""
    assert sentence("It works") == "It works."
    assert sentence("Does it?") == "Does it?"
    assert sentence("  ") == ""
    assert lower_first("The strap") == "the strap"
    assert lower_first("ABS lamp lit") == "ABS lamp lit"
