"""Every sentence of the customer's page is true of the job: with a result too late, on one side only, without a go."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from msgspec.structs import replace as changed

from readiness.job import Ended, Event, Reading, Waiver
from readiness.records.account import account
from readiness.records.dossier import Dossier, dossier
from readiness.report.html_customer import customer_sheet
from readiness.report.html_trade import trade_sheet
from readiness.report.markup import text_of
from readiness.report.phrases import listed
from tests.papers import LATER
from tests.shop import demo_shop

NO_CALIBRATION = "No calibration is on this record."
DO_NOT_RELY = "Do not rely on this system"


@pytest.fixture(scope="module")
def one_side(tmp_path_factory) -> Dossier:
    """HB-0417: the left side, a go for half an hour."""
    return dossier("HB-0417", demo_shop(tmp_path_factory.mktemp("customer")).path)


@pytest.fixture(scope="module")
def both_sides(tmp_path_factory) -> Dossier:
    """HB-0418: the left side is a go, the right is not."""
    return dossier("HB-0418", demo_shop(tmp_path_factory.mktemp("customer")).path)


def at(found: Dossier, minutes: float) -> datetime:
    return found.visit.job.opened + timedelta(minutes=minutes)


def result(found: Dossier, minutes: float, azimuth: float = 0.7, side: str = "left") -> tuple[Reading, ...]:
    def reading(question: str, value: float | str, unit: str = "") -> Reading:
        return Reading(
            check="result", question=question, side=side, value=value, unit=unit, text=str(value), evidence="seen",
            at=at(found, minutes), by="Odo Brack",
        )  # fmt: skip

    return reading("said", "yes"), reading("azimuth", azimuth, "deg")


def ended(found: Dossier, minutes: float) -> Ended:
    return Ended(at=at(found, minutes), by="Odo Brack", why="so it is")


def pages(found: Dossier, *readings: Reading, **more: object) -> tuple[str, str]:
    """The words of the customer's page and of the page for the trade, of a job carried on."""
    job = found.visit.job
    job = changed(job, readings=(*job.readings, *readings), **more)
    visit = replace(found.visit, job=job)
    told, papers = account(visit, LATER), replace(found, visit=visit)
    return tuple(  # type: ignore[return-value]
        " ".join(text_of(sheet(told, papers, [])).split()) for sheet in (customer_sheet, trade_sheet)
    )


def test_a_result_after_the_time_was_over(one_side):
    customer, trade = pages(one_side, *result(one_side, 42), ended=ended(one_side, 50))
    late, over = f"{at(one_side, 42):%H:%M}", f"{at(one_side, 30):%H:%M}"
    assert NO_CALIBRATION not in customer
    assert "The job was ended without a go by Odo Brack" in customer
    assert (
        f"One of 18 checks no longer held at {late}, when its result was read: Closed and still." in customer
    )
    assert f"It had been ready until {over}." in customer
    assert "Of the checks before" not in customer  # they were done, and held for their time
    assert "Azimuth correction: 0.7°" in customer
    assert f"The result was read at {late}, 12 minutes after the go had lapsed." in trade


def test_a_result_after_the_car_was_moved(one_side):
    moved = Event(event="car_moved", at=at(one_side, 12), by="Odo Brack")
    customer, trade = pages(one_side, *result(one_side, 15), events=(moved,))
    over = f"{at(one_side, 12):%H:%M}"
    assert f"It had been ready until {over}; then the car was moved." in customer
    assert f"3 minutes after the go had ended: the car was moved at {over}." in trade


def test_without_a_result_the_go_that_was_over_is_told_all_the_same(one_side):
    moved = Event(event="car_moved", at=at(one_side, 12), by="Odo Brack")
    customer, trade = pages(one_side, events=(moved,), ended=ended(one_side, 20))
    over = f"{at(one_side, 12):%H:%M}"
    assert f"✗ {NO_CALIBRATION} The job was ended without a go" in customer
    assert "checks no longer held" in customer
    assert f"It had been ready until {over}; then the car was moved." in customer
    assert f"There was a go until {over}: the car was moved." in trade


def test_a_result_on_one_side_of_two(both_sides):
    customer, _ = pages(both_sides, *result(both_sides, 5))
    assert "For the right side no result is on this record. Ask the shop" in customer
    assert "No result of a calibration is on this record" not in customer


def test_what_is_wrong_afterwards_stands_before_everything_else(one_side):
    customer, _ = pages(one_side, *result(one_side, 5, 3.1))
    assert customer.index(DO_NOT_RELY) < customer.index("Was the car ready?")
    assert customer.count(DO_NOT_RELY) == 1
    assert DO_NOT_RELY not in pages(one_side, *result(one_side, 5))[0]


def test_what_was_set_aside_afterwards_is_told_once(one_side):
    waiver = Waiver(check="road_test", reason="no plates on it", at=at(one_side, 9), by="Tamsin Vale")
    customer, _ = pages(one_side, *result(one_side, 5), waivers=(waiver,))
    assert customer.count("no plates on it") == 1
    assert "Road test, by Tamsin Vale" in customer


def test_every_remark_is_there_and_called_one(one_side):
    remarks = [
        Reading(check="remarks", question=f"remark.{n}", value=text, at=at(one_side, 9), by="Odo", evidence="told")
        for n, text in ((1, "cap replaced"), (2, "wing scratched before"))
    ]  # fmt: skip
    customer, _ = pages(one_side, *result(one_side, 5), *remarks)
    assert "Remark: cap replaced" in customer
    assert "Remark: wing scratched before" in customer


def test_a_job_that_goes_on_says_so(one_side):
    assert "still open" in pages(one_side)[0]
    assert "still open" not in pages(one_side, ended=ended(one_side, 20))[0]


def test_names_in_a_row():
    """Plain English usage: a name that holds an 'and' is set off by a comma."""
    assert listed(["tyres", "floor", "light"]) == "tyres, floor and light"
    assert listed(["Light", "Reflector and stand", "Closed and still"]) == (
        "Light, Reflector and stand, and Closed and still"
    )


def test_a_procedure_that_nobody_confirmed_is_not_told_as_if_somebody_had(one_side):
    assert "nobody confirmed it" not in pages(one_side)[0]
    job = one_side.visit.job
    without = changed(job, readings=tuple(r for r in job.readings if r.check != "procedure"))
    customer, _ = pages(replace(one_side, visit=replace(one_side.visit, job=without)))
    assert "QM-TERN-88-RC issue 4; nobody confirmed it" in customer
