"""`python -m tests.simulation --cars 10000`: how often the engine is wrong, as a table."""

from __future__ import annotations

import argparse
import sys
from time import process_time
from typing import get_args

from tests.simulation.cars import Simulated
from tests.simulation.tally import Tally, tallied
from tests.simulation.tools import Temper


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cars", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=2026)
    parser.add_argument(
        "--factor", type=float, help="w in u, in place of 1.645: shows what a careless engine does"
    )
    parser.add_argument(
        "--temper", choices=get_args(Temper), help="how all tools err; otherwise each as it likes"
    )
    asked = parser.parse_args()
    began = process_time()
    tally: Tally = tallied(
        (Simulated.drawn(asked.seed, n, asked.temper) for n in range(asked.cars)), asked.factor
    )
    print(tally.table())
    for words, times in tally.odd.most_common(10):
        print(f"not simulated, {times} times: {words}")
    print(f"\n{asked.cars} cars, seed {asked.seed}, {process_time() - began:.0f} s of one core")
    found = list(tally.too_often())
    print("\n".join(("above the stated 5 %:", *found)) if found else "nothing is above the stated 5 %")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
