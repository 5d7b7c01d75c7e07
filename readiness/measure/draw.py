"""A sample drawn by chance, in which some things are likelier than others."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

SEEDS = 2**32
"""Seeds are whole numbers from 0 to below this."""


def drawn(weights: Sequence[float], count: int, seed: int) -> list[int]:
    """Positions of at most `count` things, in the order in which they come, none twice.

    Each next one is any that is left, with a chance in proportion to its weight: the keys u^(1/w) of Efraimidis and
    Spirakis (Information Processing Letters 97, 2006; from memory), the largest first, here as their logarithms. The same
    seed draws the same things on every machine. Raises ValueError for a weight that is not above zero.
    """
    if not all(math.isfinite(w) and w > 0 for w in weights):
        raise ValueError("every weight is a number above zero")
    chance = random.Random(seed)
    keys = [math.log(1.0 - chance.random()) / w for w in weights]
    return sorted(range(len(weights)), key=lambda n: -keys[n])[: max(count, 0)]
