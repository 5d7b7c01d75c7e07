"""The close of a job: what came after the go, and under which verdict the result was read."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from msgspec.structs import replace as changed

from readiness.checklist.model import EVER, Step
from readiness.checks.finding import Visit
from readiness.closing import Closing, closing
from readiness.job import Ended, Event, Fix, Result, Waiver
from readiness.report.closing_data import closing_as_dict
from readiness.verdict import judge
from tests.scenes import AT, SHEET, check, given, visit

DOORS = {"items": [{"key": "doors", "label": "Doors"}]}
CLOSED = check("states", DOORS, id="closed", title="Closed", hold=30.0, voided_by=("door_opened",))
SENSOR = check(
    "states", {"items": [{"key": "clean", "label": "Clean"}]}, id="cover", title="Cover", per_side=True
)
RESULT, SCAN, ROAD, SEEN, REMARKS = (
    check(kind, hold=EVER, per_side=kind in ("result", "road_seen"))
    for kind in ("result", "rescan", "road_test", "road_seen", "remarks")
)
CLOSE = (RESULT, SCAN, ROAD, SEEN, REMARKS)
GIVES = changed(SHEET, results=(Result(key="azimuth", label="Azimuth", within="2 °"),))

READY = {"closed": {"doors": "y"}, ("cover", "left"): {"clean": "y"}}
"""A go for the left side from 09:00 to 09:30."""


def at(minutes: float, **answers: str) -> dict[str, Any]:
    return {key: given(text, minutes=minutes) for key, text in answers.items()}


def result(minutes: float, azimuth: str = "1.5", side: str = "left") -> dict[Any, Any]:
    return {("result", side): at(minutes, completed="y", azimuth=azimuth)}


def rest(minutes: float, *sides: str) -> dict[Any, Any]:
    """Scan, road test and what was seen, all as it should be."""
    drive = at(minutes, made="y", route="ring road", conditions="d", traffic="l")
    seen = {
        ("road_seen", s): at(minutes, seen="warned when a car overtook", right="y")
        for s in sides or ("left",)
    }
    return {"rescan": at(minutes, empty="y"), "road_test": drive, **seen}


def closed(
    readings: dict[Any, Any], minutes: float = 600, sides: tuple[str, ...] = ("left",), **more: Any
) -> Closing:
    return closing(made(readings, sides, **more), AT + timedelta(minutes=minutes))


def made(readings: dict[Any, Any], sides: tuple[str, ...] = ("left",), **more: Any) -> Visit:
    steps = (Step(id="all", title="All", checks=("closed", "cover")),)
    after = (Step(id="after", title="After", checks=tuple(c.id for c in CLOSE)),)
    return visit(
        CLOSED, SENSOR, *CLOSE, readings=readings, sheet=GIVES, sides=sides, steps=steps, closing=after, **more
    )  # fmt: skip


def event(name: str, minutes: float) -> Event:
    return Event(event=name, at=AT + timedelta(minutes=minutes), by="A. Test")


# --- how far it is -------------------------------------------------------------------------------


def test_nothing_begun() -> None:
    close = closed(READY)
    assert (close.begun, close.state, close.sides["left"].ready) == (False, "open", None)
    assert close.sides["left"].finding("remarks").outcome == "pass"


def test_done_when_all_is_answered_and_good() -> None:
    close = closed({**READY, **result(10), **rest(20)})
    assert (close.begun, close.state) == (True, "done")
    side = close.sides["left"]
    assert [f.check for f in side.findings] == [c.id for c in CLOSE]
    assert side.ready is not None
    assert (side.ready.verdict, side.said) == ("go", "")


def test_a_remark_alone_is_a_beginning() -> None:
    assert closed({**READY, "remarks": at(5, **{"remark.1": "tyre worn"})}).begun


@pytest.mark.parametrize(
    ("readings", "state"),
    [
        (result(10), "open"),
        ({**result(10, "2"), **rest(20)}, "done"),
        ({**result(10, "2.1"), **rest(20)}, "wrong"),
        ({**result(10), **rest(20), "rescan": at(20, empty="n", left="B12")}, "wrong"),
        ({**result(10), **rest(5)}, "open"),
        ({**result(10), **rest(20), "road_test": at(20, made="n"), ("road_seen", "left"): {}}, "open"),
        ({**result(10), **rest(20), "road_test": at(20, made="p"), ("road_seen", "left"): {}}, "done"),
        ({("result", "left"): at(10, completed="n"), **rest(20)}, "wrong"),
    ],
)  # fmt: skip
def test_states(readings: dict[Any, Any], state: str) -> None:
    assert closed({**READY, **readings}).state == state


def test_each_side_has_its_own_state() -> None:
    readings = {
        **READY,
        ("cover", "right"): {"clean": "y"},
        **result(10),
        **result(12, "-3", "right"),
        **rest(20, "left", "right"),
    }
    close = closed(readings, sides=("left", "right"))
    assert {side: s.state for side, s in close.sides.items()} == {"left": "done", "right": "wrong"}
    assert close.state == "wrong"


def test_a_scan_set_aside_with_a_reason_counts() -> None:
    readings = {**READY, **result(10), **rest(20)}
    del readings["rescan"]
    waiver = Waiver(
        check="rescan", reason="tester's battery died", at=AT + timedelta(minutes=15), by="A. Test"
    )
    close = closed(readings, waivers=[waiver])
    assert close.state == "done"
    assert "tester's battery died" in close.sides["left"].finding("rescan").reason


def test_what_comes_after_neither_lapses_nor_decides_a_go() -> None:
    readings = {**READY, **result(10, "9"), **rest(20)}
    there = made(readings, events=[event("door_opened", 40), event("car_moved", 41)])
    year = 60 * 24 * 365
    assert closing(there, AT + timedelta(minutes=year)).state == "wrong"
    verdict = judge(there, AT + timedelta(minutes=15))
    assert verdict.go
    assert [f.check for f in verdict.sides["left"].findings] == ["closed", "cover"]


def test_a_sensor_touched_later_opens_the_side_again() -> None:
    close = closed({**READY, **result(10), **rest(20)}, events=[event("sensor_touched", 30)])
    side = close.sides["left"]
    assert side.state == "open"
    assert "was touched at 09:30" in side.finding("result").reason
    assert side.ready is not None, "it was read all the same"


def test_later_entries_are_not_seen_and_earlier_ones_stay() -> None:
    there = made({**READY, **result(10), **rest(20)})
    early = closing(there, AT + timedelta(minutes=5))
    assert (early.begun, early.sides["left"].ready) == (False, None)
    assert closing(there, AT + timedelta(minutes=15)).state == "open"


# --- under which verdict -------------------------------------------------------------------------


def said(readings: dict[Any, Any], **more: Any) -> str:
    return closed(readings, **more).sides["left"].said


def test_a_result_read_after_the_go_had_lapsed() -> None:
    close = closed({**READY, **result(39), **rest(50)})
    side = close.sides["left"]
    assert side.ready is not None
    assert side.ready.verdict == "no-go"
    assert side.said == "The result was read at 09:39, 9 minutes after the go had lapsed."
    assert side.state == "done", "the result itself is good; what is missing is said"


@pytest.mark.parametrize(
    ("minutes", "words"), [(30, "a moment after"), (31, "one minute after"), (30 + 300, "5 hours after")]
)
def test_how_long_after(minutes: float, words: str) -> None:
    assert words in said({**READY, **result(minutes)})


def test_a_result_read_after_an_event_ended_the_go() -> None:
    told = said({**READY, **result(20)}, events=[event("door_opened", 15)])
    assert told == (
        "The result was read at 09:20, 5 minutes after the go had ended: "
        "a door, bonnet, boot or window was opened at 09:15."
    )


def test_a_result_read_after_a_fix_ended_the_go() -> None:
    fix = Fix(check="cover", side="left", at=AT + timedelta(minutes=12), by="A. Test", text="cleaned")
    assert said({**READY, **result(20)}, fixes=[fix]).endswith(
        "8 minutes after the go had ended: Cover was put right at 09:12."
    )


def test_a_result_read_after_a_worse_answer_ended_the_go() -> None:
    twice = {**READY, "closed": {"doors": (given("y"), given("n", minutes=7))}}
    assert said({**twice, **result(20)}).endswith(
        "the go had ended: something new was entered under Closed at 09:07."
    )


@pytest.mark.parametrize("ready", [{"closed": {"doors": "y"}}, {**READY, "closed": {"doors": "n"}}])
def test_a_result_without_any_go(ready: dict[Any, Any]) -> None:
    assert said({**ready, **result(20)}) == (
        "The result was read at 09:20, and until then there was no go for the left side."
    )


def test_a_result_under_a_go_with_waivers() -> None:
    aside = Waiver(check="cover", side="left", reason="new cover", at=AT + timedelta(minutes=1), by="A. Test")
    readings = {"closed": {"doors": "y"}, **result(10)}
    assert said(readings, waivers=[aside]) == (
        "The result was read at 09:10 under a go with waivers; set aside: Cover."
    )


def test_a_second_try_counts_with_its_own_go() -> None:
    """The first result was read without a go; the car was then made ready and calibrated again."""
    numbers = (given("1", minutes=10), given("1.2", minutes=50))
    twice = {"completed": given("y", minutes=50), "azimuth": numbers}
    readings = {
        "closed": {"doors": given("y", minutes=45)},
        ("cover", "left"): {"clean": "y"},
        ("result", "left"): twice,
    }
    close = closed(readings, minutes=60).sides["left"]
    assert close.ready is not None
    assert (close.ready.verdict, close.said) == ("go", "")
    assert "read twice" in close.finding("result").notes[0]


def test_a_second_number_is_of_its_own_time_though_the_message_was_not_typed_again() -> None:
    """Whoever calibrates again after the go has lapsed types the new number only; the message stands there already."""
    numbers = (given("3", minutes=10), given("1.2", minutes=50))
    twice = {"completed": given("y", minutes=9), "azimuth": numbers}
    close = closed({**READY, ("result", "left"): twice}, minutes=60).sides["left"]
    assert close.read_at == AT + timedelta(minutes=50)
    assert close.said == "The result was read at 09:50, 20 minutes after the go had lapsed."


def test_a_result_is_of_the_time_at_which_the_first_of_it_was_typed() -> None:
    once = {"completed": given("y", minutes=29), "azimuth": given("1", minutes=31)}
    close = closed({**READY, ("result", "left"): once}).sides["left"]
    assert (close.read_at, close.said) == (AT + timedelta(minutes=29), "")


def test_pure() -> None:
    there = made({**READY, **result(39), **rest(50)})
    now = AT + timedelta(minutes=60)
    assert closing(there, now) == closing(there, now)


# --- without closing steps, and as data ----------------------------------------------------------


def test_a_checklist_that_asks_nothing_afterwards() -> None:
    there = visit(CLOSED, readings={"closed": {"doors": "y"}})
    close = closing(there, AT)
    assert not close.begun
    assert close.sides["single"].findings == ()


def test_as_data() -> None:
    there = made({**READY, **result(39), **rest(50)})
    over = Ended(at=AT + timedelta(minutes=55), by="A. Test", why="handed over")
    there = replace(there, job=changed(there.job, ended=over))
    told = json.loads(json.dumps(closing_as_dict(closing(there, AT + timedelta(minutes=60)))))
    assert (told["state"], told["begun"]) == ("done", True)
    assert told["ended"] == {"at": "2026-05-04T09:55:00+00:00", "by": "A. Test", "why": "handed over"}
    left = told["sides"]["left"]
    assert (left["verdict"], left["state"]) == ("no-go", "done")
    assert left["said"].endswith("after the go had lapsed.")
    assert left["findings"][0]["value"] == 1.5
    assert closing_as_dict(closing(there, AT + timedelta(minutes=40)))["ended"] is None
