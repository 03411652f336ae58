"""Verdicts over a generated stash: the time grows with the number of fabrics."""

import numpy as np
import pytest

from stash.colour.appearance import ColourShare
from stash.colour.fabric_table import FabricColours, table_of
from stash.colour.palette import palette_of_hex
from stash.colour.palette_words import palette_of_words
from stash.colour.spaces import lab_of_srgb
from stash.colour.verdict import judge_table
from tests.colour.looks import look_of

PALETTES = {
    "words": palette_of_words("w", "blues and teals mostly, sand, a touch of coral; no pinks"),
    "hex": palette_of_hex("h", ["#1f3f7a", "#2f8f8f", "#d9c7a3", "#a0c0e8"], without=["pink"]),
}


def made_stash(count):
    """Fabrics of one to six colours around a random one."""
    rng = np.random.default_rng(4)
    for number in range(count):
        colours = rng.integers(1, 7)
        srgb = np.clip(rng.normal(rng.uniform(0.1, 0.9, 3), 0.15, (colours, 3)), 0, 1)
        shares = rng.dirichlet(np.full(colours, 2.0))
        parts = zip(lab_of_srgb(srgb).tolist(), shares.tolist(), strict=True)
        yield FabricColours(number, look_of(tuple(ColourShare(tuple(c), s) for c, s in parts)))


@pytest.mark.parametrize("count", [1_000, 10_000])
@pytest.mark.parametrize("palette", PALETTES)
def test_judging(benchmark, palette, count):
    table = table_of(list(made_stash(count)))
    benchmark.group = f"verdicts, palette in {palette}"
    judged = benchmark(judge_table, table, PALETTES[palette])
    assert len(judged) == count
    assert set(judged.grade.tolist()) == {0, 1, 2}


@pytest.mark.parametrize("count", [1_000, 10_000])
def test_laying_out_columns(benchmark, count):
    fabrics = list(made_stash(count))
    benchmark.group = "columns with families"
    assert len(benchmark(table_of, fabrics)) == count
