"""A verdict put together by hand, with every outcome and with text that tries to misbehave."""

from __future__ import annotations

from datetime import timedelta

from msgspec.structs import replace as changed

from readiness.checks.finding import Finding
from readiness.checks.kind import Part
from readiness.verdict import SideVerdict, Verdict
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


def judged_by_hand(go: bool = False):
    """A visit and a verdict on it, for left and right."""
    seen = visit(
        *CHECKS, sides=("left", "right"), sheet=changed(SHEET, car="Tern\nestate", title="Rear corner radar"),
        cautions=("The vehicle maker's procedure comes first.",),
    )  # fmt: skip
    shared = _shared(go)
    closed = {
        "left": _states("pass" if go else "waived", f"Set aside by A. Test: {HOSTILE}."),
        "right": _states("pass" if go else "not_done", "Left front door: not read yet."),
    }
    sides = {name: _side(name, go, shared, one) for name, one in closed.items()}
    return seen, Verdict("HB-1", "invented", seen.sheet.sheet, "bay-1", NOW, sides)


def _side(name: str, go: bool, shared: list[Finding], closed: Finding) -> SideVerdict:
    findings = (*shared[:3], closed, shared[3])
    wrong = tuple(f.check for f in findings if not f.counts)
    lapses = AT + timedelta(minutes=35) if name == "left" else AT + timedelta(days=1)
    return SideVerdict(name, "go" if go else "no-go", lapses if go else None, wrong, findings)


def _states(outcome, reason: str) -> Finding:
    remedy = "" if outcome == "pass" else "Shut it, then answer again."
    return Finding("states", "states", CHECKS[3].title, outcome, reason, remedy)


def _shared(go: bool) -> list[Finding]:
    low = Part("pressure.lf", "Left front", "too_close", "Left front is 226 kPa: too close to call.", 226.0, "kPa",
               225.0, 240.0, 1.25, 2.06, 0.79, 1.0, "Read it with a finer gauge.")  # fmt: skip
    good = Part("pressure.lr", "Left rear", "pass", "Left rear is 231 kPa, 6 kPa inside.", 231.0, "kPa",
                225.0, 240.0, 1.25, 2.06, 1.0, 6.0)  # fmt: skip
    tyres = (
        Finding("tyres", "tyres", "Tyres", "pass", good.reason, "", (good,), good, "measured")
        if go
        else Finding("tyres", "tyres", "Tyres", "too_close", low.reason, low.remedy, (low, good), low, "measured",
                     notes=("The tyres are warm, so the pressures are converted to the air of the bay.",),
                     details=("Left front: 241 kPa at 31 °C is 226 kPa at 18 °C.",))
    )  # fmt: skip
    lapsed = "Left front ride height: an earlier reading no longer counts; read it again."
    return [
        Finding("procedure", "procedure", "Procedure", "pass", "The procedure is INV-001.", ""),
        tyres,
        Finding("stance", "stance", "Stance", "pass" if go else "lapsed", "It stands well." if go else lapsed, ""),
        Finding("centre_marks", "centre_marks", "Centre marks", "waived",
                "Centre marks: set aside as not applicable by A. Test: no marks.", "", demanded=False),
    ]  # fmt: skip
