"""What must hold of verdicts whatever the palette and the fabrics."""

import random
from dataclasses import replace
from functools import cache
from itertools import product

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from stash.colour.appearance import ColourShare
from stash.colour.fabric_table import FabricColours
from stash.colour.naming import FAMILIES, families_of
from stash.colour.palette import Amount, Palette, Target, Thresholds, WantedFamily
from stash.colour.spaces import lab_of_srgb
from stash.colour.tones import TONES
from stash.colour.verdict import Verdict, judge
from tests.colour.looks import look_of

ORDER = {Verdict.BELONGS: 0, Verdict.BORDERLINE: 1, Verdict.CLASHES: 2}
SURELY = {"light": (60, 100), "medium": (35, 75), "dark": (0, 45), "": (0, 100)}  # L*
COMPANY = {"company"}  # the rule about the other fabrics, not about the palette

LABS = st.tuples(st.floats(0, 1), st.floats(0, 1), st.floats(0, 1)).map(
    lambda rgb: tuple(map(float, lab_of_srgb(rgb)))
)
TONE = st.sampled_from(["light", "dark", "bright"])
WANTED = st.builds(
    WantedFamily, st.sampled_from(FAMILIES), st.sampled_from(Amount), st.sampled_from([*SURELY])
)
TARGETS = st.builds(Target, LABS, st.sampled_from(Amount))


@cache
def grid():
    """A grid over sRGB as CIELAB, and the family of each of its colours."""
    labs = lab_of_srgb(np.array([*product(np.linspace(0, 1, 13), repeat=3)]))
    return labs, families_of(labs).first


@cache
def colours_of(family, value):
    """Colours of the grid that have this family and value."""
    labs, first = grid()
    low, high = SURELY[value]
    fitting = labs[(first == FAMILIES.index(family)) & (labs[:, 0] >= low) & (labs[:, 0] <= high)]
    return [tuple(map(float, lab)) for lab in fitting]


@st.composite
def palettes(draw):
    families = draw(st.lists(WANTED, max_size=4, unique_by=lambda wanted: wanted.family))
    targets = draw(st.lists(TARGETS, max_size=3))
    free = sorted(set(FAMILIES) - {wanted.family for wanted in families})
    least = 0 if families or targets else 1  # a palette may say no more than what is ruled out
    without = draw(st.lists(st.sampled_from(free), min_size=least, max_size=3, unique=True))
    limits = Thresholds(company_from=draw(st.sampled_from([5, 5, 0, 1, 2, 3])))
    return Palette(
        "x", tuple(families), tuple(targets), tuple(without), draw(st.booleans()), limits
    )


def colour_shares(labs, parts):
    return tuple(ColourShare(lab, part / sum(parts)) for lab, part in zip(labs, parts, strict=True))


@st.composite
def fabrics(draw, most=8):
    """Fabrics of any colours, some with a colour error, some of colours not absolute."""
    made = []
    for number in range(draw(st.integers(1, most))):
        labs = draw(st.lists(LABS, min_size=1, max_size=4))
        parts = [draw(st.floats(0.05, 1)) for _ in labs]
        look = look_of(
            colour_shares(labs, parts),
            value_contrast=draw(st.floats(0, 60)),
            error_de00=draw(st.sampled_from([0.0, 0.0, 1.5, 6.0])),
            absolute=draw(st.sampled_from([True, True, True, False])),
        )
        made.append(FabricColours(number, look))
    return made


def colours_within(palette):
    """Colours that the palette asks for, in whatever amount."""
    asked = [target.lab for target in palette.targets]
    for wanted in palette.families:
        asked += colours_of(wanted.family, wanted.value)
    return asked


@st.composite
def palettes_with_fabrics_of_them(draw):
    """A palette, and fabrics of its own colours only."""
    palette = draw(palettes().filter(colours_within))
    own = colours_within(palette)
    made = []
    for number in range(draw(st.integers(1, 8))):
        labs = draw(st.lists(st.sampled_from(own), min_size=1, max_size=4, unique=True))
        parts = [draw(st.floats(0.05, 1)) for _ in labs]
        made.append(FabricColours(number, look_of(colour_shares(labs, parts))))
    return palette, made


@settings(max_examples=60)
@given(palettes_with_fabrics_of_them())
def test_a_fabric_of_palette_colours_only_belongs(made):
    palette, own = made
    for fabric in own:
        (alone,) = judge([fabric], palette)
        assert alone.verdict is Verdict.BELONGS, alone


@settings(max_examples=60)
@given(palettes_with_fabrics_of_them())
def test_only_its_company_can_speak_against_a_fabric_of_palette_colours(made):
    palette, own = made
    for found in judge(own, palette):
        against = {reason.what for reason in found.reasons if reason.moves}
        assert against <= (COMPANY if len(own) >= palette.thresholds.company_from else set())
        assert len(own) > 1 or not against
        assert (found.verdict is Verdict.BELONGS) == (not against)
        assert found.verdict is not Verdict.CLASHES


@settings(max_examples=100)
@given(palettes(), fabrics(), st.data())
def test_ruling_a_family_or_shade_out_never_improves_a_verdict(palette, made, data):
    asked = {wanted.family for wanted in palette.families}
    family = data.draw(st.sampled_from(sorted(set(FAMILIES) - asked - set(palette.without))))
    shade = data.draw(
        st.one_of(
            st.tuples(*(st.floats(low, high) for low, high in ((5, 95), (-60, 60), (-60, 60)))).map(
                lambda lab: Target(lab, name="a shade of its own")
            ),
            st.sampled_from([WantedFamily(family, value=tone) for tone in TONES]),
        )
    )
    stricter = data.draw(
        st.sampled_from(
            [
                replace(palette, without=(*palette.without, family)),
                replace(palette, avoided=(*palette.avoided, shade)),
            ]
        )
    )
    for before, after in zip(judge(made, palette), judge(made, stricter), strict=True):
        assert ORDER[after.verdict] >= ORDER[before.verdict], (before, after)


@settings(max_examples=60)
@given(palettes(), fabrics(), st.integers(0, 1000))
def test_verdicts_do_not_depend_on_the_order_of_fabrics(palette, made, seed):
    shuffled = made[:]
    random.Random(seed).shuffle(shuffled)
    first, again = ({v.fabric: v for v in judge(some, palette)} for some in (made, shuffled))
    assert first == again


@st.composite
def strict_palettes(draw):
    """A palette that rules shades out too."""
    palette = draw(palettes())
    shades = st.one_of(TARGETS, st.builds(WantedFamily, st.sampled_from(FAMILIES), value=TONE))
    asked = {one.called for one in palette.families} | {one.called for one in palette.targets}
    avoided = draw(st.lists(shades.filter(lambda one: one.called not in asked), max_size=2))
    return replace(palette, avoided=tuple(avoided))


@settings(max_examples=100)
@given(strict_palettes(), fabrics())
def test_reasons_are_few_words_no_colour_twice_and_none_beside_belongs(palette, made):
    for found in judge(made, palette):
        assert bool(found.reasons) == (found.verdict is not Verdict.BELONGS)
        told = [
            word
            for reason in found.reasons
            for word in reason.text.replace(",", "").split()
            if word in FAMILIES
        ]
        assert len(told) == len(set(told)), found.reasons
        assert all(len(reason.text.split()) <= 8 for reason in found.reasons)
