"""How much of a quilt each part of a palette makes: main, some and touch as shares."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from stash.colour.appearance import Appearance
from stash.colour.cloth_family import cloth_families
from stash.colour.difference import large_difference
from stash.colour.naming import FAMILIES
from stash.colour.naming import NEUTRALS as NEUTRAL_FAMILIES
from stash.colour.palette import Amount, Palette
from stash.colour.spaces import Lab
from stash.colour.tones import tone_member
from stash.quilt.supply import Share

__all__ = [
    "NEUTRALS",
    "amount_of",
    "part_names",
    "shares_of",
    "shares_wished",
    "value_shares",
    "what_amounts_are_of",
]

# 60 : 30 : 10 is known from interior design and dress (S88 of docs/sources.md); no quilting
# source was found, so it is a soft default with a wide tolerance.
_WEIGHT = {Amount.MAIN: 6.0, Amount.SOME: 3.0, Amount.TOUCH: 1.0}
_TOLERANCE = 0.5  # each way, of the share itself
_VALUE_TOLERANCE = 0.05  # of the whole quilt
_OF_TONE = 0.5  # how far a cloth must be of the tone a family is asked for in; judgement
NEUTRALS = "neutrals"
_VALUES = ("light", "medium", "dark")
_OTHER = "other"


def part_names(palette: Palette) -> Mapping[str, Amount]:
    """Give the parts of a palette by the names people see, with their amounts."""
    parts = {
        f"{wanted.value} {wanted.family}".strip(): wanted.amount for wanted in palette.families
    }
    for target in palette.targets:
        parts.setdefault(target.label, target.amount)
    return parts


def shares_of(palette: Palette) -> tuple[Share, ...]:
    """Give the limits of each part; none when the palette wants the same of everything.

    A part's usual share is its weight (main 6, some 3, touch 1) over the sum of all weights;
    from half of it to one and a half times it is allowed, and a main part has no upper limit.
    """
    parts = part_names(palette)
    if len(set(parts.values())) < 2:
        return ()
    whole = sum(_WEIGHT[amount] for amount in parts.values())
    shares = []
    for name, amount in parts.items():
        usual = _WEIGHT[amount] / whole
        most = 1.0 if amount is Amount.MAIN else min(1.0, usual * (1 + _TOLERANCE))
        shares.append(Share("amount", name, usual * (1 - _TOLERANCE), most, usual))
    return tuple(shares)


def value_shares(values: Mapping[str, float]) -> tuple[Share, ...]:
    """Give limits for wanted shares of light, medium and dark, 5 % of the quilt each way."""
    return tuple(
        Share(
            "value",
            name,
            max(0.0, share - _VALUE_TOLERANCE),
            min(1.0, share + _VALUE_TOLERANCE),
            share,
        )
        for name, share in values.items()
    )


def what_amounts_are_of(palette: Palette | None, name: str) -> str:
    """Say what a name stands for where amounts are wished: ``amount``, ``value`` or ``family``.

    Empty where it is none of them.
    """
    if palette is not None and name in (*part_names(palette), NEUTRALS):
        return "amount"
    if name in _VALUES:
        return "value"
    return "family" if name in FAMILIES else ""


def shares_wished(
    shares: Sequence[Share],
    palette: Palette | None,
    amounts: Mapping[str, tuple[float, float]],
) -> tuple[Share, ...]:
    """Give the shares with those that were said in numbers in place of what a palette means."""
    said = tuple(
        Share(what_amounts_are_of(palette, name) or "family", name, least, most, (least + most) / 2)
        for name, (least, most) in amounts.items()
    )
    names = {(one.by, one.name) for one in said}
    return (*(one for one in shares if (one.by, one.name) not in names), *said)


def amount_of(palette: Palette, looks: Sequence[Appearance]) -> tuple[str, ...]:
    """Say which part of the palette each cloth fills.

    A family of the palette takes its own cloths, of the value it asks for; what is left goes to
    the target colour nearest to what it reads as, if that is within reach, then to the neutrals.
    """
    if not looks:
        return ()
    families = cloth_families(looks)
    labs, targets = [look.reads_as for look in looks], [target.lab for target in palette.targets]
    seen = np.array(labs)[:, None]
    apart = large_difference(seen, np.array(targets), lightness_weight=0.5) if targets else None
    found = []
    for row, (family, lab) in enumerate(zip(families, labs, strict=True)):
        part = _family_part(palette, family, lab)
        if not part and apart is not None:
            nearest = int(np.argmin(apart[row]))
            if apart[row, nearest] <= palette.thresholds.target_none:
                part = palette.targets[nearest].label
        found.append(part or _left_over(palette, family))
    return tuple(found)


def _family_part(palette: Palette, family: str, lab: Lab) -> str:
    for wanted in palette.families:
        of_value = not wanted.value or tone_member(np.asarray(lab), wanted.value) >= _OF_TONE
        if wanted.family == family and of_value:
            return f"{wanted.value} {wanted.family}".strip()
    return ""


def _left_over(palette: Palette, family: str) -> str:
    return NEUTRALS if palette.neutrals and family in NEUTRAL_FAMILIES else _OTHER
