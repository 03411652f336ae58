"""A palette: which colours a quilt may have, and how much of each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field, fields, replace
from enum import StrEnum
from typing import Any

import numpy as np

from stash.colour.appearance import Appearance
from stash.colour.colour_words import said_colours
from stash.colour.difference import large_difference
from stash.colour.naming import FAMILIES
from stash.colour.spaces import Lab, chroma_of, lab_of_hex
from stash.colour.tones import EXTREMES, TONES
from stash.errors import PaletteError

__all__ = [
    "Amount",
    "Palette",
    "Target",
    "Thresholds",
    "WantedFamily",
    "palette_of_appearances",
    "palette_of_hex",
]

# HyAB, lightness half: one colour asked for reaches farther than this by itself (judgement).
_ONE_COLOUR = 10.0
_MAIN_FROM, _SOME_FROM, _LEAVE_OUT_BELOW = 0.25, 0.08, 0.03  # of the area; judgement
_MOST_TARGETS = 12
_ACCENT_CHROMA, _ACCENT_APART = 30.0, 35.0  # C*ab, HyAB; as for the colours of one fabric
# Limits that palettes of earlier versions may carry; what they limited is judged otherwise now.
_RETIRED = {
    "touch_cap", "warm_neutral_member", "loud_z", "chroma_floor", "contrast_floor", "scale_floor",
    "value_gap", "contrast_counts", "borderlines_to_clash",
}  # fmt: skip


class Amount(StrEnum):
    """How much of a quilt a colour makes."""

    MAIN = "main"
    SOME = "some"
    TOUCH = "touch"


@dataclass(frozen=True, slots=True)
class WantedFamily:
    """A family of colours that is welcome; ``value`` narrows it to one of ``tones.TONES``."""

    family: str
    amount: Amount = Amount.MAIN
    value: str = ""

    @property
    def called(self) -> str:
        """What a palette shows it by: blue, or dark blue."""
        return f"{self.value} {self.family}".strip()


@dataclass(frozen=True, slots=True)
class Target:
    """A colour (CIELAB, white D65) that is welcome, with all that come near it."""

    lab: Lab
    amount: Amount = Amount.MAIN
    name: str = ""

    @property
    def label(self) -> str:
        """Its own name, or what people would call the colour."""
        return self.name or said_colours([self.lab])[0]

    @property
    def called(self) -> str:
        """The same, as ``WantedFamily`` has it."""
        return self.label


def _limit(default: float, meaning: str) -> Any:
    return field(default=default, metadata={"meaning": meaning})


@dataclass(frozen=True, slots=True)
class Thresholds:
    """The limits of the verdicts. All are judgement; what they came to is in docs/measurements.md.

    Parts are 0..1 of what the eye sees (``eye.eye_weights``), distances HyAB with lightness half.
    """

    outside_borderline: float = _limit(0.125, "part outside the palette, look twice above")
    outside_clash: float = _limit(0.50, "part outside the palette, clash above")
    ruled_out_borderline: float = _limit(0.04, "part of a ruled-out family, look twice above")
    ruled_out_clash: float = _limit(0.12, "part of a ruled-out family, clash above")
    target_full: float = _limit(14.0, "distance to a target colour, belongs fully up to")
    target_none: float = _limit(30.0, "distance to a target colour, outside from")
    mix_full: float = _limit(8.0, "distance to a mix of two member colours, belongs up to")
    mix_none: float = _limit(16.0, "distance to a mix of two member colours, outside from")
    tan_chroma: float = _limit(26.0, "chroma up to which tan and cream are neutrals")
    company_from: float = _limit(5, "fabrics that must belong before company is looked at")
    wild_from: float = _limit(0.5, "wildness in the company of what belongs, look twice above")

    def explained(self) -> tuple[tuple[str, float, str], ...]:
        """Give each limit's name, value and meaning."""
        return tuple((f.name, getattr(self, f.name), f.metadata["meaning"]) for f in fields(self))

    def changed(self, changes: Mapping[str, float]) -> Thresholds:
        """Give the same limits with some of them changed.

        Raises
        ------
        PaletteError
            If a name is not a limit (the message lists them) or a number is negative.
        """
        known = {f.name for f in fields(self)}
        for name, value in changes.items():
            if name not in known:
                raise PaletteError(
                    f"“{name}” is not a limit of a palette; there are {', '.join(sorted(known))}."
                )
            if not 0 <= value < 1e6:
                raise PaletteError(f"The limit {name} cannot be {value:g}; give 0 or more.")
        return replace(self, **{name: float(value) for name, value in changes.items()})


@dataclass(frozen=True, slots=True)
class Palette:
    """The colours a quilt may have.

    Attributes
    ----------
    name : str
        What the quilter calls it.
    families : tuple of WantedFamily
        Families that are welcome.
    targets : tuple of Target
        Single colours that are welcome.
    without : tuple of str
        Families ruled out.
    neutrals : bool
        Whether white, grey, black, cream and tan are welcome besides.
    thresholds : Thresholds
        Limits of the verdicts.
    not_too : tuple of str
        Extremes that are not wanted of any colour: "light", "dark", "bright".
    avoided : tuple of WantedFamily or Target
        Shades ruled out though their family is not: a tone of a family, a single colour. What
        amount they carry means nothing.
    """

    name: str
    families: tuple[WantedFamily, ...] = ()
    targets: tuple[Target, ...] = ()
    without: tuple[str, ...] = ()
    neutrals: bool = True
    thresholds: Thresholds = Thresholds()
    not_too: tuple[str, ...] = ()
    avoided: tuple[WantedFamily | Target, ...] = ()

    def __post_init__(self) -> None:
        """Refuse what says nothing or says both yes and no."""
        for family in (*(wanted.family for wanted in self.families), *self.without):
            if family not in FAMILIES:
                raise PaletteError(
                    f"“{family}” is not a family of colours; there are {', '.join(FAMILIES)}."
                )
        for tone in (wanted.value for wanted in self.families if wanted.value):
            if tone not in TONES:
                raise PaletteError(f"“{tone}” is not a tone; there are {', '.join(TONES)}.")
        both = {wanted.family for wanted in self.families} & set(self.without)
        if both:
            raise PaletteError(
                f"The palette asks for {' and '.join(sorted(both))} and rules it out."
            )
        _refuse_contradictions(self)
        if not (self.families or self.targets or self.without or self.not_too or self.avoided):
            raise PaletteError("The palette says nothing; name a colour that is welcome, or not.")

    @property
    def ruled_out(self) -> tuple[str, ...]:
        """Name what is ruled out: whole families, then shades."""
        return (*self.without, *dict.fromkeys(shade.called for shade in self.avoided))

    def to_dict(self) -> dict[str, object]:
        """Give the palette as a plain record for JSON."""
        usual = Thresholds()
        return {
            "name": self.name,
            "families": [asdict(wanted) for wanted in self.families],
            "targets": [asdict(target) | {"lab": list(target.lab)} for target in self.targets],
            "without": list(self.without),
            "neutrals": self.neutrals,
            **({"not_too": list(self.not_too)} if self.not_too else {}),
            **({"avoided": [_shade_record(one) for one in self.avoided]} if self.avoided else {}),
            "thresholds": {
                name: value
                for name, value, _ in self.thresholds.explained()
                if value != getattr(usual, name)
            },
        }

    @classmethod
    def from_dict(cls, record: Mapping[str, Any]) -> Palette:
        """Read a record that ``to_dict`` made.

        Raises
        ------
        PaletteError
            If the record is not a palette.
        """
        try:
            return cls(
                name=str(record["name"]),
                families=tuple(
                    WantedFamily(str(f["family"]), Amount(f["amount"]), str(f.get("value", "")))
                    for f in record.get("families", ())
                ),
                targets=tuple(_target_of(t) for t in record.get("targets", ())),
                without=tuple(str(family) for family in record.get("without", ())),
                neutrals=bool(record.get("neutrals", True)),
                thresholds=Thresholds().changed(
                    {
                        name: value
                        for name, value in record.get("thresholds", {}).items()
                        if name not in _RETIRED
                    }
                ),
                not_too=tuple(str(tone) for tone in record.get("not_too", ())),
                avoided=tuple(_shade_of(one) for one in record.get("avoided", ())),
            )
        except (KeyError, TypeError, ValueError) as problem:
            raise PaletteError("This record is not a palette; make the palette again.") from problem


def _refuse_contradictions(palette: Palette) -> None:
    asked_for = {one.called for one in palette.families}
    asked_for |= {one.called for one in palette.targets}
    both = asked_for & {one.called for one in palette.avoided}
    if both:
        raise PaletteError(f"The palette asks for {' and '.join(sorted(both))} and rules it out.")
    for tone in palette.not_too:
        if tone not in EXTREMES:
            raise PaletteError(f"“not too {tone}” is unknown; there are {', '.join(EXTREMES)}.")
        asked = [wanted.family for wanted in palette.families if wanted.value == tone]
        if asked:
            raise PaletteError(
                f"The palette asks for {tone} {' and '.join(asked)} and for nothing too {tone}."
            )


def _shade_record(shade: WantedFamily | Target) -> dict[str, object]:
    if isinstance(shade, Target):
        return {"lab": list(shade.lab), "name": shade.label}
    return {"family": shade.family, "value": shade.value}


def _shade_of(record: Mapping[str, Any]) -> WantedFamily | Target:
    if "lab" in record:
        return _target_of({"amount": Amount.MAIN, **record})
    return WantedFamily(str(record["family"]), Amount.MAIN, str(record["value"]))


def _target_of(record: Mapping[str, Any]) -> Target:
    lightness, a, b = (float(v) for v in record["lab"])
    return Target((lightness, a, b), Amount(record["amount"]), str(record.get("name", "")))


def palette_of_hex(
    name: str, colours: Sequence[str], *, without: Sequence[str] = (), neutrals: bool = True
) -> Palette:
    """Make a palette of hex colours such as ``#1f3f7a``, all of them main colours.

    ``without`` names families, in one or many, as a person writes them ("pinks").
    """
    targets = tuple(Target(lab_of_hex(text)) for text in colours)
    return Palette(name, targets=targets, without=tuple(without), neutrals=neutrals)


def palette_of_appearances(
    name: str,
    appearances: Sequence[Appearance],
    *,
    without: Sequence[str] = (),
    neutrals: bool = True,
) -> Palette:
    """Make a palette of the colours of a focus fabric, chosen scraps or a photo.

    Colours closer than 10 (HyAB, lightness half) are taken as one. A colour that covers a quarter
    of the area is a main one, from 8 % it is some, below it is a touch; under 3 % it is left out,
    unless it is strong and far from all the others: a coral thread that makes the cloth.
    """
    merged: list[tuple[Lab, float]] = []
    shares = [(c.lab, c.share / len(appearances)) for look in appearances for c in look.colours]
    for lab, share in sorted(shares, key=lambda pair: (-pair[1], pair[0])):
        near = _nearest(lab, merged)
        if near is None:
            merged.append((lab, share))
        else:
            merged[near] = (merged[near][0], merged[near][1] + share)
    merged.sort(key=lambda pair: (-pair[1], pair[0]))
    large = [pair for pair in merged if pair[1] >= _LEAVE_OUT_BELOW] or merged[:1]
    kept = large + [pair for pair in merged if pair not in large and _is_accent(pair[0], large)]
    targets = tuple(Target(lab, _amount_of(share)) for lab, share in kept[:_MOST_TARGETS])
    return Palette(name, targets=targets, without=tuple(without), neutrals=neutrals)


def _is_accent(lab: Lab, others: Sequence[tuple[Lab, float]]) -> bool:
    apart = large_difference(lab, [other for other, _ in others])
    return float(chroma_of(np.array(lab))) >= _ACCENT_CHROMA and apart.min() >= _ACCENT_APART


def _nearest(lab: Lab, merged: Sequence[tuple[Lab, float]]) -> int | None:
    if not merged:
        return None
    distance = large_difference(lab, [other for other, _ in merged], lightness_weight=0.5)
    return int(distance.argmin()) if distance.min() < _ONE_COLOUR else None


def _amount_of(share: float) -> Amount:
    if share >= _MAIN_FROM:
        return Amount.MAIN
    return Amount.SOME if share >= _SOME_FROM else Amount.TOUCH
