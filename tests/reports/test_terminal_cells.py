"""Cells of a terminal and where text folds, against rich and by their definition."""

import unicodedata
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.cells import cell_len

from stopgap.reports.cells import Word, cell_width, clusters, fold, line_width, words

reliably = settings(derandomize=True, deadline=None, max_examples=150)

# every character of these that Python's Unicode has
BLOCKS = {
    "Latin, Greek, Cyrillic": (0x20, 0x530),
    "Hebrew": (0x590, 0x600),
    "Latin, Greek extended": (0x1E00, 0x2000),
    "arrows and operators": (0x2190, 0x2300),
    "box drawing": (0x2500, 0x25A0),
    "Hangul jamo": (0x1100, 0x1200),
    "CJK punctuation to katakana": (0x3000, 0x302E),
    "kana": (0x3041, 0x3100),
    "CJK unified": (0x4E00, 0xA000),
    "Hangul syllables": (0xAC00, 0xD7A4),
    "CJK compatibility": (0xF900, 0xFB00),
    "half and full width": (0xFF01, 0xFFA0),
    "faces": (0x1F600, 0x1F650),
    "skin tones": (0x1F3FB, 0x1F400),
    "CJK extension B": (0x20000, 0x2A6E0),
}
NOT_SHOWN = ("Cc", "Cf", "Cn")


@pytest.mark.parametrize("block", BLOCKS)
def test_cells_of_every_character(block):
    # rich 15.0.0: rich.cells.cell_len, whose tables are those of Unicode 17
    characters = [
        character
        for character in map(chr, range(*BLOCKS[block]))
        if unicodedata.category(character) not in NOT_SHOWN
    ]
    assert len(characters) >= 5
    assert [cell_width(one) for one in characters] == [cell_len(one) for one in characters]


@pytest.mark.parametrize(
    ("text", "cells"),
    [
        ("e\u0301e\u0301", 2),
        ("❤\ufe0f", 2),
        ("❤", 1),
        ("1\ufe0f\u20e3", 2),
        ("a\ufe0f", 1),
        ("👩\u200d🎨", 2),
        ("👍🏽", 2),
        ("🇫🇷", 2),
        ("ب\u200dب", 2),
        ("각", 2),
        ("\u0301", 0),
        ("", 0),
    ],
)
def test_cells_of_sequences(text, cells):
    """Each as Unicode Standard Annex 29 and Technical Standard 51 have it drawn; from memory."""
    assert cell_width(text) == cells


ALPHABET = " \u00a0\u3000ab1-,é海👩❤\u0301\ufe0f\u200d🎨🏽각"
texts = st.text(ALPHABET, max_size=40) | st.text(max_size=20)


def as_text(line):
    return "".join(text for text, _ in line)


@reliably
@given(texts)
def test_clusters_are_the_text(text):
    assert "".join(cluster for cluster, _ in clusters(text)) == text
    assert all(0 <= cells <= 2 for _, cells in clusters(text))


@reliably
@given(texts, st.integers(2, 30))
def test_no_folded_line_is_wider_than_the_page(text, width):
    assert all(line_width(line) <= width for line in fold(words(text), width))


@reliably
@given(texts, st.integers(2, 30))
def test_folding_loses_nothing_and_keeps_the_order(text, width):
    folded = "".join(map(as_text, fold(words(text), width)))
    assert without_spaces(folded) == without_spaces(text)


def without_spaces(text):
    """The text and its no-break spaces."""
    stay = ("\u00a0", "\u2007", "\u202f")
    return "".join(one for one in text if one in stay or unicodedata.category(one) != "Zs")


@reliably
@given(st.lists(st.text("abcé海", min_size=1, max_size=4), max_size=20), st.integers(8, 30))
def test_lines_hold_whole_words_as_many_as_fit(said, width):
    lines = [as_text(line) for line in fold(words(" ".join(said)), width)]
    assert " ".join(lines) == " ".join(said)
    for line, following in pairwise(lines):
        assert cell_width(f"{line} {following.split()[0]}") > width


@pytest.mark.parametrize(
    ("text", "width", "lines"),
    [
        ("", 5, [""]),
        ("one two", 5, ["one", "two"]),
        ("a Brindlewick b", 5, ["a", "Brind", "lewic", "k b"]),
        ("a\u00a0b c", 3, ["a\u00a0b", "c"]),
        ("a\u2007b\u202fc", 3, ["a\u2007b", "\u202fc"]),
        ("a\u2003b\u2009c", 3, ["a\u2003b", "c"]),
        ("海の 青", 4, ["海の", "青"]),
        ("海の青い", 5, ["海の", "青い"]),
        ("海", 1, ["海"]),
        ("e\u0301" * 3, 2, ["e\u0301" * 2, "e\u0301"]),
        ("  set in", 5, ["  set", "  in"]),
        ("a  b", 4, ["a  b"]),
        ("👩\u200d🎨👩\u200d🎨", 3, ["👩\u200d🎨", "👩\u200d🎨"]),
    ],
)
def test_folds(text, width, lines):
    assert [as_text(line) for line in fold(words(text), width)] == lines


def test_styles_follow_their_text():
    said = [Word((("   ", "48;5;1"), ("AB", "")), ("", "")), Word((("9.9", "2"),), (" ", ""))]
    assert fold(said, 5) == [[("   ", "48;5;1"), ("AB", "")], [("9.9", "2")]]
    assert fold(said, 9) == [[("   ", "48;5;1"), ("AB", ""), (" ", ""), ("9.9", "2")]]
