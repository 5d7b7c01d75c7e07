"""A reading taken again against the first: E_n of published rows, tyres of two hours by a gas library's figures, states."""

from __future__ import annotations

from dataclasses import replace
from math import hypot, sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace as changed

from readiness.checks.entry import understood
from readiness.checks.finding import ask
from readiness.job import Reading
from readiness.spotcheck.candidates import candidates
from readiness.spotcheck.compare import SHARED_ERROR, Taken, left_out, outcome, with_nothing_but
from tests import outside
from tests.scenes import INSTRUMENTS, NOW, Given, check, visit
from tests.scenes import given as answer

ITEM = {"key": "gap", "label": "Gap", "measures": "length", "low": "5 mm", "high": "900 mm",
        "plausible_low": "0 mm", "plausible_high": "999 mm"}  # fmt: skip
TYRES = {
    "pressure_below": 10.0,
    "pressure_above": 20.0,
    "side_difference": 10.0,
    "least_tread": 1.6,
    "tread_difference": 3.0,
}


def gap(first: str | Given | tuple[Given, ...], u: float | None = None, hold: float = 60.0):
    """A visit with one length, by a tape with that standard uncertainty (a = u sqrt 3, nothing to round to)."""
    tools = INSTRUMENTS
    if u is not None:
        tape = changed(INSTRUMENTS["tape"], accuracy=f"{u * sqrt(3):.12f} mm", resolution="0 mm")
        tools = {**INSTRUMENTS, "tape": tape}
    one = check("readings", {"items": [ITEM]}, hold=hold)
    return visit(one, readings={"readings": {"gap": first}}, instruments=tools)


def only(seen, now=NOW, key="gap"):
    return next(c for c in candidates(seen, now).found if c.stop.question.key == key)


def taken(candidate, text, tool="", by="F. Foreman", **more):
    question, (check_id, side, key) = candidate.stop.question, candidate.stop.place
    value, unit = understood(question, text, "metric")
    return Reading(
        check=check_id, side=side, question=key, value=value, unit=unit, text=text, at=NOW, by=by, instrument=tool,
        evidence=question.evidence, **more,
    )  # fmt: skip


@pytest.mark.parametrize("row", outside.rows("en_number", name=lambda r: f"{r['x']} against {r['ref']}"))
def test_e_n_of_the_published_rows(row):
    """ISO/IEC 17043 and ISO 13528; U = 2 u on either side."""
    fine, coarse = row["U_ref"] / 2, row["U_x"] / 2
    seen = gap(f"{row['ref']} mm", fine)
    tape = seen.instruments["tape"]
    second = changed(tape, id="tape-2", accuracy=f"{coarse * sqrt(3):.12f} mm")
    seen = replace(seen, instruments={**seen.instruments, "tape-2": second})
    one = only(seen)
    again = outcome(seen, one, Taken(taken(one, f"{row['x']} mm", "tape-2")), 1, NOW)
    assert again.compared is not None
    assert again.compared.e_n == pytest.approx(row["En"], abs=1e-5)
    assert (again.compared.first_u, again.compared.again_u) == pytest.approx((row["U_ref"], row["U_x"]))
    assert again.outcome == ("agrees" if row["pass"] else "differs")
    assert again.why == ""


@given(st.floats(100, 400), st.floats(-6, 6))
@settings(deadline=None, max_examples=40)
def test_it_agrees_as_far_as_both_uncertainties_reach(first, apart):
    seen = gap(f"{first:.3f} mm")
    one = only(seen)
    found = round(round(first, 3) + apart, 3)
    again = outcome(seen, one, Taken(taken(one, f"{found:.3f} mm", "tape")), 1, NOW)
    u = hypot(1 / sqrt(3), 1 / (2 * sqrt(3)))
    expected = (found - round(first, 3)) / (2 * sqrt(2) * u)
    assert again.compared is not None
    assert again.compared.e_n == pytest.approx(expected, abs=1e-9)
    assert (again.outcome == "agrees") == (abs(expected) <= 1)
    assert again.why == SHARED_ERROR, "the same instrument is said to be"


def test_of_a_series_the_mean_is_compared():
    seen = gap((answer("100 mm"), answer("104 mm", minutes=1)))
    one = only(seen)
    again = outcome(seen, one, Taken(taken(one, "102 mm", "tape")), 1, NOW)
    assert again.entry == one.answer.readings[-1].number
    assert again.first_said == "102 mm (mean of 2)"
    assert again.compared is not None
    assert again.compared.e_n == 0


def test_an_instrument_of_another_kind_compares_nothing():
    seen = gap("100 mm")
    again = outcome(seen, only(seen), Taken(taken(only(seen), "100 mm", "gauge")), 1, NOW)
    assert (again.outcome, again.compared) == ("not compared", None)
    assert "measures pressure, not this" in again.why


@pytest.mark.parametrize(("now", "came"), [("y", "agrees"), ("n", "differs")])
def test_a_state_is_the_same_or_not(now, came):
    one = check("states", {"items": [{"key": "shut", "label": "Doors shut"}]})
    seen = visit(one, readings={"states": {"shut": "y"}})
    drawn = only(seen, key="shut")
    again = outcome(seen, drawn, Taken(taken(drawn, now)), 1, NOW)
    assert (again.outcome, again.compared) == (came, None)
    assert (again.first_said, again.said) == ("yes", {"y": "yes", "n": "no"}[now])


def test_what_was_left_out_says_why():
    seen = gap("100 mm")
    again = left_out(seen, only(seen), "the bumper is on again", "F. Foreman", 7, NOW)
    assert (again.outcome, again.why, again.value) == ("not compared", "the bumper is on again", None)


# --- tyres of two hours --------------------------------------------------------------------------


def car(parked: str, air: str, pressure: str, skin: str = ""):
    answers = {"parked": parked, "air": air, "pressure.lf": pressure}
    if skin:
        answers["temperature.lf"] = skin
    return visit(check("tyres", TYRES), readings={"tyres": answers})


def beside(seen, candidate, **texts):
    found = []
    for name, text in texts.items():
        key = {"skin": "temperature.lf"}.get(name, name)
        bare = with_nothing_but(seen, [r for _, r in found])
        question = next(q for q in ask(bare, candidate.stop.check, "", NOW) if q.key == key)
        value, unit = understood(question, text, "metric")
        tool = "thermometer" if question.measures == "temperature" else ""
        found.append(
            (question, Reading(check="shared" if question.shared else "tyres", question=key, value=value, unit=unit,
                               text=text, at=NOW, by="F. Foreman", instrument=tool))
        )  # fmt: skip
    return tuple(found)


@given(st.floats(-5, 30), st.floats(-5, 30), st.floats(180, 320))
@settings(deadline=None, max_examples=30)
def test_the_same_air_in_a_tyre_agrees_at_whatever_temperature_it_is_read_again(then, now, pressure):
    """The second pressure is that of a closed volume of real air by CoolProp, which knows nothing of our formula."""
    props = pytest.importorskip("CoolProp.CoolProp")
    atmosphere = 101.325
    density = props.PropsSI("D", "P", (pressure + atmosphere) * 1e3, "T", then + 273.15, "Air")
    warm = props.PropsSI("P", "D", density, "T", now + 273.15, "Air") / 1e3 - atmosphere
    seen = car("stood", f"{then:.2f} degC", f"{pressure:.3f} kPa")
    one = only(seen, key="pressure.lf")
    more = beside(seen, one, parked="stood", air=f"{now:.2f} degC")
    again = outcome(seen, one, Taken(taken(one, f"{warm:.3f} kPa", "gauge"), more), 1, NOW)
    assert again.compared is not None
    assert again.outcome == "agrees"
    assert again.compared.again == pytest.approx(again.compared.first, abs=0.7)
    assert [b.text for b in again.beside] == ["stood here three hours or more", f"{now:.2f} degC"]


def test_a_tyre_from_the_road_is_compared_with_one_that_stood():
    """230 kPa cold at 15 °C under 101.325 kPa is 264.5 kPa at 45 °C (Gay-Lussac, by hand: 331.325 x 318.15 / 288.15)."""
    seen = car("road", "15 degC", "264.48 kPa", "45 degC")
    one = only(seen, key="pressure.lf")
    cold = outcome(
        seen,
        one,
        Taken(taken(one, "230 kPa", "gauge"), beside(seen, one, parked="stood", air="15 degC")),
        1,
        NOW,
    )
    assert cold.outcome == "agrees"
    assert cold.compared is not None
    assert cold.compared.first == pytest.approx(230, abs=0.05)
    assert cold.compared.how == "both at 15 °C, the air when it was read first"
    raw = outcome(
        seen,
        one,
        Taken(taken(one, "264.5 kPa", "gauge"), beside(seen, one, parked="stood", air="15 degC")),
        1,
        NOW,
    )
    assert raw.outcome == "differs", "as it was read, without a thought to its temperature"


def test_a_pressure_is_compared_with_nothing_where_its_air_was_not_read():
    seen = visit(check("tyres", TYRES), readings={"tyres": {"parked": "stood", "pressure.lf": "231 kPa"}})
    found = candidates(seen, NOW)
    assert [c.stop.question.key for c in found.found] == []
    assert list(found.others.values()) == ["read without what they would be compared by"]
