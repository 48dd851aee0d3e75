"""Words for the numbers of a design: every number that is toleranced has some, and a report names the file's own word once."""

from pathlib import Path

import lutherie_geom as lg
from lutherie_geom.design import tolerances
from lutherie_geom.design.input_words import WORDS, in_the_file, words_and_names, words_of
from lutherie_geom.studies.spreads import NAMES


def test_words_for_names():
    assert set(WORDS) <= set(NAMES)
    # Every error at the bench, and every number with a tolerance in a demo design, has words short enough for an axis.
    designs = [lg.load(p) for p in (Path(__file__).parents[2] / "data" / "designs").glob("*.toml")]
    written = {tolerances.bare(n) for d in designs if d.tolerances for n in d.tolerances.spreads}
    assert len(written) > 20 and written | set(tolerances.BENCH) <= set(WORDS)
    assert len(set(WORDS.values())) == len(WORDS) and all(len(w) <= 32 for w in WORDS.values())
    assert words_of("pivot.z") == "seats, height in the block"
    assert words_of("strings.saddle_heights[3]") == "saddle, string 3" and words_of("z_p") == "z_p"


def test_the_name_in_the_file_is_told_once():
    told: set[str] = set()
    said = [words_and_names(n, told) for n in ("pivot.z", "z_p", "pivot.z")]
    assert said == ["seats, height in the block (pivot.z)", "z_p", "seats, height in the block"] and told == {"pivot.z", "z_p"}
    assert words_and_names("pivot.z") == words_and_names("pivot.z") == said[0]
    assert in_the_file(["z_p", "pivot.z", "tongue.gap", "pivot.z"]) == [
        "in the design file: seats, height in the block (pivot.z); gap, as laid out (tongue.gap)"]
    assert in_the_file(["z_p"]) == [] and in_the_file(iter(())) == []
