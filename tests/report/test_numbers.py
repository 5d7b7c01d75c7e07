"""Numbers of a report: so exact that whoever has the paper can work the rest out again."""

from __future__ import annotations

import pytest

from readiness.report.numbers import chance, spread
from tests.papers import CLOSED, of_job
from tests.shop import demo_shop


@pytest.mark.parametrize(
    ("value", "unit", "system", "told"),
    [
        # two digits suffice (JCGM 100:2008, 7.2.6, from memory)
        (0.35, "mm", "metric", "0.35 mm"),
        (0.0645497, "mm", "metric", "0.065 mm"),
        (0.1061843, "mm", "metric", "0.106 mm"),  # a third digit where the first is a one
        (1.3523502, "kPa", "metric", "1.35 kPa"),
        (1.3523502, "kPa", "us", "0.196 psi"),  # 1 psi is 6.894757 kPa (NIST SP 811, from memory)
        (123.4, "lx", "metric", "123 lx"),
        (0.5, "degC", "us", "0.9 °F"),  # a difference of temperatures, no temperature
        (0.02, "fraction", "metric", "2 %"),
        (1e-12, "mm", "metric", "0 mm"),
        (0.0, "mm", "metric", ""),
        (None, "mm", "metric", ""),
    ],
)
def test_an_uncertainty_is_told_to_two_digits_or_three(value, unit, system, told):
    assert spread(value, unit, system) == told


@pytest.mark.parametrize(
    ("p", "told"), [(0.99999, "> 99.99 %"), (1e-6, "< 0.01 %"), (0.5, "50.0 %"), (0.9985, "99.85 %")]
)
def test_a_chance_is_never_rounded_to_certainty(p, told):
    assert chance(p).replace("\u00a0", " ") == told


def test_what_is_printed_suffices_to_find_the_probability_again(tmp_path):
    """scipy as an oracle (JCGM 106:2012, 7.2): P of the printed numbers is the printed P."""
    norm = pytest.importorskip("scipy.stats").norm
    told, _ = of_job(demo_shop(tmp_path), CLOSED)
    parts = [p for f in told.findings for p in f.finding.parts if p.p_conform is not None and p.u]
    checked = 0
    for part in parts:
        u = float(spread(part.u, part.unit, "metric").split()[0].rstrip("°"))
        if part.low is None or part.high is None or part.unit == "fraction":
            continue
        checked += 1
        p = norm.cdf((part.high - part.value) / u) - norm.cdf((part.low - part.value) / u)
        assert p == pytest.approx(part.p_conform, abs=2e-4), part.key
    assert checked > 8
