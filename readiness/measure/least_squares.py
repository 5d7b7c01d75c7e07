"""Weighted least squares with few unknowns in each observation.

Normal equations with a diagonal of ones, by Cholesky; orthogonal factors, with twice the digits and ten times as
slow, where those do not have digits enough (Golub and Van Loan, Matrix Computations, 4.2 and 5.3; residuals
and their own u after Mikhail and Ackermann, Observations and Least Squares, 1976; chapters from memory).
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TypeVar

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

U = TypeVar("U", bound=Hashable)

DIGITS = 1e-10
"""Share of an unknown's weight left over once those before it are taken out, below which Cholesky has too few digits."""
FLAT = 1e-9
"""Root of that share below which nothing determines the unknown."""
UNCHECKED = 1e-9
"""Share of an observation's variance below which nothing else says what it should be."""


@dataclass(frozen=True, slots=True)
class Observation(Generic[U]):
    """A measured sum of unknowns, each times its coefficient, with its standard uncertainty > 0."""

    parts: Mapping[U, float]
    value: float
    u: float


@dataclass(frozen=True, slots=True)
class Solution(Generic[U]):
    """Adjusted unknowns. `root` is upper triangular and root root^T the covariance, which rests on the stated u.

    Residuals are adjusted minus measured; `standardised` are in units of their own u, 0 where nothing
    checks an observation.
    """

    values: dict[U, float]
    root: list[list[float]]
    residuals: tuple[float, ...]
    standardised: tuple[float, ...]
    chi_square: float
    dof: int

    @property
    def s0(self) -> float:
        """Near 1 where the stated u are right; NaN without redundancy."""
        return math.sqrt(self.chi_square / self.dof) if self.dof else math.nan


def widening(s0: float) -> float:
    """What every u is to be multiplied by: s0 where it is over 1 (the Birge ratio), never less than 1.

    Observations that scatter more than their stated u were worse than stated; ones that happen to scatter
    less were not better. It does not wait for a significant s0: a rule with a step would change its mind
    over a hundredth of a millimetre.
    """
    return s0 if s0 > 1.0 else 1.0


class UndeterminedError(ValueError):
    """Some unknown does not follow from the observations; `unknown` is the first such one."""

    def __init__(self, unknown: Hashable) -> None:
        super().__init__(f"nothing determines {unknown}")
        self.unknown = unknown


def solved(observations: Sequence[Observation[U]], unknowns: Sequence[U]) -> Solution[U]:
    """Adjust the observations, weights 1 / u^2. Raises UndeterminedError where they do not determine an unknown."""
    import numpy as np

    at = {unknown: k for k, unknown in enumerate(unknowns)}
    design = np.zeros((len(observations), len(at)))
    for i, one in enumerate(observations):
        for unknown, coefficient in one.parts.items():
            design[i, at[unknown]] += coefficient / one.u
    measured = np.array([one.value / one.u for one in observations])
    root, flat = _root(design)
    if flat is not None:
        raise UndeterminedError(unknowns[flat])
    values = root @ (root.T @ (design.T @ measured))
    values -= root @ (
        root.T @ (design.T @ (design @ values - measured))
    )  # the digits that the first step lost
    off = design @ values - measured
    free = np.sqrt(np.maximum(1.0 - ((design @ root) ** 2).sum(axis=1), 0.0))
    standardised = np.where(free > math.sqrt(UNCHECKED), off / np.where(free > 0, free, 1.0), 0.0)
    return Solution(
        dict(zip(unknowns, values.tolist(), strict=True)),
        root.tolist(),
        tuple(v * one.u for v, one in zip(off.tolist(), observations, strict=True)),
        tuple(standardised.tolist()),
        float(off @ off),
        len(observations) - len(at),
    )


def _root(design: NDArray[np.float64]) -> tuple[NDArray[np.float64], int | None]:
    """The upper triangular root of the covariance, and the number of the first unknown that is not determined."""
    import numpy as np

    size = np.linalg.norm(design, axis=0)
    scale = 1.0 / np.where(size > 0, size, 1.0)
    upper = _upper(design * scale)
    flat = np.flatnonzero(np.abs(np.diag(upper)) <= FLAT)
    if flat.size:
        return upper, int(flat[0])
    return scale[:, None] * np.triu(np.linalg.inv(upper)), None


def _upper(design: NDArray[np.float64]) -> NDArray[np.float64]:
    """Upper triangular factor of the normal equations of a design with columns of length 1."""
    import numpy as np

    try:
        low = np.linalg.cholesky(design.T @ design)
        if (np.diag(low) ** 2 > DIGITS).all():
            return np.asarray(low.T, dtype=np.float64)
    except np.linalg.LinAlgError:
        pass
    square = np.zeros((design.shape[1], design.shape[1]))
    return np.asarray(np.linalg.qr(np.vstack([design, square]), mode="r"), dtype=np.float64)
