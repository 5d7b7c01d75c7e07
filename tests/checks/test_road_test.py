"""What is asked after the result: fault scan, road test, what was seen on it, remarks."""

from __future__ import annotations

import pytest

from readiness.checks import road_test
from readiness.checks.finding import ask, find
from readiness.checks.kind import Part
from readiness.checks.remarks import MOST
from tests.scenes import NOW, asked, check, given, judged, part, visit

RESULT = check("result", per_side=True)
SCAN, ROAD, SEEN = check("rescan"), check("road_test"), check("road_seen", per_side=True)
DRIVEN = {"made": "y", "route": "ring road", "conditions": "w", "traffic": "l"}
SAW = {"seen": "warned on the left when a car overtook", "right": "y"}


def found(one, readings, side="", sides=("left", "right")):
    """The outcome and reason of one check in a visit with all of them; answers by check, or by check and side."""
    made = visit(RESULT, SCAN, ROAD, SEEN, readings=readings, sides=sides)
    finding = find(made, one, side, NOW)
    return finding.outcome, finding.reason


def result(minutes: float, side: str = "left"):
    return {("result", side): {"completed": given("y", minutes=minutes)}}


def later(answers, minutes: float):
    return {key: given(text, minutes=minutes) for key, text in answers.items()}


# --- fault scan ----------------------------------------------------------------------------------


def test_an_empty_memory_is_one_key() -> None:
    assert list(asked(SCAN)) == ["empty"]
    assert part(judged(SCAN, {"empty": "y"}), "empty").outcome == "pass"


def test_what_is_left_is_named() -> None:
    assert list(asked(SCAN, {"empty": "n"})) == ["empty", "left"]
    p = part(judged(SCAN, {"empty": "n", "left": "B12 in the door unit"}), "empty")
    assert (p.outcome, p.remedy) == ("fail", SCAN.remedy)
    assert p.reason == "Faults are stored: B12 in the door unit."
    assert part(judged(SCAN, {"empty": "n"}), "empty").outcome == "fail"


@pytest.mark.parametrize(("minutes", "outcome"), [(4, "lapsed"), (5, "pass"), (6, "pass")])
def test_a_scan_from_before_the_result_does_not_count(minutes: float, outcome: str) -> None:
    said = found(SCAN, {**result(5), "rescan": {"empty": given("y", minutes=minutes)}})
    assert said[0] == outcome
    assert ("from 09:04, before the result was read at 09:05" in said[1]) is (outcome == "lapsed")


def test_one_scan_serves_both_sides_after_the_later_result() -> None:
    both = {**result(2), **result(6, "right")}
    assert found(SCAN, {**both, "rescan": {"empty": given("y", minutes=4)}})[0] == "lapsed"
    assert found(SCAN, {**both, "rescan": {"empty": given("y", minutes=7)}})[0] == "pass"


# --- road test -----------------------------------------------------------------------------------


def test_the_caution_comes_first() -> None:
    """Common practice, no published source; the law comes before every procedure."""
    first = next(iter(asked(ROAD).values()))
    assert first.hint == road_test.CAUTION
    for word in ("law", "never trust", "another drive"):
        assert word in first.hint
    assert len(first.hint) <= 80
    untouched = part(judged(ROAD), "made")
    assert untouched.outcome == "not_done"
    assert road_test.CAUTION in untouched.reason


@pytest.mark.parametrize(
    ("typed", "outcome", "more"), [("y", "pass", 3), ("p", "pass", 0), ("n", "not_done", 0)]
)
def test_made_not_asked_for_or_left_out(typed: str, outcome: str, more: int) -> None:
    assert len(asked(ROAD, {"made": typed})) == 1 + more
    assert part(judged(ROAD, {"made": typed}), "made").outcome == outcome


def test_route_conditions_and_traffic_are_kept_in_words() -> None:
    j = judged(ROAD, DRIVEN)
    assert {p.outcome for p in j.parts} == {"pass"}
    assert [p.reason for p in j.parts[1:]] == [
        "Route: ring road.", "Conditions: wet, by day.", "Traffic: light.",
    ]  # fmt: skip
    assert part(judged(ROAD, {"made": "y"}), "route").outcome == "not_done"


def test_a_drive_before_the_result_does_not_count() -> None:
    outcome, reason = found(ROAD, {**result(5), "road_test": DRIVEN})
    assert outcome == "lapsed"
    assert "before the result" in reason
    assert found(ROAD, {**result(5), "road_test": later(DRIVEN, 6)})[0] == "pass"


# --- what was seen -------------------------------------------------------------------------------


def seen(readings, side="left", sides=("left", "right")) -> dict[str, Part]:
    made = visit(RESULT, SCAN, ROAD, SEEN, readings=readings, sides=sides)
    return {p.key: p for p in find(made, SEEN, side, NOW).parts}


def test_each_side_says_what_was_seen_on_it() -> None:
    told = {"road_test": DRIVEN, ("road_seen", "left"): SAW}
    left, right = seen(told), seen(told, "right")
    assert {p.outcome for p in left.values()} == {"pass"}
    assert left["right"].reason.endswith("as it should be: warned on the left when a car overtook.")
    assert {p.outcome for p in right.values()} == {"not_done"}
    made = visit(ROAD, SEEN, readings={"road_test": DRIVEN}, sides=("left", "right"))
    labels = [ask(made, SEEN, side, NOW)[0].label for side in ("left", "right")]
    assert labels == ["Seen on the left", "Seen on the right"]


def test_one_side_can_be_wrong_without_the_other() -> None:
    bad = {"seen": "no warning at all", "right": "n"}
    told = {"road_test": DRIVEN, ("road_seen", "left"): SAW, ("road_seen", "right"): bad}
    assert seen(told)["right"].outcome == "pass"
    wrong = seen(told, "right")["right"]
    assert (wrong.outcome, wrong.remedy) == ("fail", SEEN.remedy)
    assert wrong.reason.endswith("not as it should be: no warning at all.")


@pytest.mark.parametrize(("made", "outcome"), [("p", "pass"), ("n", "not_done"), (None, "not_done")])
def test_without_a_drive_nothing_is_asked(made: str | None, outcome: str) -> None:
    answers = {} if made is None else {"road_test": {"made": made}}
    there = visit(ROAD, SEEN, readings=answers, sides=("left", "right"))
    assert ask(there, SEEN, "left", NOW) == []
    assert seen(answers)["seen"].outcome == outcome


def test_only_the_own_side_has_to_come_before() -> None:
    told = {
        **result(1),
        **result(6, "right"),
        "road_test": later(DRIVEN, 3),
        ("road_seen", "left"): later(SAW, 3),
    }
    assert seen(told)["seen"].outcome == "pass"
    assert seen({**result(5), **told, **result(5)})["seen"].outcome == "lapsed"


def test_nothing_of_an_earlier_drive_counts_for_the_next_one() -> None:
    """After a second calibration somebody says what was seen this time; that it was right was said of the first drive."""
    told = {
        **result(5),
        "road_test": later(DRIVEN, 6),
        ("road_seen", "left"): {**SAW, "seen": given("nothing", minutes=6)},
    }
    assert seen(told)["seen"].outcome == "pass"
    assert seen(told)["right"].outcome == "lapsed"
    drive = {**DRIVEN, "made": given("y", minutes=6)}
    assert found(ROAD, {**result(5), "road_test": drive})[0] == "lapsed"


# --- remarks -------------------------------------------------------------------------------------

REMARKS = check("remarks")


def test_nobody_has_to_remark_anything() -> None:
    (first,) = asked(REMARKS).values()
    assert first.optional
    assert [p.reason for p in judged(REMARKS).parts] == ["No remarks."]


def test_one_line_more_than_is_filled() -> None:
    said = {"remark.1": "Customer told.", "remark.2": "Mirror glass loose."}
    assert list(asked(REMARKS, said)) == ["remark.1", "remark.2", "remark.3"]
    assert [p.reason for p in judged(REMARKS, said).parts] == list(said.values())
    full = {f"remark.{n}": f"line {n}" for n in range(1, MOST + 1)}
    assert list(asked(REMARKS, full)) == list(full)
