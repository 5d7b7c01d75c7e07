"""Which bay, in words: the best first, tapes as one reads them, nothing promised that is not there."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from fractions import Fraction
from math import ceil, floor
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness import units
from readiness.bayfit import Chalk, Need
from readiness.bayfit.rank import best, best_first, takes_all
from readiness.job import Standing
from readiness.report import bay_words as words
from readiness.report.bays import as_dict, page, plans
from readiness.report.text import WIDTH
from tests.bayfits import BOTH, CHALK, MOVED, NONE, PICTURE, SHELF, USUAL, bay, fit, found
from tests.scenes import SHEET

BAYS = {f"bay-{n}": bay(n) for n in (1, 2, 3)}


def said(*fits, system="metric", **more) -> str:
    return page(SHEET, BAYS, [found(2, *fits, **more)], system)


def answers(text: str) -> list[str]:
    """The lines of the answer, each bay's on one line."""
    return re.sub(r"\n {4}", " ", text.split("\n\n")[1]).splitlines()


# --- which comes first ---------------------------------------------------------------------------


@given(st.permutations([BOTH, MOVED, NONE]))
def test_the_answer_comes_first_and_the_best_bay_before_the_others(order):
    assert answers(page(SHEET, BAYS, order, "metric")) == [
        "Bay 2: fits both sides at once, the usual way round, 0.31 m to spare",
        "Bay 1: fits both sides one after the other, with the tool trolley moved away, the other way round, "
        "0.05 m to spare",
        "Bay 3: fits the left side, the usual way round, 0.02 m to spare",
    ]
    assert [takes_all(b) for b in best_first(order)] == [True, True, False]


LESS_AND_LESS = [
    (fit("in_turn", 0.1), fit("at_once", 0.05)),
    (fit("in_turn", 0.9), fit("at_once", -0.5)),
    (fit("in_turn", 0.8), fit("at_once", -0.1)),
    (fit("in_turn", 2.0, moved=("bin",)), fit("at_once", 1.5, moved=("bin",))),
    (fit("in_turn", 3.0, moved=("bin", "jack")), fit("at_once", -1.0)),
    (fit("left", 4.0), fit("in_turn", -0.01), fit("at_once", -0.02)),
    (fit("left", -0.1), fit("in_turn", -0.3), fit("at_once", -0.4)),
    (fit("left", -0.2), fit("in_turn", -0.5), fit("at_once", -0.6)),
]  # fmt: skip


@given(st.permutations(range(len(LESS_AND_LESS))))
def test_a_bay_that_serves_more_with_less_to_move_and_more_room_suits_better(order):
    ranked = best_first([found(n, *LESS_AND_LESS[n]) for n in order])
    assert [b.bay for b in ranked] == [f"bay-{n}" for n in range(len(LESS_AND_LESS))]


def test_where_each_side_has_a_place_of_its_own_the_answer_says_so():
    apart = (fit("left", 0.4), fit("right", 0.3), fit("in_turn", -0.2), fit("at_once", -0.2))
    [line] = answers(said(*apart))
    assert "fits each side, but not both at one place" in line
    assert "0.3 m to spare" in line
    assert "fits each side" not in said(fit("left", 0.4), fit("right", -0.3), fit("in_turn", -0.3))


# --- where to park -------------------------------------------------------------------------------


@given(st.floats(0.0, 30.0))
def test_a_tape_is_read_to_the_millimetre_or_a_sixteenth_of_an_inch(length):
    """Exact fractions; the inch is 25.4 mm by definition (1959 agreement)."""
    exact = Fraction(length) * 1000
    mm = re.fullmatch(r"(\d+) mm", units.tape(length))
    assert mm is not None
    assert abs(int(mm[1]) - exact) <= Fraction(1, 2) + Fraction(1, 10**9)
    inches = re.fullmatch(r"(?:(\d+)(?: |$))?(?:(\d+)/(2|4|8|16) )?in", units.tape(length, "us"))
    assert inches is not None, units.tape(length, "us")
    whole, part = int(inches[1] or 0), Fraction(int(inches[2] or 0), int(inches[3] or 1))
    assert part < 1
    assert abs(whole + part - exact / Fraction("25.4")) <= Fraction(1, 32) + Fraction(1, 10**9)


@given(st.floats(0.0, 30.0), st.sampled_from(["metric", "us"]))
def test_a_tape_that_is_typed_in_again_is_that_length(length, system):
    again = units.parse(units.tape(length, system), "mm", system=system)
    assert again == pytest.approx(length * 1000, abs=0.51 if system == "metric" else 25.4 / 32 + 1e-6)


def test_a_tape_near_an_inch_is_that_inch():
    assert units.tape(0.0254 * 5.99, "us") == "6 in"
    assert units.tape(0.0, "us") == "0 in"
    assert units.tape(0.0254 * 5 / 16, "us") == "5/16 in"


def test_four_tapes_a_wheel_a_line():
    text = said(fit("single"))
    assert "Left rear wheel: 2345 mm from corner 1, 3121 mm from corner 2." in text
    assert "Right front wheel: 4000 mm from corner 1, 5250 mm from corner 2." in text
    # 4 m are 157.48 in, which is 157 1/2 to the sixteenth
    assert "157 1/2 in from corner 1" in said(fit("single"), system="us")


def test_where_tapes_meet_twice_the_side_is_told():
    told = words.park(fit(chalk=Chalk(CHALK.tapes, "left")), "metric")
    assert told[-1] == "Both wheels stand to the left, looking from corner 1 to corner 2."
    assert words.park(fit(), "metric")[-1].startswith("Right front wheel")


@given(st.floats(-360, 360), st.floats(-360, 360), st.booleans())
def test_the_turn_from_the_bays_own_line_is_the_small_one(usual, turn, other_way):
    """Against whole turns taken off by hand: the same direction, and never more than half a turn."""
    heading = usual + turn + 180 * other_way
    off = words.turned_by(
        fit(standing=Standing(x=0, y=0, heading=heading), turned=other_way), Standing(x=0, y=0, heading=usual)
    )
    assert -180 <= off <= 180
    assert ((off - turn) / 360) == pytest.approx(round((off - turn) / 360), abs=1e-9)


def test_the_way_round_is_told_only_where_it_is_unusual():
    assert words.way_round(fit(), USUAL, "metric") == ""
    back = fit(turned=True, standing=Standing(x=2.0, y=2.5, heading=178.0))
    told = words.way_round(back, USUAL, "metric")
    assert "back the car in" in told
    assert "2° to the right" in told


@pytest.mark.parametrize(
    ("heading", "told"),
    [(110.0, "110° to the left"), (-100.0, "100° to the right"), (251.76, "108.2° to the right")],
)
def test_a_car_across_the_bay_is_turned_from_where_its_nose_usually_points(heading, told):
    across = fit("single", standing=Standing(x=2.0, y=2.5, heading=heading), turned=True, across=True)
    assert words.verdict(across, "metric") == "fits, across the bay, 0.31 m to spare"
    assert told in words.way_round(across, USUAL, "metric")
    assert "back the car in" not in words.way_round(across, USUAL, "metric")


# --- how much room -------------------------------------------------------------------------------


@given(st.floats(0.0, 20.0))
def test_us_room_is_in_whole_inches_never_promising_what_is_not_there(length):
    """Exact fractions; the inch is 25.4 mm by definition (1959 agreement)."""
    inches, tiny = Fraction(length) / Fraction("0.0254"), Fraction(1, 10**5)
    assert floor(inches) <= _in_inches(words.spare(length, "us")) <= floor(inches + tiny)
    assert max(1, ceil(inches - tiny)) <= _in_inches(words.short(-length, "us")) <= max(1, ceil(inches))


def _in_inches(text: str) -> int:
    told = re.fullmatch(r"(?:(\d+) ft ?)?(?:(\d+) in)?", text)
    assert told is not None, text
    assert int(told[2] or 0) < (12 if told[1] else 37)
    return 12 * int(told[1] or 0) + int(told[2] or 0)


def test_less_than_a_centimetre_to_spare_is_nothing():
    assert words.to_spare(0.009, "metric") == words.to_spare(0.0, "us") == "nothing to spare"
    assert words.to_spare(0.01, "metric") == "0.01 m to spare"
    assert words.verdict(fit("single", 0.004), "metric") == "fits, the usual way round, nothing to spare"


def test_what_comes_closest_is_named_with_what_it_needs():
    zone = replace(SHELF, what="ahead", zone=True, side="left")
    assert words.closest(fit(binding=(zone,)), "metric") == (
        "Closest: the zone 'ahead' of the left side and the steel shelf, 0.514 m apart, 0.2 m needed."
    )
    told = words.closest(fit(binding=(replace(zone, movable=True, against="creeper"),)), "metric")
    assert told.endswith("0.2 m needed; the creeper can be moved.")
    edge = words.closest(fit(binding=(replace(zone, against="the edge of the bay"),)), "metric")
    assert "and the edge of the bay, " in edge
    # 514 mm are 20.236 in, 200 mm 7.874 in
    assert words.apart(zone, "us").endswith("20 1/4 in apart, 7 7/8 in needed")


@given(st.floats(0.0, 20.0))
def test_room_to_spare_is_never_rounded_up_nor_what_is_missing_down(length):
    cm = Fraction(length) * 100
    tiny = Fraction(1, 10**5)
    there = Fraction(words.spare(length, "metric").removesuffix(" m")) * 100
    assert floor(cm) <= there <= floor(cm + tiny)
    missing = Fraction(words.short(-length, "metric").removesuffix(" m")) * 100
    assert max(1, ceil(cm - tiny)) <= missing <= max(1, ceil(cm))


def test_what_is_in_the_way_and_how_much_room_is_missing():
    text = " ".join(said(*NONE.fits[2:]).split())
    assert "0.12 m too little room between the car and the roof column" in text
    assert "would have to be 0.12 m longer and 0.21 m wider" in text
    assert "However long and wide the place were" in text
    need = Need(0.301, 0.2, end="behind", hand="left")
    assert words.needed(fit(spare=-0.2, need=need), "metric") == (
        "Other things as they are, the place would have to be 0.31 m longer where the tail usually points, or "
        "0.2 m wider on the left of a car that stands as usual."
    )


def test_where_the_sides_are_in_each_others_way_no_bay_helps():
    told = words.needed(fit(spare=-0.2, between_sides=-0.2, need=Need(None, None)), "metric")
    assert "0.2 m too near" in told
    assert "one after the other" in told


def test_the_certificate_stands_in_the_last_details_only():
    text = said(fit("single", 0.314, bound=0.3145, other_way=-0.2))
    before, after = text.split("How it was worked out")
    assert "more than" not in before
    # to the nearest millimetre, half away from zero
    assert "no place the usual way round has more than 0.315 m to spare" in after
    assert "the other way round 0.2 m too little room at best" in " ".join(after.split())
    turned = words.proof(fit(bound=0.3145, turned=True, other_way=0.2), "metric")
    assert (
        turned
        == "no place the other way round has more than 0.315 m to spare; the usual way round 0.2 m to spare at best."
    )
    assert "every place in this bay is short of room by 0.4 m" in words.proof(fit(bound=-0.4), "metric")


# --- the page ------------------------------------------------------------------------------------


def test_within_a_bay_what_fits_and_serves_most_is_told_first():
    """Not the order of the search: a person wants the one place that serves both."""
    both = said(fit("left", 0.5), fit("right", 0.4), fit("in_turn", 0.35), fit("at_once", 0.31))
    titles = re.findall(r"^  (\w[^:]*): fits|^  (\w[^:]*): no place", both, re.MULTILINE)
    assert [a or b for a, b in titles] == [
        "Both sides, one after the other", "Both sides at once", "Left side", "Right side",
    ]  # fmt: skip
    one = said(fit("left", 0.5), fit("right", -0.4), fit("in_turn", -0.5), fit("at_once", -0.6))
    assert one.index("Left side: fits") < one.index("Both sides, one after the other: no place")


HOSTILE = "bay\x1b[2J \u202e[/4] <b>&\n\r\x07"


def test_text_from_people_is_text_and_lines_fit():
    nasty = replace(SHELF, against=HOSTILE)
    text = page(
        SHEET, {"bay-2": bay(2, HOSTILE)}, [found(2, fit("single", binding=(nasty,), moved=(HOSTILE,)), title=HOSTILE)], "us"
    )  # fmt: skip
    assert all(c.isprintable() or c == "\n" for c in text)
    assert "\u202e" not in text
    assert "[/4] <b>&" in text
    assert max(map(len, text.splitlines())) <= WIDTH


def test_modes_of_which_the_same_is_said_stand_together():
    one_place = said(fit("in_turn"), fit("at_once"))
    assert one_place.count("Left rear wheel") == 1
    assert "Both sides, one after the other or at once: fits" in one_place
    assert said(fit("in_turn", 0.5), fit("at_once")).count("Left rear wheel") == 2


def test_the_makers_procedure_comes_first_in_the_end():
    assert "The vehicle maker's procedure comes first" in said(fit()).split("\n\n")[-1]


def test_the_json_object_says_the_same():
    told = json.loads(json.dumps(as_dict(SHEET, BAYS, [NONE, BOTH, MOVED], "metric"), allow_nan=False))
    assert [(b["bay"], b["takes_all"], b["best"]) for b in told["bays"]] == [
        ("bay-2", True, "at_once"), ("bay-1", True, "in_turn"), ("bay-3", False, "left"),
    ]  # fmt: skip
    second = told["bays"][1]["modes"][2]
    assert (second["mode"], second["fits"], second["move_first"]) == ("in_turn", True, ["tool trolley"])
    assert [t["length"] for t in second["tapes"]] == [t.length for t in CHALK.tapes]
    assert told["bays"][1]["modes"][3]["need"]["longer"] == 0.301
    lines = answers(page(SHEET, BAYS, [NONE, BOTH, MOVED], "metric"))
    assert [f"{b['title']}: {b['said']}" for b in told["bays"]] == lines


def test_a_plan_of_each_bay_in_a_file_that_any_system_takes():
    same = [replace(found(2, fit(picture=PICTURE)), bay=name) for name in ("../a/b", "..\\a\\b", "bay 2")]
    files = plans(SHEET, same, "metric")
    assert list(files) == ["a-b.svg", "a-b-2.svg", "bay-2.svg"]
    assert all(ElementTree.fromstring(text).tag.endswith("svg") for text in files.values())


def test_the_best_place_is_the_one_that_is_told():
    assert best(BOTH).mode == "at_once"
    assert best(MOVED).mode == "in_turn"
    assert best(NONE).mode == "left"
