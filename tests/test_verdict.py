"""Laws of the verdict: what may never happen, whatever the answers."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import pytest
from hypothesis import Phase, find, settings
from hypothesis import given as any_of
from hypothesis import strategies as st
from msgspec.structs import replace as changed

from readiness.checks.finding import Finding, no_reason
from readiness.job import Event, Fix, Waiver
from readiness.verdict import fixing_order, judge, word_of
from tests.scenes import AT, NOW, SHEET, check, checklist, given, visit

STANCE_LIMITS = {"height": 12.0, "roll": 0.4, "pitch": 0.4, "warp": 12.0}
MARKS_LIMITS = {"yaw": 0.3, "shift": 8.0}
DOORS = {"items": [{"key": "doors", "label": "All doors shut"}]}

STANCE = check("stance", STANCE_LIMITS)
MARKS = check("centre_marks", MARKS_LIMITS)
CLOSED = check("states", DOORS, id="closed")
LOAD = check("load", {"front_change": 8, "rear_change": 10})

HEIGHTS = {"height.lf": "390 mm", "height.lr": "380 mm", "height.rr": "380 mm", "height.rf": "390 mm"}
TAPES = {"front.left": "700 mm", "front.right": "700 mm", "rear.left": "650 mm", "rear.right": "650 mm"}
GOOD = {"stance": HEIGHTS, "centre_marks": TAPES, "closed": {"doors": "y"}}
GOOD_LOAD = {"fuel": "1", "carried.1": "y", "carried.2": "y", "extra": "n"}


def three(readings=None, **more):
    return visit(STANCE, MARKS, CLOSED, readings=GOOD if readings is None else readings, **more)


def verdict(made, now=NOW):
    return judge(made, now).sides["single"]


def with_job(made, **changes):
    return replace(made, job=changed(made.job, **changes))


# --- any visit -----------------------------------------------------------------------------------

off = st.one_of(st.integers(-3, 3), st.integers(-14, 14))
one_or_two = st.lists(off, min_size=1, max_size=2)
once = st.lists(off, min_size=1, max_size=1)
complete = st.fixed_dictionaries(
    {
        "stance": st.fixed_dictionaries(dict.fromkeys(HEIGHTS, one_or_two)),
        "centre_marks": st.fixed_dictionaries(dict.fromkeys(TAPES, once)),
        "closed": st.just({"doors": "y"}),
    }
)
partial = st.fixed_dictionaries(
    {
        "stance": st.fixed_dictionaries({}, optional=dict.fromkeys(HEIGHTS, one_or_two)),
        "centre_marks": st.fixed_dictionaries({}, optional=dict.fromkeys(TAPES, once)),
        "closed": st.fixed_dictionaries({}, optional={"doors": st.sampled_from(["y", "n"])}),
    }
)
values = st.one_of(complete, complete, partial)


def typed(drawn):
    """Answers from drawn differences to the good ones; repeats a second apart, so that they have an order."""

    def series(check_id, key, v):
        if isinstance(v, str):
            return v
        base = int(GOOD[check_id][key].split()[0])
        return tuple(given(f"{base + d} mm", minutes=n / 60) for n, d in enumerate(v))

    return {c: {k: series(c, k, v) for k, v in answers.items()} for c, answers in drawn.items()}


def tightened(one, factor):
    limits = {k: v * factor for k, v in (STANCE_LIMITS if one.kind == "stance" else MARKS_LIMITS).items()}
    return check(one.kind, limits)


@any_of(values, st.randoms(use_true_random=False))
@settings(max_examples=60)
def test_the_order_of_answers_never_matters(drawn, random):
    made = three(typed(drawn))
    shuffled = list(made.job.readings)
    random.shuffle(shuffled)
    assert judge(with_job(made, readings=tuple(shuffled)), NOW) == judge(made, NOW)


def test_what_is_kept_from_one_moment_does_not_show_in_another():
    """A visit keeps what its checks share of the last moment; a visit judged for the first time knows nothing."""
    made = three()
    moments = [NOW, NOW + timedelta(hours=3), AT - timedelta(minutes=1), NOW, NOW + timedelta(minutes=59)]
    for now in moments:
        assert judge(made, now) == judge(three(), now)
    assert judge(made, NOW) != judge(made, moments[1])


@any_of(values)
@settings(max_examples=60)
def test_judging_twice_is_equal(drawn):
    made = three(typed(drawn))
    assert judge(made, NOW) == judge(made, NOW)


@any_of(values, st.floats(0.05, 1.0))
@settings(max_examples=100)
def test_tightening_a_limit_never_turns_no_go_into_go(drawn, factor):
    answers = typed(drawn)
    before = verdict(three(answers))
    after = verdict(visit(tightened(STANCE, factor), tightened(MARKS, factor), CLOSED, readings=answers))
    assert not (before.verdict == "no-go" and after.verdict == "go")


@any_of(values, st.sampled_from(sorted(HEIGHTS)), st.sampled_from([-40, -20, 20, 40]))
@settings(max_examples=100)
def test_adding_a_failing_answer_never_gives_a_go(drawn, key, by):
    # one more reading of a height that fails by itself, at the end of whatever series there is
    bad = f"{int(HEIGHTS[key].split()[0]) + by} mm"
    answers = typed(drawn)
    series = answers["stance"].get(key, ())
    worse = {**answers, "stance": {**answers["stance"], key: (*series, given(bad, minutes=1))}}
    before, after = verdict(three(answers)).verdict, verdict(three(worse)).verdict
    assert not (before == "no-go" and after == "go")


@pytest.mark.parametrize("word", ["go", "no-go"])
def test_the_visits_drawn_here_have_both_verdicts(word):
    any_will_do = settings(phases=[Phase.generate])
    assert find(complete, lambda drawn: verdict(three(typed(drawn))).verdict == word, settings=any_will_do)


@any_of(values)
@settings(max_examples=60)
def test_go_means_that_every_finding_counts(drawn):
    found = verdict(three(typed(drawn)))
    assert (found.verdict == "go") == all(f.outcome == "pass" for f in found.findings)
    assert (found.verdict == "go") == (found.fix_first == ())
    assert (found.lapses_at is not None) == (found.verdict == "go")


# --- one at a time -------------------------------------------------------------------------------


def test_all_good_is_a_go_until_the_first_finding_lapses():
    short = check("centre_marks", MARKS_LIMITS, hold=25)
    found = verdict(visit(STANCE, short, CLOSED, readings=GOOD))
    assert found.verdict == "go"
    assert found.lapses_at == AT + timedelta(minutes=25)


@pytest.mark.parametrize("left_out", GOOD)
def test_an_unanswered_check_is_no_go_and_named(left_out):
    found = verdict(three({k: v for k, v in GOOD.items() if k != left_out}))
    assert (found.verdict, found.fix_first) == ("no-go", (left_out,))
    assert found.finding(left_out).outcome == "not_done"


def test_a_go_lapses_by_the_clock():
    made = three()
    assert verdict(made, AT + timedelta(minutes=59)).verdict == "go"
    late = verdict(made, AT + timedelta(minutes=60))
    assert late.verdict == "no-go"
    assert {f.outcome for f in late.findings} == {"lapsed"}


def test_an_event_voids_what_it_undid_and_no_more():
    fragile = check("centre_marks", MARKS_LIMITS, voided_by=("car_moved",))
    moved = Event(event="car_moved", at=AT + timedelta(minutes=1), by="A. Test")
    found = verdict(visit(STANCE, fragile, CLOSED, readings=GOOD, events=[moved]))
    assert found.fix_first == ("centre_marks",)
    assert found.finding("centre_marks").outcome == "lapsed"


def test_entries_later_than_the_moment_of_judging_are_not_seen():
    made = three({**GOOD, "stance": {**HEIGHTS, "height.lf": given("390 mm", minutes=30)}})
    assert verdict(made, AT + timedelta(minutes=29)).verdict == "no-go"
    assert verdict(made, AT + timedelta(minutes=30)).verdict == "go"


def test_a_check_that_raises_is_no_go_and_says_so_and_hides_nothing():
    # a reading of a station that the sheet does not have, as an edited sheet can leave behind
    made = visit(
        LOAD, STANCE,
        readings={
            "load": {**GOOD_LOAD, "extra": "y", "extra.1.name": "crate", "extra.1.mass": "5 kg",
                     "extra.1.station": "boot floor", "extra.1.more": "n"},
            "stance": HEIGHTS,
        },
    )  # fmt: skip
    stale = tuple(
        changed(r, value="roof rack") if r.question.endswith("station") else r for r in made.job.readings
    )
    found = verdict(with_job(made, readings=stale))
    assert found.verdict == "no-go"
    assert found.finding("load").outcome == "not_done"
    assert "could not be judged" in found.finding("load").reason
    assert "counts as no-go" in found.finding("load").reason
    assert found.finding("stance").outcome == "pass"


def test_a_checklist_of_nothing_is_never_a_go():
    assert judge(visit(), NOW).sides["single"].verdict == "no-go"


@pytest.mark.parametrize(
    ("if_applicable", "how"), [(True, "as not applicable"), (False, "although it is demanded")]
)
def test_with_a_check_set_aside_it_is_at_best_a_go_with_waivers(if_applicable, how):
    one = check("centre_marks", MARKS_LIMITS, if_applicable=if_applicable)
    aside = Waiver(check="centre_marks", reason="no marks on this car.", at=AT, by="A. Test")
    found = verdict(
        visit(STANCE, one, CLOSED, readings={k: GOOD[k] for k in ("stance", "closed")}, waivers=[aside])
    )
    assert found.verdict == "go-with-waivers"
    assert found.waived == (found.finding("centre_marks"),)
    assert found.waived[0].waiver == aside
    assert (
        found.waived[0].reason == f"Centre marks: set aside by A. Test, 09:00, {how}: no marks on this car."
    )
    assert found.fix_first == ()


def test_what_nobody_may_set_aside_stays_in_the_way():
    one = check("centre_marks", MARKS_LIMITS, waivable=False, if_applicable=True)
    aside = Waiver(check="centre_marks", reason="no marks on this car", at=AT, by="A. Test")
    found = verdict(
        visit(STANCE, one, CLOSED, readings={k: GOOD[k] for k in ("stance", "closed")}, waivers=[aside])
    )
    assert (found.verdict, found.fix_first, found.lapses_at) == ("no-go", ("centre_marks",), None)
    assert found.finding("centre_marks").reason.endswith("Nobody may set it aside, so there is no go.")
    assert found.finding("centre_marks").remedy == "Answer it after all. Put centre_marks right."


def test_a_waiver_holds_as_long_as_the_job_and_the_go_as_long_as_its_readings():
    aside = Waiver(check="centre_marks", reason="no marks on this car", at=AT, by="A. Test")
    fragile = check("centre_marks", MARKS_LIMITS, hold=5, voided_by=("car_moved",))
    moved = Event(event="car_moved", at=AT + timedelta(minutes=1), by="A. Test")
    made = visit(
        STANCE, fragile, CLOSED, readings={k: GOOD[k] for k in ("stance", "closed")}, waivers=[aside],
        events=[moved],
    )  # fmt: skip
    found = verdict(made, AT + timedelta(minutes=59))
    assert (found.verdict, found.lapses_at) == ("go-with-waivers", AT + timedelta(minutes=60))
    late = verdict(made, AT + timedelta(days=3))
    assert (late.verdict, late.finding("centre_marks").outcome) == ("no-go", "waived")
    assert "2026-05-04 09:00" in late.finding("centre_marks").reason


@pytest.mark.parametrize(
    ("by", "reason", "told"),
    [
        ("", "", "somebody unnamed, 09:00, although it is demanded: no reason given"),
        (" ", "x", "somebody unnamed, 09:00, although it is demanded: x"),
    ],
)
def test_an_old_waiver_is_shown_as_it_is(by, reason, told):
    """Earlier versions took any reason; nothing of a journal is changed afterwards."""
    aside = Waiver(check="centre_marks", reason=reason, at=AT, by=by)
    found = verdict(visit(STANCE, MARKS, readings={"stance": HEIGHTS}, waivers=[aside]))
    assert found.verdict == "go-with-waivers"
    assert f"by {told}." in found.waived[0].reason


@pytest.mark.parametrize(
    ("reason", "refused"), [("", True), (" x. ", True), ("--", True), ("no", False), ("no mark", False)]
)
def test_a_reason_is_more_than_a_letter(reason, refused):
    assert bool(no_reason(reason)) == refused


waivers = st.lists(
    st.builds(
        lambda c, m: Waiver(check=c, reason="because", at=AT + timedelta(minutes=m), by="A. Test"),
        st.sampled_from([*GOOD, "unknown"]),
        st.integers(-5, 9),
    ),
    min_size=1,
    max_size=4,
)


@any_of(values, waivers, st.sets(st.sampled_from(sorted(GOOD))), st.sets(st.sampled_from(sorted(GOOD))))
@settings(max_examples=150)
def test_no_combination_with_a_waiver_is_a_plain_go(drawn, aside, foreseen, barred):
    checks = [
        changed(c, if_applicable=c.id in foreseen, waivable=c.id not in barred)
        for c in (STANCE, MARKS, CLOSED)
    ]
    found = verdict(visit(*checks, readings=typed(drawn), waivers=aside))
    outcomes = {f.outcome for f in found.findings}
    assert (found.verdict == "go") == (outcomes == {"pass"})
    if found.waived:
        assert found.verdict != "go"
        let_go = outcomes == {"pass", "waived"} or outcomes == {"waived"}
        assert found.verdict == (
            "go-with-waivers" if let_go and barred.isdisjoint(f.check for f in found.waived) else "no-go"
        )
    assert (found.verdict == "no-go") == bool(found.fix_first)


@any_of(st.lists(st.sampled_from(["pass", "fail", "too_close", "not_done", "lapsed", "waived", "barred"])))
@settings(max_examples=200)
def test_the_word_follows_from_the_outcomes_whatever_they_are(drawn):
    """All combinations of findings, also those that no visit of these tests comes to."""
    made = [
        Finding("c", "states", "C", "waived" if o == "barred" else o, "r", "", waivable=o != "barred")
        for o in drawn
    ]
    word = word_of(made)
    assert (word == "go") == (set(drawn) == {"pass"})
    assert (word == "go-with-waivers") == ("waived" in drawn and set(drawn) <= {"pass", "waived"})


def test_answering_after_setting_aside_counts_again():
    one = check("centre_marks", MARKS_LIMITS, if_applicable=True)
    aside = Waiver(check="centre_marks", reason="no marks", at=AT - timedelta(minutes=1), by="A. Test")
    bad = {**TAPES, "front.left": "750 mm"}
    found = verdict(visit(STANCE, one, CLOSED, readings={**GOOD, "centre_marks": bad}, waivers=[aside]))
    assert (found.verdict, found.finding("centre_marks").outcome) == ("no-go", "fail")


def test_one_side_may_go_while_the_other_may_not():
    sided = check("states", DOORS, id="bracket", per_side=True)
    made = visit(
        sided, STANCE, sides=("left", "right"),
        readings={("bracket", "left"): {"doors": "y"}, ("bracket", "right"): {"doors": "n"}, "stance": HEIGHTS},
    )  # fmt: skip
    sides = judge(made, NOW).sides
    assert {s: v.verdict for s, v in sides.items()} == {"left": "go", "right": "no-go"}
    assert sides["right"].fix_first == ("bracket",)


# --- what to fix first ---------------------------------------------------------------------------

TYRES = check(
    "tyres",
    {"pressure_below": 5, "pressure_above": 15, "side_difference": 10, "least_tread": 2, "tread_difference": 2},
    a_fix_is=("tyre_touched",), voided_by=("tyre_touched",),
)  # fmt: skip
FUELLED = changed(LOAD, a_fix_is=("load_changed", "door_opened"), voided_by=("load_changed",))
LEVEL = check(
    "floor", {"slope_along": 3, "slope_across": 3, "flatness": 5, "twist": 4, "target_height": 5},
    a_fix_is=("car_moved",), voided_by=("car_moved",),
)  # fmt: skip
SITS = changed(STANCE, a_fix_is=("tyre_touched",), voided_by=("tyre_touched", "load_changed", "car_moved"))
TROLLEY = {"name": "trolley", "radius": 0.4, "height": 1.0}
CLEAR = check("clear_area", {"margin": 0.1, "kit": [TROLLEY]}, a_fix_is=("bay_rearranged",),
              voided_by=("car_moved", "bay_rearranged"))  # fmt: skip
SHUT = changed(CLOSED, voided_by=("door_opened", "got_in"))
ALL = (TYRES, FUELLED, LEVEL, SITS, CLEAR, SHUT)
BEFORE = (
    ("tyres", "stance"),
    ("load", "stance"),
    ("floor", "clear_area"),
    ("floor", "stance"),
    ("load", "closed"),
)


@any_of(st.permutations(ALL))
def test_no_fix_undoes_one_done_before_whatever_the_walking_order(order):
    fixed = [c.id for c in fixing_order(checklist(*order))]
    assert sorted(fixed) == sorted(c.id for c in order)
    # tyres and stance would undo each other, so there the walking order decides
    pairs = [p for p in BEFORE if p != ("tyres", "stance")]
    for first, second in pairs:
        assert fixed.index(first) < fixed.index(second)


@any_of(st.permutations([changed(c, a_fix_is=()) if c.id == "stance" else c for c in ALL]))
def test_tyres_before_stance_load_before_stance_car_moved_before_clear_area_doors_after_load(order):
    fixed = [c.id for c in fixing_order(checklist(*order))]
    for first, second in BEFORE:
        assert fixed.index(first) < fixed.index(second)


def test_fix_first_names_only_what_is_wrong_in_the_order_of_fixing():
    order = (SHUT, CLEAR, changed(SITS, a_fix_is=()), LEVEL, FUELLED, TYRES)
    found = verdict(visit(*order))
    assert set(found.fix_first) == {c.id for c in ALL}
    for first, second in BEFORE:
        assert found.fix_first.index(first) < found.fix_first.index(second)
    good = verdict(visit(*order, readings={"load": GOOD_LOAD, "closed": {"doors": "n"}}))
    assert "load" not in good.fix_first
    assert "closed" in good.fix_first


def test_without_any_undoing_the_walking_order_stays():
    plain = [changed(c, a_fix_is=(), voided_by=()) for c in ALL]
    fixed = fixing_order(checklist(*plain))
    assert [c.id for c in fixed] == [c.id for c in plain]
    assert all(a is not b for a, b in pairwise(fixed))


def test_a_fix_voids_the_checks_that_it_undoes_but_not_its_own():
    # fuel filled in after the stance was measured: the ride heights no longer count, the fuel does
    readings = {"load": {**GOOD_LOAD, "fuel": ("1/2", given("1", minutes=3))}, "stance": HEIGHTS}
    filled = Fix(check="load", question="fuel", at=AT + timedelta(minutes=2), by="A. Test", text="filled up")
    found = verdict(visit(FUELLED, SITS, readings=readings, fixes=[filled]))
    assert found.finding("load").outcome == "pass"
    assert found.finding("stance").outcome == "lapsed"
    assert found.fix_first == ("stance",)


def test_the_latest_of_several_fixes_starts_the_series():
    heights = {**HEIGHTS, "height.lf": ("300 mm", given("340 mm", minutes=2), given("390 mm", minutes=4))}
    fixes = [
        Fix(check="stance", question=q, at=AT + timedelta(minutes=m), by="A. Test")
        for m, q in ((1, "height.lf"), (3, "height.lf"))
    ]
    found = verdict(three({**GOOD, "stance": heights}, fixes=fixes)).finding("stance")
    assert next(p.value for p in found.parts if p.key == "height.lf") == 390.0


def test_a_finding_lapses_with_its_oldest_reading():
    heights = {**HEIGHTS, "height.lf": given("390 mm", minutes=8)}
    found = verdict(three({**GOOD, "stance": heights})).finding("stance")
    assert found.lapses_at == AT + timedelta(minutes=60)


def test_checks_that_undo_each_other_do_not_hold_up_the_rest():
    one = changed(STANCE, a_fix_is=("tyre_touched", "car_moved"), voided_by=("load_changed",))
    other = changed(LOAD, a_fix_is=("load_changed",), voided_by=("tyre_touched",))
    last = changed(MARKS, voided_by=("car_moved",))
    fixed = [c.id for c in fixing_order(checklist(last, one, other))]
    assert fixed.index("stance") < fixed.index("centre_marks")
    assert fixed.index("stance") < fixed.index("load")


def test_what_the_sheet_gives_figures_for_is_said_to_be_demanded():
    """Stance is foreseen to be set aside where the sheet has no ride heights to compare with, and only there."""
    limits = {"height": 10.0, "roll": 0.4, "pitch": 0.4, "warp": 10.0}
    one = check("stance", limits, if_applicable=True)
    aside = Waiver(check="stance", reason="the procedure gives none", at=AT, by="A. Test")
    with_heights = judge(visit(one, waivers=[aside]), NOW).sides["single"]
    without = changed(SHEET, ride_heights=None)
    without_heights = judge(visit(one, sheet=without, waivers=[aside]), NOW).sides["single"]
    assert with_heights.verdict == without_heights.verdict == "go-with-waivers"
    assert "although it is demanded" in with_heights.finding("stance").reason
    assert "as not applicable" in without_heights.finding("stance").reason
