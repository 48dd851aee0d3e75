"""Broken lines: none too long, no word lost or changed, the indent kept."""

from hypothesis import given
from hypothesis import strategies as st

from lutherie_geom.design.lines import WIDTH, folded

words = st.lists(st.text("abcxyz-.", min_size=1, max_size=12), min_size=1, max_size=60).map(" ".join)


@given(st.lists(st.tuples(st.integers(0, 12), words), min_size=1, max_size=5), st.integers(40, 120))
def test_no_line_too_long_and_no_word_lost(rows, width):
    lines = [" " * indent + text for indent, text in rows]
    found = folded(*lines, width=width)
    assert max(map(len, found.split("\n"))) <= width and found.split() == " ".join(lines).split()
    assert folded(found, width=width) == found


def test_what_is_narrow_enough_stays_and_the_rest_goes_further_in():
    row = "  a    b      c"
    assert folded("head", "", row) == f"head\n\n{row}"
    found = folded("  " + "word " * 40).split("\n")
    assert found[0].startswith("  word") and all(x.startswith("      word") for x in found[1:]) and len(found[0]) <= WIDTH
    assert folded("x" * 150) == "x" * 150
