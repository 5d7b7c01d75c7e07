"""Matrix games, many at once: the largest of the smallest of mixtures.

Over a cell, functions that are convex lie below the mixture of their values at its corners. So the largest
smallest of them is at most max over mixtures of corners of the smallest mixture: the value of a game. Solved by
the simplex method (Dantzig 1951); whatever rounding does, the mixture of functions that it ends with proves
the bound.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_COLUMNS = 16
"""So many functions are enough for a bound."""
_PIVOTS = 24
_FLAT = 1e-9


def value_of(values: Array) -> tuple[Array, Array]:
    """Upper bounds of the games' values, and mixtures of corners that nearly reach them.

    `values` has a matrix a game, its rows corners, its columns functions.
    """
    import numpy as np

    games, corners, functions = values.shape
    least = values.min(axis=(1, 2))
    width = np.maximum(values.max(axis=(1, 2)) - least, 1e-12)
    scaled = (values - least[:, None, None]) / width[:, None, None] + 0.5
    t = np.zeros((games, corners + 1, functions + corners + 1))
    t[:, :corners, :functions] = scaled
    t[:, np.arange(corners), functions + np.arange(corners)] = 1.0
    t[:, :corners, -1] = 1.0
    t[:, corners, :functions] = -1.0
    basis = np.tile(np.arange(functions, functions + corners), (games, 1))
    _pivot(t, basis)
    weights = np.zeros((games, functions + corners))
    np.put_along_axis(weights, basis, t[:, :corners, -1], axis=1)
    weights = np.maximum(weights[:, :functions], 0.0)
    total = weights.sum(axis=1, keepdims=True)
    weights = np.where(total > 0, weights / np.where(total > 0, total, 1.0), 1.0 / functions)
    bound = np.einsum("grf,gf->gr", values, weights).max(axis=1)
    mixture = np.maximum(t[:, corners, functions:-1], 0.0) + 1e-15
    return bound, mixture / mixture.sum(axis=1, keepdims=True)


def _pivot(t: Array, basis: NDArray[np.intp]) -> None:
    """Pivots until no game gains by another, or there were enough."""
    import numpy as np

    at = np.arange(len(t))
    for _ in range(_PIVOTS):
        enter = t[:, -1, :-1].argmin(axis=1)
        going = t[at, -1, enter] < -_FLAT
        if not going.any():
            return
        column = t[at, :, enter]
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = np.where(column[:, :-1] > _FLAT, t[:, :-1, -1] / column[:, :-1], np.inf)
        leave = ratio.argmin(axis=1)
        going &= np.isfinite(ratio[at, leave])
        row = t[at, leave] / np.where(going, column[at, leave], 1.0)[:, None]
        column[at, leave] -= 1.0
        column[~going] = 0.0
        t -= column[:, :, None] * row[:, None, :]
        basis[at[going], leave[going]] = enter[going]


def most_telling(values: Array) -> Array:
    """Few functions of each game: the smallest in each corner, and those whose largest value is smallest."""
    import numpy as np

    _, corners, functions = values.shape
    if functions <= _COLUMNS:
        return values
    least = values.argmin(axis=2)
    lowest = np.argpartition(values.max(axis=1), _COLUMNS - corners, axis=1)[:, : _COLUMNS - corners]
    chosen = np.concatenate([least, lowest], axis=1)
    found: Array = np.take_along_axis(values, chosen[:, None, :], axis=2)
    return found
