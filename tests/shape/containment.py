"""An independent test of containment: crossing numbers and segment distances, no geometry library.

Written apart from the search and from shapely, so that a yes is checked by other means than it
was found with.
"""

import numpy as np

__all__ = ["distance_to_border", "lies_inside"]


def lies_inside(ring, outline, *, slack=1e-9):
    """Whether every point of the piece keeps the outline's error from its border."""
    piece = np.asarray(ring)
    rings = [np.asarray(one) for one in (outline.points, *outline.holes)]
    if not all(_inside(point, rings) or _on(point, rings, slack) for point in piece):
        return False
    if any(
        _inside(point, [piece]) and not _on(point, [piece], slack) for one in rings for point in one
    ):
        return False
    near = distance_to_border(piece, rings)
    if outline.error_in == 0:
        return not _cross(piece, rings, slack)
    return near >= outline.error_in - slack


def distance_to_border(piece, rings):
    """Least distance between two closed rings' edges; 0 where they cross."""
    if _cross(piece, rings, 0.0):
        return 0.0
    a, b = _edges([piece])
    c, d = _edges(rings)
    return min(_points_to_edges(a, c, d), _points_to_edges(c, a, b))


def _edges(rings):
    start = np.concatenate(rings)
    end = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    kept = np.hypot(*(end - start).T) > 1e-12  # a corner given twice makes no edge
    return start[kept], end[kept]


def _points_to_edges(points, start, end):
    along = end - start
    length2 = (along**2).sum(axis=1)
    off = points[:, None, :] - start[None]
    share = np.clip((off * along[None]).sum(axis=2) / length2, 0, 1)
    gap = off - share[:, :, None] * along[None]
    return float(np.sqrt((gap**2).sum(axis=2).min()))


def _cross(piece, rings, slack):
    """Whether any edges cross by more than the slack: ends clearly on both sides of each other."""
    a, b = _edges([piece])
    c, d = _edges(rings)

    def side(p, q, r):
        ux, uy = q[..., 0] - p[..., 0], q[..., 1] - p[..., 1]
        return (ux * (r[..., 1] - p[..., 1]) - uy * (r[..., 0] - p[..., 0])) / np.hypot(ux, uy)

    a, b, c, d = a[:, None], b[:, None], c[None], d[None]
    one, two = side(a, b, c), side(a, b, d)
    three, four = side(c, d, a), side(c, d, b)
    split = (np.minimum(one, two) < -slack) & (np.maximum(one, two) > slack)
    return bool(
        (split & (np.minimum(three, four) < -slack) & (np.maximum(three, four) > slack)).any()
    )


def _inside(point, rings):
    start, end = _edges(rings)
    crosses = (start[:, 1] <= point[1]) != (end[:, 1] <= point[1])
    rise = np.where(crosses, end[:, 1] - start[:, 1], 1.0)
    x = start[:, 0] + (point[1] - start[:, 1]) / rise * (end[:, 0] - start[:, 0])
    return bool((crosses & (x > point[0])).sum() % 2)


def _on(point, rings, slack):
    start, end = _edges(rings)
    return _points_to_edges(np.asarray(point)[None], start, end) <= slack
