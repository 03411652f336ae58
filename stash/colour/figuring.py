"""How a cloth is figured: plain, tone-on-tone, print, stripe or plaid; direction and repeat."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any, TypeAlias

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.colour.appearance import PrintKind
from stash.colour.cloth_sample import Cloth
from stash.colour.spaces import FloatArray, linear_of_srgb

__all__ = ["Figuring", "figuring_of", "kind_of"]

_DISC_PX = 128
_ANGLES = 60  # steps of 3 degrees
_SKEW_STEPS = 2  # a phone held 25 degrees off turns a right angle by 6
# Limits tuned on pictures of real cloth and on made cloth of every kind in many scales (judgement).
_PLAIN_BELOW = 3.0  # RMS contrast, Lab
_SOFT_PLAIN_BELOW, _SOFT_TONE_BELOW = 1.5, 3.4  # the same once the weave is blurred away
_WEAVE_BLUR_PX, _MOTIF_BLUR_PX = 1.0, 3.0
# Of the soft contrast, what the blurred one keeps of threads that lie at random: of a motif as fine
# it keeps less, of a large one more.
_WEAVE_KEPT, _WEAVE_BELOW = (0.45, 0.68), 4.0  # the last of the contrast; tweeds have more
_COARSE_WEAVE, _COARSE_BELOW = 0.4, 4.0  # share of the contrast that is soft; at most so much
# Clouds of one dye: nearly all of the contrast is soft, and more of it than a weave has.
_MOTTLED, _MOTTLED_FROM, _MOTTLED_BELOW = 0.82, 2.4, 4.2
_STRIPE_FROM, _STRIPE_ACROSS_BELOW = 0.85, 0.08
_WOVEN_STRIPE_FROM, _WOVEN_ACROSS_BELOW = 0.6, 0.05  # with threads of its own across
_PLAID_ACROSS_FROM, _PLAID_BOTH_FROM = 0.08, 0.845
# Thin lines both ways: each is one colour from end to end, where rows of dots are broken.
_PANE_ACROSS_FROM, _PANE_BOTH_FROM, _PANE_BROKEN_BELOW = 0.2, 0.65, 0.35
_BOLDEST, _LEAST_BAR_PX = 0.06, 25  # share of the disc in the boldest bars; the shortest that tell
_REPEAT_POWER = 0.20
_REPEATS_IN_VIEW = 3.0
# Over more repeats than this a slanting view and a direction in steps smear lines that are there.
_REPEATS_FOR_LINES = 4.0
_LINEAR = linear_of_srgb(np.arange(256) / 255).astype(np.float32)

Float32Array: TypeAlias = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Figuring:
    """What was measured on the figure of a cloth.

    Attributes
    ----------
    contrast : float
        RMS distance in Lab from the mean, uneven light taken out.
    soft_contrast : float
        The same once the weave is blurred away.
    motif_contrast : float
        The same once fine motifs are blurred away as well.
    value_contrast : float
        P90 - P10 of L* of the slightly blurred cloth.
    along, across : float
        Share of the variance that straight lines in the strongest direction explain, and at
        the right angle to it; over a few repeats where the repeat is sure, 0 on cloth without
        a figure.
    broken : float
        How far the boldest lines, along or across, are from one colour: variance within them over
        what sets them off; 0 for unbroken lines, infinite where no line is bold.
    lines_deg : float
        Direction of those lines in the picture, degrees counter-clockwise from x, 0..180.
    at_px : tuple of float
        Where in the cloth they were looked at, x and y.
    repeat_px : float or None
        Length of the strongest repeat, pixels of the cloth.
    repeat_sure : bool
        Whether it holds enough of the power and fits three times into the view.
    """

    contrast: float
    soft_contrast: float
    motif_contrast: float
    value_contrast: float
    along: float
    across: float
    broken: float
    lines_deg: float
    at_px: tuple[float, float]
    repeat_px: float | None
    repeat_sure: bool


def kind_of(figuring: Figuring, colours: int) -> PrintKind:
    """Name the kind of figure; ``colours`` is the number of dominant colours."""
    f = figuring
    if f.contrast >= _PLAIN_BELOW:
        if _is_stripe(f):
            return PrintKind.STRIPE
        if _is_plaid(f):
            return PrintKind.PLAID
    if _is_mottled(f):
        return PrintKind.TONE
    if f.soft_contrast < _SOFT_PLAIN_BELOW or _is_weave(f):
        return PrintKind.PLAIN
    if colours > 1 and f.soft_contrast >= _SOFT_TONE_BELOW:
        return PrintKind.PRINT
    return PrintKind.PLAIN if f.contrast < _PLAIN_BELOW else PrintKind.TONE


def _is_stripe(f: Figuring) -> bool:
    even = f.along >= _STRIPE_FROM and f.across < _STRIPE_ACROSS_BELOW
    return even or (f.along >= _WOVEN_STRIPE_FROM and f.across < _WOVEN_ACROSS_BELOW)


def _is_plaid(f: Figuring) -> bool:
    both = f.along + f.across
    if f.across >= _PLAID_ACROSS_FROM and both >= _PLAID_BOTH_FROM:
        return True
    panes = f.across >= _PANE_ACROSS_FROM and both >= _PANE_BOTH_FROM
    return panes and f.broken < _PANE_BROKEN_BELOW


def _is_mottled(f: Figuring) -> bool:
    soft = f.soft_contrast >= _MOTTLED * f.contrast
    return soft and f.contrast >= _MOTTLED_FROM and f.soft_contrast < _MOTTLED_BELOW


def _is_weave(f: Figuring) -> bool:
    """Whether all the contrast there is may be threads that lie at random, or a coarse weave."""
    low, high = _WEAVE_KEPT
    random = low <= f.motif_contrast / f.soft_contrast <= high and f.contrast < _WEAVE_BELOW
    coarse = f.soft_contrast < min(_COARSE_BELOW, _COARSE_WEAVE * f.contrast)
    return random or coarse


def figuring_of(cloth: Cloth) -> Figuring:
    """Measure the figure on the largest disc that lies within the cloth."""
    disc = _largest_disc(cloth.mask)
    lab = _lab(cloth, disc)
    flat = _without_plane(lab)
    crisp, soft = _on_disc(flat), _softened(flat, _WEAVE_BLUR_PX)
    motif_contrast = _root_mean_square(_softened(flat, _MOTIF_BLUR_PX))
    lightness = cv2.GaussianBlur(lab[..., 0], (0, 0), 1.0).take(_places())
    p10, p90 = np.percentile(lightness, [10, 90])
    contrast, soft_contrast = _root_mean_square(crisp), _root_mean_square(soft)
    figured = contrast >= _PLAIN_BELOW or soft_contrast >= _SOFT_PLAIN_BELOW
    repeat, sure = _repeat(flat, crisp) if figured else (None, False)
    lines = soft
    if sure and repeat and repeat * _REPEATS_FOR_LINES < _DISC_PX:
        near = disc.shrunk(repeat * _REPEATS_FOR_LINES / _DISC_PX)
        lines = _softened(_without_plane(_lab(cloth, near)), _WEAVE_BLUR_PX)
    along, across, broken, lines_deg = _direction(lines) if figured else (0.0, 0.0, 0.0, 0.0)
    return Figuring(
        contrast=contrast,
        soft_contrast=soft_contrast,
        motif_contrast=motif_contrast,
        value_contrast=float(p90 - p10),
        along=along,
        across=across,
        broken=broken,
        lines_deg=lines_deg,
        at_px=(disc.column, disc.row),
        repeat_px=None if repeat is None else repeat * disc.width / _DISC_PX,
        repeat_sure=sure,
    )


@dataclass(frozen=True, slots=True)
class _Disc:
    """A disc of cloth: its centre and radius in pixels of the crop."""

    row: int
    column: int
    radius: int

    @property
    def width(self) -> int:
        """How many pixels it is across."""
        return 2 * self.radius

    def shrunk(self, times: float) -> _Disc:
        """Give a smaller one about the same middle, four pixels in radius at least."""
        return _Disc(self.row, self.column, max(4, round(self.radius * times)))


def _largest_disc(mask: NDArray[np.bool_]) -> _Disc:
    step = max(1, max(mask.shape) // 256)
    small = np.ascontiguousarray(mask[::step, ::step]).astype(np.uint8)
    padded = cv2.copyMakeBorder(small, 1, 1, 1, 1, cv2.BORDER_CONSTANT)
    depth = cv2.distanceTransform(padded, cv2.DIST_L2, 5)[1:-1, 1:-1]
    row, column = divmod(int(depth.argmax()), depth.shape[1])
    radius = max(int((float(depth[row, column]) - 1) * step), 1)
    return _Disc(row * step, column * step, radius)


def _lab(cloth: Cloth, disc: _Disc) -> Float32Array:
    """Lab of the square round a disc of cloth, resized to the size figures are measured at."""
    top, left = max(0, disc.row - disc.radius), max(0, disc.column - disc.radius)
    square = cloth.srgb[top : top + disc.width, left : left + disc.width]
    if min(square.shape[:2]) > 2 * _DISC_PX:  # halved first, the rest takes a quarter of the time
        half = (square.shape[1] // 2, square.shape[0] // 2)
        square = np.asarray(cv2.resize(square, half, interpolation=cv2.INTER_AREA), np.uint8)
    way = cv2.INTER_AREA if max(square.shape[:2]) > _DISC_PX else cv2.INTER_LINEAR
    resized = cv2.resize(square, (_DISC_PX, _DISC_PX), interpolation=way)
    return _float32(cv2.cvtColor(cv2.LUT(resized, _LINEAR), cv2.COLOR_LRGB2LAB))


def _softened(flat: Float32Array, blur_px: float) -> Float32Array:
    """Pixels of the disc (n, 3) once what is finer is blurred away."""
    return _on_disc(_float32(cv2.GaussianBlur(flat, (0, 0), blur_px)))


@cache
def _inside(size: int) -> Any:
    y, x = np.mgrid[:size, :size] - (size - 1) / 2
    return np.hypot(x, y) <= size / 2


@cache
def _places() -> Any:
    """Flat places of the disc's pixels; picking by place is several times faster than by mask."""
    return np.flatnonzero(_inside(_DISC_PX))


def _float32(picture: NDArray[Any]) -> Float32Array:
    return np.asarray(picture, dtype=np.float32)


def _on_disc(picture: Float32Array) -> Float32Array:
    """Give the disc's pixels (n, 3)."""
    return np.asarray(picture.reshape(-1, 3).take(_places(), axis=0))


@cache
def _slopes() -> Float32Array:
    """Columns 1, x and y over the disc's pixels, each of length one; at right angles on a disc."""
    inside = _inside(_DISC_PX)
    y, x = np.mgrid[:_DISC_PX, :_DISC_PX] - (_DISC_PX - 1) / 2
    columns = np.stack([np.ones(int(inside.sum())), x[inside], y[inside]], axis=1)
    return _float32(columns / np.linalg.norm(columns, axis=0))


def _without_plane(lab: Float32Array) -> Float32Array:
    """Take out the mean and an even slope of light; 0 off the disc."""
    on_disc, slopes = _on_disc(lab), _slopes()
    flat = np.zeros_like(lab)
    flat.reshape(-1, 3)[_places()] = on_disc - slopes @ (slopes.T @ on_disc)
    return flat


@cache
def _bars() -> tuple[Any, FloatArray]:
    """Sum of each one-pixel bar of the disc at each angle, as a sparse matrix, and bar counts."""
    from scipy.sparse import csr_matrix  # only needed with a picture at hand

    inside = _inside(_DISC_PX)
    y, x = np.mgrid[:_DISC_PX, :_DISC_PX] - (_DISC_PX - 1) / 2
    x, y = x[inside], -y[inside]
    angles = np.radians(np.arange(_ANGLES) * 180 / _ANGLES)
    # Lines in direction t are told apart by the offset along the normal of t.
    offset = -np.sin(angles)[:, None] * x + np.cos(angles)[:, None] * y
    bar = (
        np.round(offset + _DISC_PX / 2).astype(np.int64)
        + np.arange(_ANGLES)[:, None] * 2 * _DISC_PX
    )
    pixel = np.broadcast_to(np.arange(len(x)), bar.shape)
    ones = np.ones(bar.size, dtype=np.float32)
    shape = (_ANGLES * 2 * _DISC_PX, len(x))
    matrix = csr_matrix((ones, (bar.ravel(), pixel.ravel())), shape=shape)
    return matrix, np.asarray(matrix.sum(axis=1), dtype=np.float64).ravel()


def _root_mean_square(on_disc: Float32Array) -> float:
    return float(np.sqrt(np.vdot(on_disc, on_disc) / len(on_disc)))


def _direction(on_disc: Float32Array) -> tuple[float, float, float, float]:
    """Share of variance explained along the best lines and across them, how broken they are.

    The last number is the lines' direction.
    """
    total = float(np.vdot(on_disc, on_disc))
    if total <= 0:
        return 0.0, 0.0, 0.0, 0.0
    matrix, count = _bars()
    # One channel at a time is three times faster than all at once.
    channels = np.ascontiguousarray(on_disc.T)
    between = np.square([matrix @ one for one in channels]).sum(axis=0) / np.maximum(count, 1)
    shares = between.reshape(_ANGLES, -1).sum(axis=1) / total
    best = int(shares.argmax())
    # Seen at a slant, lines that cross at right angles do not.
    crossing = (best + _ANGLES // 2 + np.arange(-_SKEW_STEPS, _SKEW_STEPS + 1)) % _ANGLES
    other = int(crossing[shares[crossing].argmax()])
    whole = matrix @ np.square(channels).sum(axis=0)
    broken = max(_broken(count, between, whole, angle) for angle in (best, other))
    return (
        float(shares[best]),
        float(shares[other]),
        broken,
        _peak(shares, best) * 180 / _ANGLES % 180,
    )


def _broken(count: FloatArray, between: FloatArray, whole: FloatArray, angle: int) -> float:
    """Variance within the boldest bars at an angle over what sets them off from the mean."""
    bars = slice(angle * 2 * _DISC_PX, (angle + 1) * 2 * _DISC_PX)
    long = np.flatnonzero(count[bars] >= _LEAST_BAR_PX)
    pixels, apart, all_in = (values[bars][long] for values in (count, between, whole))
    order = np.argsort(-apart / pixels)
    most = int(np.searchsorted(np.cumsum(pixels[order]), _BOLDEST * pixels.sum())) + 1
    bold = order[:most]
    set_off = float(apart[bold].sum())
    # Thin lines are further from the mean than most of the cloth; bare ground between rows of
    # dots, as unbroken, is nearer to it.
    usual = float(all_in.sum() / pixels.sum() * pixels[bold].sum())
    return float((all_in[bold] - apart[bold]).sum()) / set_off if set_off > usual else np.inf


def _peak(values: FloatArray, best: int) -> float:
    """Where a parabola through the highest value and its neighbours has its top."""
    before, top, after = (values[(best + step) % len(values)] for step in (-1, 0, 1))
    curve = before - 2 * top + after
    return best + (0.5 * float((before - after) / curve) if curve < 0 else 0.0)


def _repeat(flat: Float32Array, on_disc: Float32Array) -> tuple[float | None, bool]:
    """Wavelength of the strongest peak of the power spectrum, and whether to trust it."""
    if not on_disc.any():
        return None, False
    axis = np.linalg.eigh(on_disc.T @ on_disc)[1][:, -1]
    size = flat.shape[0]
    window = np.hanning(size)
    power = np.abs(np.fft.fft2((flat @ axis) * window[:, None] * window)) ** 2
    power[0, 0] = 0.0
    row, column = np.unravel_index(int(power.argmax()), power.shape)
    around = [np.arange(i - 3, i + 4) % size for i in (row, column)]
    patch = power[np.ix_(*around)]
    offsets = np.arange(-3, 4)
    fy = _signed(int(row), size) + float((patch.sum(axis=1) * offsets).sum() / patch.sum())
    fx = _signed(int(column), size) + float((patch.sum(axis=0) * offsets).sum() / patch.sum())
    frequency = float(np.hypot(fx, fy))
    if frequency <= 0:
        return None, False
    # The spectrum of a real picture is symmetric: the peak and its mirror image hold the power.
    held = 2 * patch.sum() / power.sum()
    return size / frequency, bool(held >= 2 * _REPEAT_POWER and frequency > _REPEATS_IN_VIEW)


def _signed(index: int, size: int) -> int:
    return index - size if index > size // 2 else index
