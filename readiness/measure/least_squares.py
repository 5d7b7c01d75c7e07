"""Weighted least squares with few unknowns in each observation, by orthogonal factors (QR).

Golub and Van Loan, Matrix Computations, 5.3 (chapter from memory): the weighted design is Q R, the solution
R^-1 Q^T b, the covariance R^-1 R^-T, and the squared length of a row of Q is how far its own observation
decides its adjusted value. Nothing is squared on the way, so weights that differ by many powers of ten do no harm.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

U = TypeVar("U", bound=Hashable)

FLAT = 1e-9
"""Share of an unknown's column that must be left over once the unknowns before it are taken out."""
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
    if len(observations) < len(at):
        design = np.vstack([design, np.zeros((len(at) - len(observations), len(at)))])
        measured = np.concatenate([measured, np.zeros(len(at) - len(observations))])
    q, r = np.linalg.qr(design)
    size = np.linalg.norm(design, axis=0)
    flat = np.flatnonzero(np.abs(np.diag(r)) <= FLAT * size)
    if flat.size:
        raise UndeterminedError(unknowns[int(flat[0])])
    inverse = np.triu(np.linalg.inv(r))
    values = inverse @ (q.T @ measured)
    off = design @ values - measured
    free = np.sqrt(np.maximum(1.0 - (q * q).sum(axis=1), 0.0))
    standardised = np.where(free > math.sqrt(UNCHECKED), off / np.where(free > 0, free, 1.0), 0.0)
    return Solution(
        dict(zip(unknowns, values.tolist(), strict=True)),
        inverse.tolist(),
        tuple(v * one.u for v, one in zip(off.tolist(), observations, strict=False)),
        tuple(standardised.tolist()[: len(observations)]),
        float(off @ off),
        len(observations) - len(at),
    )
