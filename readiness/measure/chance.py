"""How likely chance alone is to do as much: the upper tail of chi-square, and Student's t.

Chi-square by the incomplete gamma function, its series below the middle and its continued fraction above
(DLMF 8.11.4 and 8.9.2, evaluated by the method of Lentz; numbers from memory).
"""

from __future__ import annotations

import math

NORMAL_95 = 1.6448536269514722
"""What a normal deviate stays under 95 times in 100."""
_EXACT = 1e-15
_TINY = 1e-300


def chi_square_tail(x: float, dof: int) -> float:
    """Probability that chi-square with `dof` degrees of freedom exceeds x >= 0.

    Raises ValueError for fewer than one degree of freedom and for an x that is no number or below 0.
    """
    if dof < 1:
        raise ValueError(f"chi-square needs at least one degree of freedom, not {dof}")
    if not x >= 0:
        raise ValueError(f"chi-square is 0 or more, not {x:g}")
    a, half = dof / 2.0, x / 2.0
    if half == 0 or math.isinf(half):
        return 1.0 if half == 0 else 0.0
    scale = math.exp(a * math.log(half) - half - math.lgamma(a))
    return 1.0 - scale * _series(a, half) if half < a + 1 else scale * _fraction(a, half)


def student(dof: int) -> float:
    """The t that Student's distribution stays under 95 times in 100; 1.645 for very many degrees of freedom.

    Exact for one and two, else the expansion about the normal one (Abramowitz and Stegun 26.7.5, from memory),
    within 0.3 %. Raises ValueError for fewer than one degree of freedom.
    """
    if dof < 1:
        raise ValueError(f"Student's t needs at least one degree of freedom, not {dof}")
    if dof == 1:
        return math.tan(0.45 * math.pi)
    if dof == 2:
        return 0.9 * math.sqrt(2.0 / 0.19)
    z, n = NORMAL_95, float(dof)
    first, second = (z**3 + z) / 4.0, (5.0 * z**5 + 16.0 * z**3 + 3.0 * z) / 96.0
    third = (3.0 * z**7 + 19.0 * z**5 + 17.0 * z**3 - 15.0 * z) / 384.0
    return z + first / n + second / n**2 + third / n**3


def two_sided(dof: int, share: float = 0.95) -> float:
    """The t within which, either way of nought, Student's distribution keeps `share` of its values.

    Exact for any whole number of degrees of freedom: the finite sums of Abramowitz and Stegun 26.7.3 and 26.7.4
    (from memory; the tests compare with scipy), solved by halving. Raises ValueError for fewer than one degree of
    freedom and for a share that lies not between 0 and 1.
    """
    if dof < 1 or not 0.0 < share < 1.0:
        raise ValueError(f"Student's t has no value for {dof} degrees of freedom and a share of {share:g}")
    low, high = 0.0, 0.5 * math.pi
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _within(middle, dof) < share else (low, middle)
    return math.sqrt(dof) * math.tan(low)


def _within(angle: float, dof: int) -> float:
    """The share of Student's distribution from -t to t, with tan(angle) = t / sqrt(dof)."""
    cosine, sine = math.cos(angle), math.sin(angle)
    odd = dof % 2 == 1
    term, total = (cosine, 0.0) if odd else (1.0, 0.0)
    for k in range(2 if odd else 1, dof, 2):
        total += term
        term *= cosine * cosine * k / (k + 1)
    return 2.0 / math.pi * (angle + sine * total) if odd else sine * total


def _series(a: float, x: float) -> float:
    term = total = 1.0 / a
    k = a
    while term > _EXACT * total:
        k += 1.0
        term *= x / k
        total += term
    return total


def _fraction(a: float, x: float) -> float:
    b = x + 1.0 - a
    c, d = 1.0 / _TINY, 1.0 / b
    value, k, step = d, 0, 0.0
    while abs(step - 1.0) > _EXACT:
        k += 1
        b += 2.0
        part = -k * (k - a)
        d = 1.0 / _sized(part * d + b)
        c = _sized(b + part / c)
        step = d * c
        value *= step
    return value


def _sized(value: float) -> float:
    """A divisor, never so near to zero that dividing by it overflows."""
    return value if abs(value) > _TINY else _TINY
