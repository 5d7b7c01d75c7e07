"""A verdict put together by hand, with every outcome and with text that tries to misbehave."""

from __future__ import annotations

from datetime import timedelta

from msgspec.structs import replace as changed

from readiness.checks.finding import Finding
from readiness.checks.kind import Part
from readiness.job import Reading, Waiver
from readiness.records.history import Story, stories
from readiness.records.lines import Entry
from readiness.verdict import SideVerdict, Verdict, word_of
from tests.scenes import AT, NOW, SHEET, check, visit

HOSTILE = "\x1b]0;owned\x07\x1b[31mred\u202edesrever\x9b2J\x00 [bold]<b>bay</b>"

CHECKS = (
    check("procedure", title="Procedure"),
    check("tyres", {"pressure_below": 5, "pressure_above": 10, "side_difference": 8, "least_tread": 2,
                    "tread_difference": 2}, title="Tyres", a_fix_is=("tyre_touched",),
          cautions=("Inflate from beside the tyre, with a gauge that locks on to the valve.",)),
    check("stance", {"height": 12, "roll": 1, "pitch": 1, "warp": 8}, title="Stance", voided_by=("tyre_touched",)),
    check("states", {"items": ()}, title=f"Closed {HOSTILE}", per_side=True),
    check("centre_marks", {"yaw": 0.5, "shift": 10}, title="Centre marks", if_applicable=True),
)  # fmt: skip


READ = tuple(
    Reading(check="tyres", question=question, value=value, at=AT, by="A. Test", evidence=how)
    for question, value, how in (("pressure.lf", 231.0, "measured"), ("parked", "stood", "told"))
)
MARKS_ASIDE = Waiver(check="centre_marks", reason="no marks", at=AT, by="A. Test")


def judged_by_hand(go: bool = False, waived: bool = False):
    """A visit and a verdict on it, for left and right; a go is a plain one or one with waivers."""
    seen = visit(
        *CHECKS, sides=("left", "right"), sheet=changed(SHEET, car="Tern\nestate", title="Rear corner radar"),
        cautions=("The vehicle maker's procedure comes first.",),
    )  # fmt: skip
    shared = _shared(go, waived or not go)
    closed = {
        "left": _states("pass" if go else "waived", f"Set aside by A. Test: {HOSTILE}."),
        "right": _states("pass" if go else "not_done", "Left front door: not read yet."),
    }
    sides = {name: _side(name, shared, one) for name, one in closed.items()}
    return seen, Verdict("HB-1", "invented", seen.sheet.sheet, "bay-1", NOW, sides)


def _side(name: str, shared: list[Finding], closed: Finding) -> SideVerdict:
    findings = (*shared[:3], closed, shared[3])
    wrong = tuple(f.check for f in findings if not f.counts)
    lapses = AT + timedelta(minutes=35) if name == "left" else AT + timedelta(days=1)
    word = word_of(findings)
    return SideVerdict(name, word, None if word == "no-go" else lapses, wrong, findings)


def _states(outcome, reason: str) -> Finding:
    remedy = "" if outcome == "pass" else "Shut it, then answer again."
    aside = Waiver(check="states", side="left", reason=HOSTILE, at=AT, by=f"A. Test {HOSTILE}")
    waiver = aside if outcome == "waived" else None
    return Finding("states", "states", CHECKS[3].title, outcome, reason, remedy, waiver=waiver)


def _shared(go: bool, waived: bool) -> list[Finding]:
    low = Part("pressure.lf", "Left front", "too_close", "Left front is 226 kPa: too close to call.", 226.0, "kPa",
               225.0, 240.0, 1.25, 2.06, 0.79, 1.0, "Read it with a finer gauge.", READ)  # fmt: skip
    good = Part("pressure.lr", "Left rear", "pass", "Left rear is 231 kPa, 6 kPa inside.", 231.0, "kPa",
                225.0, 240.0, 1.25, 2.06, 1.0, 6.0, readings=READ)  # fmt: skip
    tyres = (
        Finding("tyres", "tyres", "Tyres", "pass", good.reason, "", (good,), good, "told")
        if go
        else Finding("tyres", "tyres", "Tyres", "too_close", low.reason, low.remedy, (low, good), low, "told",
                     notes=("The tyres are warm, so the pressures are converted to the air of the bay.",),
                     details=("Left front: 241 kPa at 31 °C is 226 kPa at 18 °C.",))
    )  # fmt: skip
    lapsed = "Left front ride height: an earlier reading no longer counts; read it again."
    return [
        Finding("procedure", "procedure", "Procedure", "pass", "The procedure is INV-001.", ""),
        tyres,
        Finding("stance", "stance", "Stance", "pass" if go else "lapsed", "It stands well." if go else lapsed, ""),
        Finding("centre_marks", "centre_marks", "Centre marks", "waived",
                "Centre marks: set aside by A. Test, 09:00, as not applicable: no marks.", "",
                waiver=MARKS_ASIDE, demanded=False)
        if waived
        else Finding("centre_marks", "centre_marks", "Centre marks", "pass", "The marks are in the middle.", ""),
    ]  # fmt: skip


def told_by_hand() -> dict[tuple[str, str, str], Story]:
    """What a journal tells of the answers of this visit: one with a fix, one that serves several checks, a plain one."""
    by = {"by": f"A. Test {HOSTILE}", "instrument": "gauge"}
    rear = {"check": "tyres", "question": "pressure.lr", "unit": "kPa", **by}
    air = {"check": "shared", "question": "air", "unit": "degC", **by}
    bodies = [
        ("reading", {**rear, "value": 210.0, "text": "210"}),
        ("reading", {**air, "value": 18.0, "text": "18"}),
        ("fix", {"check": "tyres", "question": "pressure.lr", "text": f"inflated {HOSTILE}", **by}),
        ("reading", {**rear, "value": 231.0, "text": "231"}),
        ("reading", {**air, "value": 18.5, "text": "18.5"}),
        ("reading", {**rear, "question": "pressure.lf", "value": 226.0, "text": "226"}),
        ("waiver", {"check": "centre_marks", "reason": "no marks", **by}),
    ]
    entries = [Entry(n, AT + timedelta(minutes=n), kind, body) for n, (kind, body) in enumerate(bodies, 2)]
    return stories(entries)
