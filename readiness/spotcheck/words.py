"""A spot check in words, the same on every face."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from readiness import units
from readiness.job import Again, Agreement, Drawn, Fix, Job, Reading, SpotCheck, System

OUTCOMES: dict[Agreement, str] = {
    "agrees": "agrees",
    "differs": "DOES NOT AGREE",
    "not compared": "not compared",
}
MOST = 999.9
"""|E_n| beyond it is not told to the digit."""


@dataclass(frozen=True, slots=True)
class Told:
    """One spot check with what came of each reading that it drew; None where it was not taken again yet."""

    check: SpotCheck
    rows: tuple[tuple[Drawn, Again | None], ...]

    def count(self, outcome: Agreement) -> int:
        return sum(again is not None and again.outcome == outcome for _, again in self.rows)

    @property
    def to_come(self) -> tuple[Drawn, ...]:
        """In the order in which they were drawn."""
        return tuple(drawn for drawn, again in self.rows if again is None)

    @property
    def agrees(self) -> bool:
        """Whether everything that was drawn was taken again and agrees."""
        return self.count("agrees") == len(self.rows)

    @property
    def hands(self) -> tuple[str, ...]:
        """Who took readings again; who drew them, where nobody did yet."""
        names = dict.fromkeys(again.by for _, again in self.rows if again is not None and again.by)
        return tuple(names) or ((self.check.by,) if self.check.by else ())


def told_of(job: Job) -> tuple[Told, ...]:
    """All spot checks of a job, the oldest first."""
    again = {(a.spot_check, a.entry): a for a in job.again}
    return tuple(
        Told(check, tuple((d, again.get((check.number, d.entry))) for d in check.drawn))
        for check in job.spot_checks
    )


def open_check(job: Job) -> Told | None:
    """The one that is not finished yet, if there is one."""
    return next((told for told in reversed(told_of(job)) if told.to_come), None)


def count_line(told: Told) -> str:
    """'4 of 5 agree, 1 does not'; '3 of 5 agree, 1 was not compared, 1 is still to come'."""
    n, rest = Counter(again.outcome if again else "to come" for _, again in told.rows), []
    if differ := n["differs"]:
        rest.append(f"{differ} {'does' if differ == 1 else 'do'} not")
    if left := n["not compared"]:
        rest.append(f"{left} {'was' if left == 1 else 'were'} not compared")
    if to_come := n["to come"]:
        rest.append(f"{to_come} {'is' if to_come == 1 else 'are'} still to come")
    return ", ".join((f"{n['agrees']} of {len(told.rows)} agree", *rest))


def by_whom(told: Told) -> str:
    return " and ".join(told.hands) or "somebody unnamed"


def e_n_said(value: float) -> str:
    """'-1.9'; to the sign and one decimal, two near one, so that none is rounded over the limit."""
    if abs(value) > MOST:
        return f"{'-' if value < 0 else '+'}more than {MOST:.0f}"
    near = f"{value:+.1f}" in ("+1.0", "-1.0")
    return f"{value:+.3f}" if near else f"{value:+.1f}"


def result(again: Again) -> str:
    """'E_n -1.9, does not agree'; 'the same'; why it was not compared."""
    if again.outcome == "not compared":
        return f"not compared: {again.why or 'no reason given'}"
    if again.compared is None:
        return "the same" if again.outcome == "agrees" else "NOT THE SAME"
    return f"E_n {e_n_said(again.compared.e_n)}: {OUTCOMES[again.outcome]}"


def compared_line(again: Again, system: System) -> str:
    """'at 18.4 °C: 231 kPa ±3 kPa, now 219 kPa ±6 kPa (U = 2 u)'; empty where no numbers were compared."""
    c = again.compared
    if c is None:
        return ""
    apart = "delta_degC" if c.unit == "degC" else c.unit

    def one(value: float, expanded: float) -> str:
        return f"{units.show(value, c.unit, system)} ±{units.show(expanded, apart, system)}"

    how = f"{c.how}: " if c.how else ""
    return f"{how}{one(c.first, c.first_u)} at first, {one(c.again, c.again_u)} now (U = 2 u)"


def notice(again: Again) -> str:
    """'a spot check did not agree: left rear pressure 231 kPa, re-measured 219 kPa, E_n -1.9'."""
    if again.compared is None:
        return f"a spot check did not agree: {again.what}: {again.first_said}, looked at again: {again.said}"
    return (
        f"a spot check did not agree: {again.what} {again.first_said}, re-measured {again.said}, "
        f"E_n {e_n_said(again.compared.e_n)}{f' ({again.compared.how})' if again.compared.how else ''}"
    )


def notices(job: Job) -> tuple[str, ...]:
    """What a spot check speaks against, as long as the reading stands that it speaks against."""
    readings = {r.number: r for r in job.readings} if job.again else {}
    return tuple(
        notice(a)
        for a in job.again
        if a.outcome == "differs" and _stands(readings.get(a.entry), job.fixes, a)
    )


def _stands(first: Reading | None, fixes: Iterable[Fix], again: Again) -> bool:
    """Whether the reading that was checked was neither taken back nor put right since."""
    return first is not None and not any(
        fix.at >= again.at and _of(fix, first.check, first.side, first.question) for fix in fixes
    )


def _of(fix: Fix, check: str, side: str, question: str) -> bool:
    covers = fix.question in ("", question) or question.startswith(f"{fix.question}.")
    return (fix.check, fix.side) == (check, side) and covers


def others_line(others: Iterable[str]) -> str:
    """What could not be drawn, and why: '2 voided: the car was moved at 10:20; 4 checked before'; empty for nothing."""
    return "; ".join(f"{n} {why}" for why, n in Counter(others).items())
