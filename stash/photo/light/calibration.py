"""True colour from a photo of scraps beside a card."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray, lab_of_linear, srgb_of_linear
from stash.errors import CalibrationError, CardCoveredError, OverexposedError, UnevenLightError
from stash.photo.cards.card import FoundCard
from stash.photo.cards.patch_edges import project
from stash.photo.light.colour_model import ColourModel, Patches, Recipe
from stash.photo.light.light_field import LightField, fit_light_field
from stash.photo.light.model_choice import (
    GREYS_ONLY,
    LeftOut,
    best_recipe,
    fitted,
    left_out,
)

__all__ = ["DE00_OF_LIGHT", "Calibration", "calibrate"]

# Real cards of every maker leave 8 at most; squares in a wrong order 20 and more.
_ACCEPT_DE00, _OWN_KIND_DE00, _REFUSE_DE00 = 4.0, 6.0, 15.0
_LEAST_PATCHES, _LEAST_NEUTRALS = 10, 3
# Of a colour square with a channel at the end of its range; judged on photos with phones' colours.
_AT_AN_END = 0.25
_BOTTOM = 4 / 255
_UNKNOWN_INKS_DE00 = 5.3  # median that colours are off by with greys alone, see below
# A colour's error against that of the squares like it: 95 % of measured reflectances that are on no
# chart lie within 2.2 under four lights and within 2.3 under four others (docs/measurements.md); of
# scraps on rendered photos and squares of real charts, judged by their neighbours, within 1.9.
_SURE = 2.3
_ALIKE_LAB = 30.0  # squares so far from a colour say much less of it
_ALL_ALIKE = 0.3  # how much the card as a whole says, in squares of the very colour
# Brightest over darkest part of the backing that is told: taken off, and left on.
_UNEVEN_WARN, _LEFT_WARN = 1.6, 1.25
# Of a light that is taken off so much may still be wrong; judgement.
_UNSURE_SHARE = 0.15
# CIEDE2000 of a unit of the logarithm of light, mid-grey: L* = 116 Y^(1/3) - 16 (ISO/CIE 11664-4).
DE00_OF_LIGHT = 23.0
_UNKNOWN_DE00 = 10.0  # half a colour family off
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
        False when the card's values were never measured, or its squares contradict them: colours
        then agree with each other but may all be off together.
    warnings : tuple of str
        What a quilter should know, one sentence each.
    field, left_on : LightField or None
        How the light falls: taken off the colours, or only seen.
    left_out : LeftOut or None
        How the card's squares come out, each left out in turn.
    """

    found: FoundCard
    model: ColourModel
    error_de00: float
    error_worst_de00: float
    warnings: tuple[str, ...] = ()
    field: LightField | None = None
    left_out: LeftOut | None = None
    left_on: LightField | None = None

    @property
    def absolute(self) -> bool:
        """Whether colours are true and not only consistent."""
        return self.found.card.absolute and self.error_de00 <= _OWN_KIND_DE00

    def sure_to(self, lab: FloatArray, at_px: FloatArray) -> float:
        """Give what a colour (3,) seen at a pixel (2,) is off by at most, 19 times in 20.

        The card's squares that look like it tell, each as far off as it came out when the model
        had not seen it; and how far the light there is from the card's. CIEDE2000.
        """
        light = float(self.light_doubt_de00(np.asarray(at_px)[None])[0])
        return float(np.hypot(self._by_squares(lab), light))

    def _by_squares(self, lab: FloatArray) -> float:
        if self.left_out is None:
            return self.error_worst_de00
        seen = np.isfinite(self.left_out.de00)
        squares, true = self.left_out.de00[seen] ** 2, self.left_out.lab[seen]
        far = np.linalg.norm(true - np.asarray(lab), axis=1) / _ALIKE_LAB
        alike = np.exp(-(far**2) / 2)
        mean = (alike @ squares + _ALL_ALIKE * squares.mean()) / (alike.sum() + _ALL_ALIKE)
        return float(_SURE * np.sqrt(mean))

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

        """
        patches = project(self.found.image_from_card, self.found.card.patch_centres_in)
        centre = project(self.found.image_from_card, np.zeros((1, 2)))
        changed = self
        for _ in range(_FIELD_ROUNDS):
            light = changed.model.light_of(np.asarray(srgb, dtype=np.float64))
            field = fit_light_field(at_px, light, centre[0])
            if field is None:
                return self
            squares = _patches(self.found, field.at(patches))
            changed = replace(changed, model=fitted(squares, self.model.recipe), field=field)
        told = changed.field is not None and changed.field.ratio > _UNEVEN_WARN
        return replace(changed, warnings=(*self.warnings, _UNEVEN)) if told else changed

    def without_flat_field(self, at_px: FloatArray, srgb: FloatArray) -> Calibration:
        """Leave the light as it is, and say where it is too uneven for that.

        Parameters
        ----------
        at_px, srgb : float64 arrays
            As for `with_flat_field`.
        """
        light = self.model.light_of(np.asarray(srgb, dtype=np.float64))
        centre = project(self.found.image_from_card, np.zeros((1, 2)))
        field = fit_light_field(at_px, light, centre[0])
        if field is None:
            return self
        said = (_UNEVEN,) if field.ratio > _LEFT_WARN else ()
        return replace(self, left_on=field, warnings=(*self.warnings, *said))

    def light_doubt_de00(self, at_px: FloatArray) -> FloatArray:
        """Give what colours at pixels (n, 2) may be off by for uneven light, CIEDE2000 (n,)."""
        at_px = np.asarray(at_px, dtype=np.float64)
        if self.left_on is not None:
            unknown = np.abs(np.log(self.left_on.at(at_px))).max(axis=1)
        elif self.field is not None:
            unknown = _UNSURE_SHARE * np.abs(np.log(self.field.at(at_px))).max(axis=1)
        else:
            return np.zeros(len(at_px))
        return np.asarray(DE00_OF_LIGHT * unknown, dtype=np.float64)

    def check_even(self, at_px: FloatArray) -> None:
        """Refuse a photo whose light leaves the colours at pixels (n, 2) quite unknown.

        Raises
        ------
        UnevenLightError
            If most of them may be off by more than a family of colour.
        """
        doubt = self.light_doubt_de00(at_px)
        if len(doubt) and float(np.median(doubt)) > _UNKNOWN_DE00:
            field = self.left_on or self.field
            raise UnevenLightError(
                "The light is too uneven: where the scraps lie it is so unlike the card's that "
                f"colours may be off by {float(np.median(doubt)):.0f}. Move away from the lamp or "
                "window, or out of half shade, and lay the card among the scraps.",
                ratio=field.ratio if field is not None else 1.0,
            )


_UNEVEN = (
    "The light is uneven over the table. Colours far from the card are less sure; more even light "
    "helps."
)


def calibrate(found: FoundCard) -> Calibration:
    """Fit a camera to a found card.

    A card whose squares come out far from their values is measured all the same: its colours then
    agree between photos and are not said to be true.

    Raises
    ------
    OverexposedError, CardCoveredError
        If too few patches can be used.
    CalibrationError
        If the card's colours are nothing like its own.
    """
    _check_patches(found)
    _check_positive(found)
    patches = _patches(found)
    if found.card.kind == "printed" and not found.card.absolute:
        recipe, out = _by_greys(patches)
    else:
        recipe, out = best_recipe(patches)
    if out.mean > _REFUSE_DE00:
        raise CalibrationError(
            f"The card's own colours come out wrong (error {out.mean:.0f}), far more than another "
            "maker's inks explain. Keep glare and coloured reflections off the card, use one kind "
            "of light, and take the photo again.",
            error_de00=out.mean,
        )
    return Calibration(
        found, fitted(patches, recipe), out.mean, out.worst, _said(found, out), None, out
    )


def _by_greys(patches: Patches) -> tuple[Recipe, LeftOut]:
    """Trust of a home print nothing but paper and greys: its inks are anybody's guess.

    Measured with a model of inkjet inks: 5.3 / 11.2 CIEDE2000 (median, 95 %) so, 8.2 / 20.8 with
    the colours it was meant to have.
    """
    greys = replace(patches, weight=np.where(patches.neutral, patches.weight, 0.0))
    out = left_out(greys, GREYS_ONLY)
    de00 = np.where(np.isfinite(out.de00), np.hypot(out.de00, _UNKNOWN_INKS_DE00), np.nan)
    return GREYS_ONLY, LeftOut(de00, out.lab)


def _said(found: FoundCard, out: LeftOut) -> tuple[str, ...]:
    said = list(_light_warnings(found))
    if found.card.values == "own":
        said.append(
            "This card is the stash's own reference: colours agree between photos but are not "
            "absolute."
        )
    elif not found.card.absolute:
        said.append(
            "This card's inks were never measured: colours agree with each other but may all be "
            "off together. Photograph it once beside a 24-patch chart to measure them."
        )
    elif out.mean > _OWN_KIND_DE00:
        said.append(
            f"The card's squares do not have the colours of its kind (error {out.mean:.1f}), so "
            "colours agree with each other but are not absolute. Another maker's card is measured "
            "once, by a photo of it beside a 24-patch chart."
        )
    elif out.mean > _ACCEPT_DE00:
        said.append(
            f"Colours of this photo are less sure than usual (error {out.mean:.1f}); more and more "
            "even light helps."
        )
    return tuple(said)


def _check_patches(found: FoundCard) -> None:
    """Refuse a card of which too little is left, and name what took the most of it."""
    usable, neutrals = found.usable | (found.clipped & ~_greys(found)), list(found.card.neutrals)
    usable = usable & ~(found.hidden | found.glaring | found.crossed)
    if usable.sum() >= _LEAST_PATCHES and usable[neutrals].sum() >= _LEAST_NEUTRALS:
        return
    burnt, hidden = int(found.clipped.sum()), int((~found.usable & ~found.clipped).sum())
    if usable.sum() >= _LEAST_PATCHES:
        what = f"Only {int(usable[neutrals].sum())} of the card's greys can be used"
    else:
        what = f"Only {int(usable.sum())} squares of the card can be used"
    if burnt >= hidden:
        raise OverexposedError(
            f"{what}: {burnt} are burnt out. Take the photo again with less light.",
            patches_lost=burnt,
        )
    raise CardCoveredError(
        f"{what}: {hidden} are covered, dirty or in glare. Lay the card flat, free and without "
        "glare, and take the photo again.",
        squares_seen=int(usable.sum()),
    )


def _check_positive(found: FoundCard) -> None:
    """Refuse a negative: squares keep their order in it, and fit a map that turns light round."""
    greys = found.patch_srgb[list(found.card.neutrals)].mean(axis=1)
    half = len(greys) // 2
    if greys[:half].mean() < greys[half:].mean():
        raise CalibrationError(
            "The card's white is darker than its black: this is a negative, or a picture with its "
            "colours turned round. Log the photo as the camera made it.",
            error_de00=math.inf,
        )


def _light_warnings(found: FoundCard) -> list[str]:
    said = []
    if found.shade_light is not None:
        said.append(
            "The edge of a shadow runs over the card. Colours are taken as the brighter part of "
            "it shows them and are less sure; keep card and scraps out of half shade."
        )
    white = found.card.neutrals[0]
    if found.clipped[white]:
        said.append(
            "The white square of the card is burnt out; colours of very light fabrics may be too."
        )
    if float(found.patch_srgb[white].max()) < 0.5:
        said.append("The photo is dark; colours of dark fabrics are less sure.")
    return said


def _patches(found: FoundCard, field: FloatArray | None = None) -> Patches:
    """Weigh the squares: what a channel's end has swallowed tells only how strong it was at least.

    A grey that is burnt out is left out whole, because the tone curves rest on it.
    """
    grey = _greys(found)
    weight = np.where(found.usable, 1.0, 0.0)
    in_the_way = found.hidden | found.glaring | found.crossed
    weight[found.clipped & ~grey & ~in_the_way] = _AT_AN_END
    at_the_bottom = found.patch_srgb.min(axis=1) < _BOTTOM
    weight = np.where(at_the_bottom & ~grey, np.minimum(weight, _AT_AN_END), weight)
    if found.shade_light is not None:
        field = found.shade_light if field is None else field * found.shade_light
    return Patches(found.patch_srgb, found.card.patch_linear, grey, weight, field)


def _greys(found: FoundCard) -> NDArray[np.bool_]:
    grey = np.zeros(len(found.usable), dtype=bool)
    grey[list(found.card.neutrals)] = True
    return grey
