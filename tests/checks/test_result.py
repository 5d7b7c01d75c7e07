"""Result: the number on the tester's display against the procedure's range, ends included."""

from __future__ import annotations

from datetime import timedelta

import pytest
from msgspec.structs import replace as changed

from readiness import units
from readiness.checklist.results import results_in_words, span
from readiness.checks.finding import find
from readiness.job import Event, Fix, Result
from tests.scenes import AT, SHEET, SHOP, asked, check, given, judged, part, visit

ONE = check("result")


def sheet(*results: Result):
    return changed(SHEET, results=results)


def angle(**more):
    return Result(**{"key": "azimuth", "label": "Azimuth", **more})


SYMMETRIC = sheet(angle(within="3.6 °"))
"""A known procedure for rear corner radars allows this much either way: common practice, no published source."""


def outcome(sheet_, **answers):
    return part(judged(ONE, {"completed": "y", **answers}, sheet=sheet_), "azimuth").outcome


# --- a number ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "expected"),
    [("3.6", "pass"), ("-3.6", "pass"), ("3.61", "fail"), ("-3.61 °", "fail"), ("0", "pass"), ("216 arcmin", "pass")],
)  # fmt: skip
def test_simple_acceptance_with_both_ends_inside(typed: str, expected: str) -> None:
    """Common practice, no published source: as the procedure compares, without any guard band. 60 minutes of arc to
    the degree by definition."""
    assert outcome(SYMMETRIC, azimuth=typed) == expected


def test_margin_and_number_line_without_a_guess_at_the_testers_uncertainty() -> None:
    p = part(judged(ONE, {"completed": "y", "azimuth": "-3.1"}, sheet=SYMMETRIC), "azimuth")
    assert (p.value, p.low, p.high, p.guard) == (-3.1, -3.6, 3.6, 0.0)
    assert p.margin == pytest.approx(0.5)
    assert (p.u, p.p_conform) == (None, None)
    assert p.reason == "Azimuth is -3.1°. The procedure gives -3.6° to 3.6°: 0.5° to spare."


@pytest.mark.parametrize(
    ("typed", "told"),
    [("3.6", "just at its end, which counts"), ("4", "0.4° beyond it"), ("-3.605", "0.005° beyond it"), ("3.5", "0.1° to spare")],
)  # fmt: skip
def test_how_far_from_the_end_of_the_range(typed: str, told: str) -> None:
    p = part(judged(ONE, {"completed": "y", "azimuth": typed}, sheet=SYMMETRIC), "azimuth")
    assert p.reason == f"Azimuth is {typed}°. The procedure gives -3.6° to 3.6°: {told}."


def test_a_failing_result_says_what_to_do() -> None:
    p = part(judged(ONE, {"completed": "y", "azimuth": "5"}, sheet=SYMMETRIC), "azimuth")
    assert p.remedy == ONE.remedy


@pytest.mark.parametrize(
    ("given_as", "typed", "expected"),
    [({"high": "3"}, "3", "pass"), ({"high": "3"}, "4", "fail"), ({"low": "20"}, "19", "fail"), ({"low": "20"}, "20", "pass"),
     ({"low": "4", "high": "4"}, "4", "pass"), ({"low": "4", "high": "4"}, "5", "fail"),
     ({"low": "0 mm", "high": "2 in"}, "50.8 mm", "pass"), ({"low": "0 mm", "high": "2 in"}, "51", "fail"),
     ({"low": "-1 °", "high": "3 °"}, "-1.1", "fail"), ({"low": "90 %"}, "9/10", "pass"), ({"low": "90 %"}, "0.89", "fail")],
)  # fmt: skip
def test_counts_lengths_and_ranges_to_one_side(given_as: dict[str, str], typed: str, expected: str) -> None:
    """25.4 mm to the inch by definition (1959)."""
    assert outcome(sheet(angle(**given_as)), azimuth=typed) == expected


def test_the_last_number_counts_and_the_others_are_told() -> None:
    """Each calibration has a result of its own: there is no mean of them."""
    j = judged(
        ONE, {"completed": "y", "azimuth": ("5 °", given("4 °", minutes=1), given("1 °", minutes=2))}, sheet=SYMMETRIC
    )  # fmt: skip
    p = part(j, "azimuth")
    assert (p.outcome, p.value, len(p.readings)) == ("pass", 1.0, 1)
    assert j.notes == ("Azimuth was read 3 times (5°, 4°, 1°); the last one counts.",)


def test_a_fix_begins_anew() -> None:
    fix = Fix(check="result", question="azimuth", at=AT + timedelta(minutes=1), by="A. Test")
    answers = {"completed": "y", "azimuth": ("5 °", given("1 °", minutes=2))}
    assert judged(ONE, answers, sheet=SYMMETRIC, fixes=[fix]).notes == ()
    gone = judged(ONE, {"completed": "y", "azimuth": "5 °"}, sheet=SYMMETRIC, fixes=[fix])
    assert part(gone, "azimuth").outcome == "not_done"


# --- what the tester says ------------------------------------------------------------------------


def test_a_message_is_one_key() -> None:
    of_message = sheet(Result(key="said", label="Last page", message="All well"), angle(high="3"))
    questions = asked(ONE, sheet=of_message)
    assert list(questions) == ["said", "azimuth"]
    assert "'All well'" in questions["said"].hint
    assert part(judged(ONE, {"said": "y", "azimuth": "1"}, sheet=of_message), "said").outcome == "pass"


def test_a_calibration_that_broke_off_has_no_number() -> None:
    assert list(asked(ONE, sheet=SYMMETRIC)) == ["completed", "azimuth"]
    assert list(asked(ONE, {"completed": "n"}, sheet=SYMMETRIC)) == ["completed"]
    j = judged(ONE, {"completed": "n"}, sheet=SYMMETRIC)
    assert [(p.key, p.outcome) for p in j.parts] == [("completed", "fail")]


def test_a_number_from_before_one_that_broke_off_is_of_no_later_calibration() -> None:
    said = tuple(given(text, minutes=m) for text, m in (("y", 0), ("n", 5), ("y", 9)))
    one = part(
        judged(ONE, {"completed": said, "azimuth": given("1 °", minutes=1)}, sheet=SYMMETRIC), "azimuth"
    )
    assert one.outcome == "lapsed"
    assert one.reason.endswith(
        "that is from 09:01, and a calibration broke off at 09:05: enter what the tester shows of the one after it."
    )
    again = {"completed": said, "azimuth": (given("1 °", minutes=1), given("2 °", minutes=9))}
    assert part(judged(ONE, again, sheet=SYMMETRIC), "azimuth").outcome == "pass"
    assert {p.outcome for p in judged(ONE, again, sheet=SYMMETRIC).parts} == {"pass"}


def test_a_sheet_without_results_asks_only_whether_the_tester_was_content() -> None:
    assert list(asked(ONE)) == ["completed"]
    j = judged(ONE, {"completed": "y"})
    assert part(j, "completed").outcome == "pass"
    assert j.notes == ("Sheet invented-estate gives no range for the result.",)


def test_each_side_has_its_own_range_where_the_sheet_says_so() -> None:
    both = sheet(angle(side="left", low="-1 °", high="3 °"), angle(side="right", low="-3 °", high="1 °"))
    sided = check("result", per_side=True)
    answers = {"completed": "y", "azimuth": "2 °"}
    outcomes = {
        side: part(judged(sided, answers, side=side, sheet=both, sides=("left", "right")), "azimuth").outcome
        for side in ("left", "right")
    }
    assert outcomes == {"left": "pass", "right": "fail"}


# --- afterwards ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("minutes", "expected"), [(4, "lapsed"), (-1, "pass")])
def test_a_sensor_touched_later_is_not_the_one_that_was_calibrated(minutes: float, expected: str) -> None:
    touched = Event(event="sensor_touched", at=AT + timedelta(minutes=minutes), by="A. Test")
    j = judged(ONE, {"completed": "y", "azimuth": "1 °"}, sheet=SYMMETRIC, events=[touched])
    p = part(j, "azimuth")
    assert (p.outcome, p.value) == (expected, 1.0)
    assert ("read at 09:00, and the sensor, its bracket or cover was touched at 09:04" in p.reason) is (
        expected == "lapsed"
    )


def test_other_events_and_time_leave_a_result_alone() -> None:
    moved = [
        Event(event=e, at=AT + timedelta(minutes=2), by="A. Test")
        for e in ("car_moved", "got_in", "power_off")
    ]
    lasting = check("result", hold=1e9)
    late = AT + timedelta(days=400)
    made = visit(
        lasting, readings={"result": {"completed": "y", "azimuth": "1 °"}}, sheet=SYMMETRIC, events=moved, now=late
    )  # fmt: skip
    found = find(made, lasting, "", late)
    assert (found.outcome, found.lapses_at) == ("pass", None)
    assert found.deciding is not None
    assert found.deciding.key == "azimuth", "the number stands for the whole, with its line"


# --- words ---------------------------------------------------------------------------------------


def test_the_range_is_told_where_limits_are_compared_with_the_document() -> None:
    told = sheet(
        angle(within="2.5 °"), Result(key="n", label="Tries", high="3"), Result(key="e", label="Doors", low="4", high="4"),
        Result(key="m", label="Height", side="left", low="25.4 mm"), Result(key="s", label="Last page", message="All well"),
    )  # fmt: skip
    source = "sheet invented-estate: INV-001"
    assert results_in_words(told, "us") == [
        ("Azimuth: -2.5° to 2.5°", source), ("Tries: at most 3", source), ("Doors: exactly 4", source),
        ("Height, left: at least 1 in", source), ("Last page: the message 'All well'", source),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "unit"),
    [("2.5 °", "deg"), ("150 arcmin", "deg"), ("3", ""), ("0.5", ""), ("2 in", "mm"), ("0.3 m", "m"), ("4 ft", "m"),
     ("90 %", "fraction"), ("3 mm/m", "mm/m"), ("1/4 in per 10 ft", "mm/m"), ("12.6 V", "V"), ("33 psi", "kPa"),
     ("90 s", "min"), ("20 °C", "degC")],
)  # fmt: skip
def test_any_unit_that_is_known_will_do(text: str, unit: str) -> None:
    assert units.unit_of(text) == unit
    assert span(angle(low=text)).low == units.parse_written(text, unit)


@pytest.mark.parametrize("text", ["", "3 furlongs", "about 3", "1 L/min", "3 dB"])
def test_what_is_no_quantity_is_refused(text: str) -> None:
    with pytest.raises(units.UnitsError):
        units.unit_of(text)


def test_us_shops_read_the_range_in_their_units() -> None:
    inches = asked(ONE, sheet=sheet(angle(high="25.4 mm")), shop=changed(SHOP, units="us"))["azimuth"]
    assert inches.hint.endswith("the procedure gives at most 1 in")
