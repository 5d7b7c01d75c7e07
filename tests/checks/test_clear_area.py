"""Clear area: deciding, metal and height, what is asked, order and number of parts."""

from __future__ import annotations

import math
import re

import pytest
from msgspec.structs import replace

from readiness.checklist.model import Decision
from readiness.job import HeightBand, Point
from tests.checks.areas import (
    AREA,
    BARE,
    DISC,
    NOTHING_ELSE,
    TROLLEY,
    area,
    bay,
    bin_at,
    post,
    sheet,
)
from tests.scenes import BAY, SHOP, asked, check, given, judged, part

# --- deciding -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("y", "outcome"),
    # the disc ends at y = 2.5; margin 0.3; thing 0.02 and parking 0.02: u = 0.0283, guard 1.645 u = 0.0465
    [(2.9, "pass"), (2.85, "pass"), (2.84, "too_close"), (2.76, "too_close"), (2.75, "fail"), (2.0, "fail")],
)
def test_margin_with_uncertainty(y, outcome):
    p = part(area(post(-3.0, y)), "disc/bay.1")
    assert p.outcome == outcome
    assert p.value == pytest.approx(y - 2.5)
    assert (p.low, p.u) == (0.3, pytest.approx(math.hypot(0.02, 0.02)))


def test_reason_names_zone_thing_and_how_far():
    clear = part(area(post(-3.0, 2.7)), "disc/bay.1").reason
    inside = part(area(post(-3.0, 2.1)), "disc/bay.1").reason
    assert "the post" in clear
    assert "'disc'" in clear
    assert "0.2 m" in clear
    assert "reaches 0.4 m into the metal-free zone 'disc'" in inside


@pytest.mark.parametrize("margin", [0.0, 0.3])
def test_touching_counts_as_in(margin):
    one = check("clear_area", {"margin": margin}, per_side=True)
    touching = bay(post(-3.0, 2.5, u=0.0))
    simple = judged(
        one, NOTHING_ELSE, sheet=sheet(DISC), bay=touching, side="left", decision=Decision(factor=0)
    )
    p = part(simple, "disc/bay.1")
    assert p.value == pytest.approx(0.0, abs=1e-12)
    assert p.outcome == "fail"
    assert "touches" in p.reason


def test_typed_place_takes_tape_and_setting_up_into_its_uncertainty():
    # laser meter 0.01 m, steps 0.001 m (GUM 4.3.7, F.2.2.1, from memory) across; axes 0.02 m, middle 0.01 m by eye
    tape = math.hypot(0.01 / math.sqrt(3), 0.001 / math.sqrt(12))
    p = part(area(answers=bin_at(-3.0, 3.5)), "other.1")
    assert p.u == pytest.approx(math.hypot(tape, 0.02, 0.01))


def test_radius_counts():
    p = part(area(answers=bin_at(-3.0, 3.5, radius="0.25 m")), "other.1")
    assert p.value == pytest.approx(0.75)


# --- metal and height -----------------------------------------------------------------------------

WORK = replace(DISC, id="work", reason="room to work")


@pytest.mark.parametrize(
    ("zone", "metal", "counts"),
    [
        (DISC, "yes", True),
        (DISC, "unknown", True),
        (DISC, "no", False),
        (WORK, "no", True),
        (WORK, "yes", True),
    ],
)
def test_metal_matters_in_metal_free_zones_only(zone, metal, counts):
    j = area(post(-3.0, 1.5, metal=metal), zones=(zone,))
    assert any(p.key == f"{zone.id}/bay.1" for p in j.parts) is counts


def test_a_typed_thing_that_is_not_metal_is_seen_and_passes():
    p = part(area(answers={**bin_at(-3.0, 1.5), "other.1.metal": "n"}), "other.1")
    assert p.outcome == "pass"
    assert "not metal" in p.reason


def test_metal_not_said_counts_as_metal():
    answers = {k: v for k, v in bin_at(-3.0, 1.5).items() if k != "other.1.metal"}
    assert part(area(answers=answers), "other.1").outcome == "fail"


LOW_ZONE = replace(DISC, height=HeightBand(low=0.5, high=1.0))


@pytest.mark.parametrize(
    ("band", "counts"),
    [
        (None, True),
        (HeightBand(high=0.4), False),
        (HeightBand(high=0.5), True),
        (HeightBand(low=1.0, high=3.0), True),
        (HeightBand(low=1.1, high=3.0), False),
        (HeightBand(low=0.6, high=0.7), True),
    ],
)
def test_height_bands_must_overlap_to_matter(band, counts):
    j = area(post(-3.0, 1.5, height=band), zones=(LOW_ZONE,))
    assert any(p.key == "disc/bay.1" for p in j.parts) is counts


@pytest.mark.parametrize(
    ("height", "outcome"),
    # 0.02 m either way by eye: a guard of 1.645 x 0.0115 m about the zone's lower edge at 0.5 m: 0.481 to 0.519 m
    [
        (None, "fail"),
        ("0.3 m", "pass"),
        ("0.48 m", "pass"),
        ("0.482 m", "too_close"),
        ("0.518 m", "too_close"),
        ("0.52 m", "fail"),
        ("2 m", "fail"),
    ],
)
def test_typed_height_is_that_of_the_top(height, outcome):
    answers = bin_at(-3.0, 1.5, **({"height": height} if height else {}))
    assert part(area(answers=answers, zones=(LOW_ZONE,)), "other.1").outcome == outcome


@pytest.mark.parametrize(("side", "fits"), [("left", False), ("right", True)])
def test_a_zone_that_reaches_out_of_the_bay_is_a_fail_on_that_side(side, fits):
    # by hand: the disc ends at y = 2.5 on the left; the bay here at y = 2.1 on that side, at -4 on the other
    narrow = replace(BAY, outline=tuple(Point(x=x, y=y) for x, y in ((-5, -4), (9, -4), (9, 2.1), (-5, 2.1))))
    found = judged(BARE, NOTHING_ELSE, sheet=sheet(DISC), bay=narrow, side=side)
    parts = {p.key: p for p in found.parts}
    assert ("disc/bay" not in parts) is fits
    assert next(s.marked for s in found.picture if s.role == "zone") is not fits
    if not fits:
        assert (parts["disc/bay"].outcome, parts["disc/bay"].value) == ("fail", pytest.approx(0.4))
        assert "reaches 0.4 m out of Invented bay" in parts["disc/bay"].reason


# --- what is asked --------------------------------------------------------------------------------


def test_asks_the_kit_one_by_one_then_what_else():
    questions = asked(AREA, sheet=sheet(DISC), side="left")
    assert list(questions) == ["kit.1", "kit.2", "other"]
    assert [c.key for c in questions["kit.1"].choices] == ["o", "n"]


def test_near_asks_where():
    questions = asked(AREA, {"kit.1": "n"}, sheet=sheet(DISC), side="left")
    near = ["kit.1", *(f"kit.1.{k}" for k in ("way", "x", "y", "radius", "height"))]
    assert list(questions) == [*near, "kit.2", "other"]
    assert "left" in questions["kit.1.y"].hint
    assert "right is negative" in questions["kit.1.y"].hint
    assert [questions[f"kit.1.{k}"].default for k in ("way", "radius", "height")] == ["car", "0.4 m", "1 m"]
    assert all(questions[f"kit.1.{k}"].optional for k in ("way", "radius", "height"))


def test_other_things_go_on_while_there_is_more():
    one_more = {**bin_at(1, 2), "other.1.more": "y"}
    keys = list(asked(BARE, one_more, sheet=sheet(DISC), side="left"))
    words = ("name", "way", "x", "y", "radius", "height", "metal", "more")
    assert keys[-8:] == [f"other.2.{k}" for k in words]
    j = area(answers=one_more)
    assert part(j, "other").outcome == "not_done"
    assert part(j, "other.2").outcome == "not_done"


def test_kit_seen_to_be_outside_passes_on_what_was_seen():
    p = part(area(one=AREA, answers={"kit.1": "o"}), "kit.1")
    assert p.outcome == "pass"
    assert [r.evidence for r in p.readings] == ["seen"]


@pytest.mark.parametrize("answers", [{}, {"kit.1": "n"}, {"kit.1": "n", "kit.1.x": "1 m"}])
def test_kit_without_an_answer_or_place_is_not_done(answers):
    assert part(area(one=AREA, answers=answers), "kit.1").outcome == "not_done"


def test_kit_near_is_judged_by_its_place():
    answers = {"kit.1": "n", "kit.1.x": "-3 m", "kit.1.y": "2 m"}
    p = part(area(one=AREA, answers=answers), "kit.1")
    assert (p.outcome, p.value) == (
        "fail",
        pytest.approx(-0.9),
    )  # 0.5 m inside the disc's edge, and its own 0.4 m
    assert p.label == "Trolley"


def test_a_lapsed_radius_is_not_taken_for_a_point():
    answers = bin_at(-3.0, 3.0, radius=given("0.4 m", minutes=-55))
    assert part(area(answers=answers), "other.1").outcome == "lapsed"


def test_no_zones_in_the_sheet_is_not_done_and_names_the_field():
    j = area(post(-3.0, 1.5), zones=())
    assert [p.outcome for p in j.parts] == ["not_done"]
    assert "'zones'" in j.parts[0].reason


def test_reach_is_in_whole_feet_where_the_shop_reads_feet():
    shop = replace(SHOP, units="us")
    label = asked(AREA, sheet=sheet(DISC), side="left", shop=shop)["kit.1"].choices[0].label
    assert re.search(r"farther than \d+ ft", label)


# --- order and number of parts --------------------------------------------------------------------


def test_worst_first():
    j = area(post(-3.0, 4.5, "far"), post(-3.0, 2.7, "close"), post(-3.0, 2.2, "in"), post(-3.0, 2.8, "edge"))
    numbers = [(p.outcome, p.value) for p in j.parts if isinstance(p.value, float)]
    assert [o for o, _ in numbers] == ["fail", "fail", "too_close", "pass"]
    assert [v for _, v in numbers] == sorted(v for _, v in numbers)


def test_four_of_each_zone_the_rest_in_a_note():
    posts = [post(-3.0, 2.9 + 0.1 * n, f"post {n}") for n in range(9)]
    j = area(*posts, zones=(DISC, WORK))
    assert len([p for p in j.parts if "/" in p.key]) == 8
    assert len(j.notes) == 2
    assert "5 more" in j.notes[0]
    assert "0.8 m" in j.notes[0]


def test_a_thing_left_out_is_never_worse_than_those_shown():
    posts = [post(-3.0, 2.9 + 0.01 * n, f"post {n}") for n in range(6)]
    loose = post(-3.0, 3.3, "loosely placed", u=0.5)
    shown = {p.label: p.outcome for p in area(*posts, loose).parts}
    assert [o for label, o in shown.items() if "loosely placed" in label.lower()] == ["too_close"]


def test_nothing_that_matters_is_said():
    j = area(post(-3.0, 1.5, metal="no"))
    assert "Nothing that matters" in j.notes[0]
    assert [p.outcome for p in j.parts] == ["pass"]


# --- limits ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("limits", "field"),
    [
        ({"margin": -0.1}, "margin"),
        ({"margin": 0.1, "kit": [TROLLEY, TROLLEY]}, "kit[2].name"),
        ({"margin": 0.1, "kit": [{**TROLLEY, "radius": 0.0}]}, "kit[1].radius"),
    ],
)
def test_limits_that_make_no_sense_are_named(limits, field):
    assert [p for p, _, _ in check("clear_area", limits).limits.problems()] == [field]
