"""Tyre sizes, diameters, load indices and speed symbols against UN R30 / ISO 4000-1 and printed pages."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.measure.tyre import (
    LOAD_INDEX_KG,
    NOMINAL_RIM_MM,
    TyreSize,
    design_diameter_mm,
    diameter_mm,
    load_capacity_kg,
    parse_size,
    speed_kmh,
)
from tests.outside import entries, rows


@pytest.mark.parametrize("row", rows("tyre_sizes", lambda r: r["size"]))
def test_diameters(row):
    size = parse_size(row["size"])
    assert diameter_mm(size) == pytest.approx(row["d_exact_mm"], abs=1e-9)
    assert design_diameter_mm(size) == row["d_design_mm"]
    if row["published_web_mm"] is not None:
        # public pages cut off or round to whole mm
        assert diameter_mm(size) == pytest.approx(row["published_web_mm"], abs=1.0)


@pytest.mark.parametrize(("code", "mm"), entries("tyre_nominal_rim_mm", prefix="rim"))
def test_nominal_rims(code, mm):
    assert NOMINAL_RIM_MM[code] == mm


@pytest.mark.parametrize(("index", "kg"), entries("load_index_kg", prefix="LI"))
def test_load_index(index, kg):
    assert load_capacity_kg(index) == kg


@pytest.mark.parametrize(("symbol", "kmh"), entries("speed_symbol_kmh", prefix="speed-"))
def test_speed_symbol(symbol, kmh):
    assert speed_kmh(symbol) == kmh == speed_kmh(symbol.lower())


def test_load_indices_from_memory_lie_on_the_preferred_numbers():
    """The table is a series of preferred numbers (ISO 3, R80, from memory): 450 * 10^((LI - 80) / 80).

    A digit typed wrong, as in public tables that print 165 for 62 and 478 for 83, would stand out.
    """
    assert sorted(LOAD_INDEX_KG) == list(range(60, 127))
    for index, kg in LOAD_INDEX_KG.items():
        assert kg == pytest.approx(450 * 10 ** ((index - 80) / 80), rel=0.02)
    ordered = [LOAD_INDEX_KG[i] for i in sorted(LOAD_INDEX_KG)]
    assert all(a < b for a, b in pairwise(ordered))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("215/60 R17 96H", TyreSize(215, 60, 17, 96, "H")),
        ("215/60R17", TyreSize(215, 60, 17)),
        ("P215/60R17", TyreSize(215, 60, 17)),
        ("  215/60 r17  96h ", TyreSize(215, 60, 17, 96, "H")),
        ("225/45 R17 94W XL", TyreSize(225, 45, 17, 94, "W")),
        ("225/45 R17 XL", TyreSize(225, 45, 17)),
        ("205/55ZR16", TyreSize(205, 55, 16)),
        ("205/55 ZR16 (91Y)", TyreSize(205, 55, 16, 91, "Y")),
        ("215/65R16C 109/107T", TyreSize(215, 65, 16, 109, "T")),
        ("205/55 R16 91 V", TyreSize(205, 55, 16, 91, "V")),
        ("205/55R16 91T M+S", TyreSize(205, 55, 16, 91, "T")),
    ],
)
def test_sizes_as_people_write_them(text, expected):
    assert parse_size(text) == expected


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "not a tyre size"),
        ("215/60", "not a tyre size"),
        ("215-60-17", "not a tyre size"),
        ("31x10.5 R15", "not a tyre size"),
        ("215/60 R17 96", "not a tyre size"),
        ("215/60 R17 garage", "not a tyre size"),
        ("216/60 R17", "end in 5"),
        ("210/60 R17", "end in 5"),
        ("805/60 R17", "width"),
        ("215/05 R17", "aspect"),
        ("215/60 R71", "rim"),
        ("215/60 R17 300H", "load index 300"),
        ("215/60 R17 96A", "speed symbol 'A'"),
        ("２１５/60 R17", "not a tyre size"),
    ],
)
def test_what_is_no_size_is_refused_in_a_sentence(text, word):
    with pytest.raises(ValueError, match=word) as caught:
        parse_size(text)
    assert "\n" not in str(caught.value)


sizes = st.builds(
    TyreSize,
    st.integers(10, 39).map(lambda n: 10 * n + 5),
    st.integers(20, 95),
    st.sampled_from(sorted(NOMINAL_RIM_MM)),
    st.sampled_from(sorted(LOAD_INDEX_KG)),
    st.sampled_from("LMNPQRSTUHVWY"),
).filter(lambda s: s.width >= 105)


@given(sizes)
def test_a_size_reads_back_as_it_is_written(size):
    assert parse_size(str(size)) == size


@given(sizes)
def test_the_design_diameter_is_near_the_exact_one(size):
    """H rounded moves D by 1 mm at most, the nominal rim by 0.5 mm (rim codes to 24)."""
    assert abs(design_diameter_mm(size) - diameter_mm(size)) <= 1.6


@given(st.text(max_size=30))
def test_any_text_gives_a_size_or_a_value_error(text):
    try:
        size = parse_size(text)
    except ValueError:
        return
    assert parse_size(str(size)) == size
