"""True colour from a photo of scraps beside a card."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stash.colour.difference import paired_difference
from stash.colour.spaces import FloatArray, lab_of_linear, srgb_of_linear
from stash.errors import CalibrationError, UnevenLightError
from stash.photo.cards.card import FoundCard
from stash.photo.cards.patch_edges import project
from stash.photo.light.colour_model import ColourModel, fit_colour_model
from stash.photo.light.light_field import LightField, fit_light_field

__all__ = ["Calibration", "calibrate"]

_ACCEPT_DE00, _REFUSE_DE00 = 4.0, 6.0
_LEAST_PATCHES, _LEAST_NEUTRALS = 10, 3
# Brightest over darkest part of the backing: what can be taken off, and what may be left on.
_UNEVEN_WARN, _UNEVEN_REFUSE = 1.6, 2.5
_LEFT_WARN, _LEFT_REFUSE = 1.25, 1.6
_FIELD_ROUNDS = 2
_YELLOW = 15


@dataclass(frozen=True, eq=False)
class Calibration:
    """What turns the colours of one photo into true ones.

    Attributes
    ----------
    error_de00, error_worst_de00 : float
        Mean and largest CIEDE2000 left on the card's own patches, each left out in turn.
    absolute : bool
        False when the card's values were never measured: colours then agree with each other
        but may all be off together.
    warnings : tuple of str
        What a quilter should know, one sentence each.
    """

    found: FoundCard
    model: ColourModel
    error_de00: float
    error_worst_de00: float
    warnings: tuple[str, ...] = ()
    field: LightField | None = None

    @property
    def absolute(self) -> bool:
        """Whether colours are true and not only consistent."""
        return self.found.card.absolute

    def linear_of(self, srgb: FloatArray, at_px: FloatArray | None = None) -> FloatArray:
        """Give true linear sRGB (n, 3), not clipped, of photographed colours.

        Parameters
        ----------
        srgb : float64, shape (n, 3)
            Encoded colours of the photo, 0..1.
        at_px : float64, shape (n, 2), optional
            Where they were seen; needed to take uneven light into account.
        """
        light = self.model.light_of(np.asarray(srgb, dtype=np.float64))
        if self.field is not None and at_px is not None:
            light = light / self.field.at(np.asarray(at_px, dtype=np.float64))
        return self.model.linear_of(light)

    def lab_of(self, srgb: FloatArray, at_px: FloatArray | None = None) -> FloatArray:
        """Give CIELAB, white D65 (n, 3) of photographed colours; see `linear_of`."""
        return lab_of_linear(self.linear_of(srgb, at_px))

    def lut3d(self, size: int = 33) -> NDArray[np.float32]:
        """Tabulate encoded photo colour to encoded true colour, for whole pictures.

        Returns
        -------
        float32, shape (size, size, size, 3)
            Indexed blue, green, red, each holding red, green, blue; the light field is left aside.
        """
        steps = np.linspace(0, 1, size)
        blue, green, red = np.meshgrid(steps, steps, steps, indexing="ij")
        seen = np.stack([red, green, blue], axis=-1).reshape(-1, 3)
        true = srgb_of_linear(self.linear_of(seen))
        return true.reshape(size, size, size, 3).astype(np.float32)

    def with_flat_field(self, at_px: FloatArray, srgb: FloatArray) -> Calibration:
        """Take uneven light into account, seen on the plain backing.

        Parameters
        ----------
        at_px : float64, shape (n, 2)
            Where the backing was looked at, all over the photo.
        srgb : float64, shape (n, 3)
            Its encoded colour there, 0..1.

        Raises
        ------
        UnevenLightError
            If the field is steeper than can be mended.
        """
        patches = project(self.found.image_from_card, self.found.card.patch_centres_in)
        centre = project(self.found.image_from_card, np.zeros((1, 2)))
        changed = self
        for _ in range(_FIELD_ROUNDS):
            light = changed.model.light_of(np.asarray(srgb, dtype=np.float64))
            field = fit_light_field(at_px, light, centre[0])
            model = _fitted(self.found, self.found.usable, field.at(patches))
            changed = replace(changed, model=model, field=field)
        ratio = changed.field.ratio if changed.field else 1.0
        if ratio > _UNEVEN_REFUSE:
            raise _too_uneven(ratio)
        mean, worst = _left_out_error(self.found, changed.model, changed.field, patches)
        said = self.warnings
        if ratio > _UNEVEN_WARN:
            said = (*said, _uneven(ratio))
        return replace(changed, error_de00=mean, error_worst_de00=worst, warnings=said)

    def without_flat_field(self, at_px: FloatArray, srgb: FloatArray) -> Calibration:
        """Leave the light as it is, and say where it is too uneven for that.

        Parameters
        ----------
        at_px, srgb : float64 arrays
            As for `with_flat_field`.

        Raises
        ------
        UnevenLightError
            If colours would differ too much over the photo.
        """
        light = self.model.light_of(np.asarray(srgb, dtype=np.float64))
        ratio = fit_light_field(at_px, light, np.mean(at_px, axis=0)).ratio
        if ratio > _LEFT_REFUSE:
            raise _too_uneven(ratio)
        said = (_uneven(ratio),) if ratio > _LEFT_WARN else ()
        return replace(self, warnings=(*self.warnings, *said))


def _too_uneven(ratio: float) -> UnevenLightError:
    return UnevenLightError(
        f"The light is too uneven: one part of the table gets {ratio:.1f} times the light of "
        "another. Move away from the lamp or window, or out of half shade.",
        ratio=ratio,
    )


def _uneven(ratio: float) -> str:
    return (
        f"The light is uneven: one part of the table gets {ratio:.1f} times the light of another. "
        "Colours far from the card are less sure; more even light helps."
    )


def calibrate(found: FoundCard) -> Calibration:
    """Fit a camera to a found card, or say why its colours cannot be trusted.

    Raises
    ------
    CalibrationError
        If too few patches can be used, or the card's own patches come out too far from their
        reference values.
    """
    _check_patches(found)
    model = _fitted(found, found.usable, None)
    mean, worst = _left_out_error(found, model, None, None)
    if mean > _REFUSE_DE00:
        raise CalibrationError(
            f"The card's own colours come out wrong (error {mean:.1f}; {_REFUSE_DE00:.0f} is the "
            "most). Keep glare and coloured reflections off the card, use one kind of light, and "
            "take the photo again.",
            error_de00=mean,
        )
    said = list(_light_warnings(found))
    if mean > _ACCEPT_DE00:
        said.append(
            f"Colours of this photo are less sure than usual (error {mean:.1f}); more and more "
            "even light helps."
        )
    if not found.card.absolute:
        said.append(
            "This card's inks were never measured: colours agree with each other but may all be "
            "off together."
        )
    return Calibration(found, model, mean, worst, tuple(said))


def _check_patches(found: FoundCard) -> None:
    """Refuse a card of which too little is left, and name what took the most of it."""
    usable, neutrals = found.usable, list(found.card.neutrals)
    if usable.sum() >= _LEAST_PATCHES and usable[neutrals].sum() >= _LEAST_NEUTRALS:
        return
    burnt, hidden = int(found.clipped.sum()), int((~usable & ~found.clipped).sum())
    if burnt >= hidden:
        cause = f"{burnt} are burnt out. Take the photo again with less light."
    else:
        cause = (
            f"{hidden} are covered, dirty or in glare. Lay the card flat, free and without glare, "
            "and take the photo again."
        )
    if usable.sum() >= _LEAST_PATCHES:
        what = f"Only {int(usable[neutrals].sum())} of the card's greys can be used"
    else:
        what = f"Only {int(usable.sum())} squares of the card can be used"
    raise CalibrationError(f"{what}: {cause}", error_de00=float("nan"))


def _light_warnings(found: FoundCard) -> list[str]:
    said = []
    white = found.card.neutrals[0]
    if found.clipped[white]:
        said.append(
            "The white square of the card is burnt out; colours of very light fabrics may be too."
        )
    if float(found.patch_srgb[white].max()) < 0.5:
        said.append("The photo is dark; colours of dark fabrics are less sure.")
    return said


def _fitted(
    found: FoundCard,
    kept: NDArray[np.bool_],
    field: FloatArray | None,
    curves: FloatArray | None = None,
) -> ColourModel:
    neutral = np.zeros(len(kept), dtype=bool)
    neutral[list(found.card.neutrals)] = True
    return fit_colour_model(
        found.patch_srgb[kept],
        found.card.patch_linear[kept],
        neutral[kept],
        terms=_terms_for(found, kept),
        field=None if field is None else field[kept],
        curves=curves,
    )


def _terms_for(found: FoundCard, kept: NDArray[np.bool_]) -> int:
    if kept.sum() >= 12:
        return 13
    has_yellow = found.card.kind != "chart24" or bool(kept[_YELLOW])
    return 6 if kept.sum() >= 7 and has_yellow else 3


def _left_out_error(
    found: FoundCard,
    whole: ColourModel,
    field: LightField | None,
    patches_px: FloatArray | None,
) -> tuple[float, float]:
    """Give mean and largest error of the usable patches, each with a model that has not seen it."""
    there = field.at(patches_px) if field is not None and patches_px is not None else None
    usable = np.flatnonzero(found.usable)
    seen = np.empty((len(usable), 3))
    for row, index in enumerate(usable):
        kept = found.usable.copy()
        kept[index] = False
        # Leaving out a colour does not change the tone curves, which rest on the greys alone.
        curves = None if index in found.card.neutrals else whole.curves
        model = _fitted(found, kept, there, curves)
        light = model.light_of(found.patch_srgb[index : index + 1])
        if there is not None:
            light = light / there[index]
        seen[row] = model.linear_of(light)[0]
    true = found.card.patch_linear[usable]
    errors = paired_difference(lab_of_linear(true), lab_of_linear(seen))
    return float(errors.mean()), float(errors.max())
