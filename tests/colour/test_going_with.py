"""What goes with these: the accents that make a cloth, what echoes it, what it would still want."""

import cv2
import numpy as np
import pytest

from stash.colour.colour_words import said_colours
from stash.colour.describing import ClothSample, describe
from stash.colour.fabric_table import table_of
from stash.colour.going_with import going_with
from stash.colour.naming import family_of
from stash.colour.palette import palette_of_appearances
from stash.colour.spaces import lab_of_srgb
from tests.colour.looks import fabric, look

SIDE = 360


def srgb(code):
    return tuple(int(code[i : i + 2], 16) for i in (1, 3, 5))


def picture(ground, *figures, seed=3, noise=3.0):
    """Cloth with round figures: (colour, share) each; threads of noise over all of it."""
    rng = np.random.default_rng(seed)
    drawn = np.full((SIDE, SIDE, 3), srgb(ground), np.uint8)
    for code, share in figures:
        while np.mean((drawn == srgb(code)).all(axis=2)) < share:
            x, y = rng.integers(8, SIDE - 8, 2).tolist()
            cv2.circle(drawn, (x, y), 6, srgb(code), -1)
    blurred = cv2.GaussianBlur(drawn, (0, 0), 0.7).astype(float)
    return np.clip(blurred + rng.normal(0, noise, blurred.shape), 0, 255).astype(np.uint8)


def look_at(pixels):
    whole = np.ones(pixels.shape[:2], dtype=bool)
    return describe(ClothSample(pixels, whole, lab_of_srgb, px_per_in=60.0))


# Ten cloths, and the families that anybody would say make them; agreed on before the first run.
CLOTHS = {
    "navy, a coral thread": (picture("#22305c", ("#f0684f", 0.018)), {"blue", "orange"}),
    "cream with red stars": (picture("#f5eedc", ("#b81f2d", 0.03)), {"cream", "red"}),
    "teal, white dots, a spark of gold": (
        picture("#1f7f88", ("#f4f4f0", 0.15), ("#e0a526", 0.015)),
        {"teal", "white", "gold"},
    ),
    "grey, a hot pink thread": (picture("#8f9193", ("#e0218a", 0.015)), {"grey", "pink"}),
    "white, blue and green flowers": (
        picture("#f7f7f5", ("#2f62b0", 0.12), ("#3f8f47", 0.08)),
        {"white", "blue", "green"},
    ),
    "plain sage": (picture("#9caf88"), {"green"}),
    "noisy plain navy": (picture("#22305c", noise=9.0), {"blue"}),
    "brown, a turquoise thread": (picture("#6b4a2f", ("#25a0a0", 0.018)), {"brown", "teal"}),
    "black, lime sparks": (picture("#1a1a1c", ("#b5d33d", 0.015)), {"black", "green"}),
    "rose, dark red leaves": (picture("#e3a5ad", ("#8c1f2b", 0.10)), {"pink", "red"}),
}
ALSO = {"orange": {"orange", "red", "pink"}, "green": {"green", "yellow", "olive"}}


@pytest.mark.parametrize("cloth", CLOTHS)
def test_a_palette_keeps_what_makes_a_cloth_and_leaves_noise(cloth):
    pixels, expected = CLOTHS[cloth]
    palette = palette_of_appearances("x", [look_at(pixels)])
    found = {family_of(target.lab).family for target in palette.targets}
    for family in expected:
        assert found & ALSO.get(family, {family}), (cloth, found)
    assert len(palette.targets) == len(expected), (
        cloth,
        said_colours([t.lab for t in palette.targets]),
    )


NAVY_AND_CORAL = look(("#22305c", 0.98), ("#f0684f", 0.02))
STASH = [
    fabric(1, "#f0684f"), fabric(2, "#25335f"), fabric(3, "#3f8f47"), fabric(4, "#f7f7f5"),
    fabric(5, ("#f5eedc", 0.8), ("#f0684f", 0.2)), fabric(6, "#7a4a93"),
]  # fmt: skip


def test_what_echoes_the_accent_goes_with_it_and_what_does_not_stays_out():
    found = going_with([NAVY_AND_CORAL], table_of(STASH))
    assert set(found.fabrics) == {1, 2, 4, 5}
    assert set(found.fabrics[:2]) == {1, 2}
    assert list(found.echoes) == sorted(found.echoes, reverse=True)


def test_what_is_wanting_is_named_with_fabrics_that_bring_it():
    found = going_with([look("#22305c"), look("#2a3a66"), look("#1c2748")], table_of(STASH))
    wanting = {one.what: one.fabrics for one in found.wanting}
    assert {"a light one", "a medium one"} <= set(wanting)
    assert wanting["a light one"] == (4,)
    assert wanting["a medium one"] == ()


def test_nothing_is_wanting_where_all_values_an_accent_and_a_calm_one_are_there():
    chosen = [look("#22305c"), look("#f0684f"), look("#f7f7f5"), look("#8f9193")]
    assert going_with(chosen, table_of(STASH)).wanting == ()
