"""Fit the trees that decide whether two cloths are one, and write them as plain numbers."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Iterator

import numpy as np
from sklearn.ensemble import HistGradientBoostingClassifier

from stash.colour.imprint.comparing import ROUGH_LIMIT
from stash.colour.imprint.differences import SETTINGS, differences, rough_difference

__all__ = ["fitted_trees"]

FOLDS = 5
ASKED = 0.985  # share of true pairs of designs not fitted on that is to be asked about
World = tuple[list[str], np.ndarray]


def fitted_trees(worlds: list[World]) -> bytes:
    """Fit on pairs within each world; the limit is set on designs each fit has not seen."""
    columns, numbers, same, fold, missed = _pairs(worlds)
    rest = np.full(len(same), np.nan)
    for one in range(FOLDS):
        out = fold == one
        rest[out] = _model(columns, numbers[~out], same[~out]).decision_function(numbers[out])
    true = np.concatenate([rest[same], np.full(missed, -np.inf)])
    asked_from = float(np.quantile(true, 1 - ASKED, method="lower"))
    for share in (0.9, 0.95, 0.97, 0.98, 0.985, 0.99):
        limit = np.quantile(true, 1 - share, method="lower")
        false = (rest[~same] >= limit).sum() / len(true)
        print(
            f"{share:.1%} of {len(true)} true pairs of unseen designs: {false:.2f} false ones each"
        )
    return _packed(columns, _model(columns, numbers, same), numbers, asked_from)


def _pairs(
    worlds: list[World],
) -> tuple[tuple[str, ...], np.ndarray, np.ndarray, np.ndarray, int]:
    """Give names of columns, numbers of pairs, whether they are one cloth, folds by design."""
    columns: tuple[str, ...] = ()
    numbers, same, fold, missed = [], [], [], 0
    for names, rows in worlds:
        words = np.array(names)
        folds = np.array([_fold(name) for name in names])
        for at in range(len(rows) - 1):
            near = rough_difference(rows[at], rows[at + 1 :]) <= ROUGH_LIMIT
            alike = words[at + 1 :] == words[at]
            missed += int((alike & ~near).sum())
            if not near.any():
                continue
            found = differences(rows[at], rows[at + 1 :][near])
            columns = tuple(found)
            numbers.append(np.stack(list(found.values()), axis=1).astype(np.float32))
            same.append(alike[near])
            fold.append(np.full(int(near.sum()), folds[at]))
    return columns, np.concatenate(numbers), np.concatenate(same), np.concatenate(fold), missed


def _fold(name: str) -> int:
    """Put all colourways and scales of a design into one fold."""
    words = name.split()
    design = " ".join(words[:2]) if words[0] == "solid" else words[0]
    return int(hashlib.sha256(f"fold {design}".encode()).hexdigest(), 16) % FOLDS


def _model(
    columns: tuple[str, ...], numbers: np.ndarray, same: np.ndarray
) -> HistGradientBoostingClassifier:
    bound = [0 if name in SETTINGS else -1 for name in columns]
    return HistGradientBoostingClassifier(
        max_iter=150, learning_rate=0.09, max_leaf_nodes=12, min_samples_leaf=30,
        l2_regularization=1.0, max_features=0.5, monotonic_cst=bound, early_stopping=False,
        random_state=0,
    ).fit(numbers, same)  # fmt: skip


def _packed(
    columns: tuple[str, ...],
    model: HistGradientBoostingClassifier,
    numbers: np.ndarray,
    asked_from: float,
) -> bytes:
    trees = list(_nodes(model))
    starts = np.cumsum([0, *(len(one) for one in trees)])[:-1]
    every = np.concatenate(trees)
    first = np.repeat(starts, [len(one) for one in trees])
    itself = np.arange(len(every))
    leaf = every["is_leaf"].astype(bool)
    nodes = np.stack([
        np.where(leaf, itself, first + every["left"]),
        np.where(leaf, itself, first + every["right"]),
    ], axis=1)  # fmt: skip
    out = io.BytesIO()
    np.savez_compressed(
        out,
        column=np.where(leaf, 0, every["feature_idx"]).astype(np.int16),
        limit=np.where(leaf, np.inf, every["num_threshold"]).astype(np.float32),
        nodes=nodes.astype(np.int32),
        value=np.where(leaf, every["value"], 0).astype(np.float32),
        roots=starts.astype(np.int32),
        depth=int(every["depth"].max()),
        base=float(np.ravel(model._baseline_prediction)[0]),
        columns=np.array(columns),
        asked_from=asked_from,
    )
    return out.getvalue()


def _nodes(model: HistGradientBoostingClassifier) -> Iterator[np.ndarray]:
    for (one,) in model._predictors:
        yield one.nodes
