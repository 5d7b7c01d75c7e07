"""Clear area: laws that hold for any thing and zone, and how it was worked out, line by line."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume
from hypothesis import given as law
from hypothesis import strategies as st
from msgspec.structs import replace

from readiness.checklist.model import Decision
from readiness.job import Disc, Point, Segment
from tests.checks.areas import DISC, NOTHING_ELSE, PATH, ZONES, area, bay, bin_at, post, sheet
from tests.scenes import check, judged, part

# --- laws ----------------------------------------------------------------------------------------

ANYWHERE = st.tuples(st.floats(-5.5, 5.5), st.floats(-4.5, 4.5)).map(
    lambda p: (round(p[0], 3), round(p[1], 3))
)
RANK = {"pass": 0, "too_close": 1, "fail": 2}


@law(ANYWHERE, st.floats(0.0, 0.95), st.sampled_from(ZONES))
def test_nearer_is_never_better(at, share, zone):
    """Straight towards the nearest place of a zone, by a share of the way."""
    far = area(post(*at), zones=(zone,))
    clear = part(far, f"{zone.id}/bay.1")
    assume(clear.value > 0.01)
    line = next(s for s in far.picture if s.role == "clearance")
    (zx, zy), (tx, ty) = line.points
    near = area(post(tx + share * (zx - tx), ty + share * (zy - ty)), zones=(zone,))
    nearer = part(near, f"{zone.id}/bay.1")
    assert nearer.value == pytest.approx((1 - share) * clear.value, abs=1e-6)
    assert RANK[nearer.outcome] >= RANK[clear.outcome]
    assert nearer.p_conform <= clear.p_conform + 1e-12


@law(ANYWHERE, st.sampled_from(ZONES), st.sampled_from(["left", "right"]))
def test_what_is_not_metal_never_matters_to_a_metal_free_zone(at, zone, side):
    plastic = area(post(*at, metal="no"), zones=(zone,), side=side)
    assert [p.key for p in plastic.parts] == ["other"]
    typed = {**bin_at(*at), "other.1.metal": "n"}
    assert {p.outcome for p in area(answers=typed, zones=(zone,), side=side).parts} == {"pass"}


@law(ANYWHERE, st.sampled_from(ZONES))
def test_unknown_counts_as_metal(at, zone):
    unknown, metal = (area(post(*at, metal=m), zones=(zone,)) for m in ("unknown", "yes"))
    assert unknown.parts == metal.parts


@law(
    st.floats(0, 2 * math.pi),
    st.sampled_from(["point", "disc", "wall"]),
    st.floats(-math.pi / 2, math.pi / 2),
)
def test_touching_fails(turn, kind, along):
    """A thing that just touches the disc, with no uncertainty and no margin, is in."""
    one = check("clear_area", {"margin": 0.0}, per_side=True)
    (nx, ny), at = (math.cos(turn), math.sin(turn)), Point(x=-3.0 + math.cos(turn), y=1.5 + math.sin(turn))
    thing = post(at.x, at.y, u=0.0)
    if kind == "disc":
        thing = replace(
            thing, point=None, disc=Disc(at=Point(x=at.x + 0.25 * nx, y=at.y + 0.25 * ny), radius=0.25)
        )
    elif kind == "wall":
        away = math.cos(along) * nx - math.sin(along) * ny, math.sin(along) * nx + math.cos(along) * ny
        thing = replace(
            thing, point=None, wall=Segment(start=at, end=Point(x=at.x + away[0], y=at.y + away[1]))
        )
    simple = judged(
        one, NOTHING_ELSE, sheet=sheet(DISC), bay=bay(thing), side="left", decision=Decision(factor=0)
    )
    p = part(simple, "disc/bay.1")
    assert p.value == pytest.approx(0.0, abs=1e-9)
    assert p.outcome == "fail"
    assert "touches" in p.reason


# --- how it was worked out -----------------------------------------------------------------------


def test_details_rank_every_pair_with_its_uncertainty_and_how_likely_it_is_in():
    j = area(
        post(-3.0, 2.92, "bench"), post(-3.0, 2.45, "jack"), post(-3.0, 3.5, "bin", metal="no"), zones=(DISC,)
    )
    # by hand: u = 0.02 and 0.02 m: 0.0283 m, times 1.645: 0.047 m; Phi(0.05 / 0.0283) = Phi(1.768) = 96.1 %
    assert j.details[1:] == (
        "disc, jack: -0.05 m ± 0.047 m, in with 96.1 %",
        "disc, bench: 0.42 m ± 0.047 m, in with less than 0.1 %",
    )


def test_details_of_many_pairs_end_with_how_near_the_rest_is():
    j = area(*(post(-3.0, 2.9 + 0.01 * n, f"post {n}") for n in range(40)))
    assert len(j.details) == 32
    assert j.details[-1] == "and 10 more, none nearer than 0.7 m"


@pytest.mark.parametrize(
    ("count", "told"), [(4, ""), (5, "1 more stands farther from {}, at 0.9 m."), (6, "2 more stand farther from {}, none nearer than 0.9 m.")]
)  # fmt: skip
def test_of_what_stands_farther_than_the_nearest_four_it_is_said_how_far(count, told):
    """The disc ends at y = 2.5 m; posts stand at 3.0 m, 3.1 m and so on."""
    j = area(*(post(-3.0, 3.0 + 0.1 * n, f"post {n}") for n in range(count)))
    said = [text for text in (*j.notes, *j.details) if "farther from" in text]
    assert said == ([told.format("the metal-free zone 'disc'")] if told else [])


def test_the_worst_is_named_first():
    j = area(post(-3.0, 2.7, "close"), post(-3.0, 2.2, "in"), zones=(DISC, PATH))
    assert "in reaches 0.3 m into the metal-free zone 'disc'" in j.parts[0].reason
