"""What a checklist may say: steps in walking order, checks with their limits, and how to decide."""

from __future__ import annotations

from typing import Annotated

from msgspec import Meta, Struct, field

from readiness.job import LaterTyped, Minute, Side

COMMON_PRACTICE = "common practice, no published source: the maker's figure goes before it"


EVER = 1e9
"""Minutes; longer than any job."""


class Decision(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Width of the guard band in standard uncertainties; 0 is simple acceptance."""

    factor: Annotated[float, Meta(ge=0, le=5)] = 1.645


class Check(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One precondition. `limits` is typed by the kind; `sources` names the origin of each limit."""

    id: str
    kind: str
    title: str
    limits: LaterTyped = None
    sources: dict[str, str] = field(default_factory=dict)
    """Limit name -> source; the name 'all' covers every limit not named."""
    hold: Annotated[Minute, Meta(gt=0, le=EVER)] = EVER
    """How long an answer counts; left out after the calibration, whose answers lapse no more."""
    voided_by: tuple[str, ...] = ()
    a_fix_is: tuple[str, ...] = ()
    """Events that putting this right brings about, so that later checks must be done after it."""
    per_side: bool = False
    if_applicable: bool = False
    """True: it may be set aside as not applicable to this car; the verdict says so all the same."""
    waivable: bool = True
    """False: nobody may set it aside; without it there is no go of any kind."""
    why: str
    how: str
    mistakes: tuple[str, ...]
    remedy: str
    cautions: tuple[str, ...] = ()

    @property
    def lasting(self) -> bool:
        """Whether its answers count for ever."""
        return self.hold >= EVER

    def source_of(self, limit: str) -> str:
        return self.sources.get(limit) or self.sources.get("all") or COMMON_PRACTICE


class Step(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One stop on the walk round the car: checks that are answered together."""

    id: str
    title: str
    checks: tuple[str, ...]


class CommonPart(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A file of checks that several checklists include."""

    part: str
    checks: tuple[Check, ...]


class Checklist(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The preconditions of one kind of calibration, includes already taken in when loaded."""

    checklist: str
    title: str
    sides: tuple[Side, ...]
    include: tuple[str, ...] = ()
    decision: Decision = field(default_factory=Decision)
    steps: tuple[Step, ...]
    checks: tuple[Check, ...] = ()
    closing: tuple[Step, ...] = ()
    """Steps after the calibration: its result, the fault re-scan, the road test. They decide no go."""
    cautions: tuple[str, ...] = ()

    def check(self, check_id: str) -> Check:
        """The check of that id; KeyError if there is none."""
        for check in self.checks:
            if check.id == check_id:
                return check
        raise KeyError(check_id)

    def walk(self) -> tuple[Check, ...]:
        """All preconditions in walking order."""
        return tuple(self.check(c) for step in self.steps for c in step.checks)

    def close_walk(self) -> tuple[Check, ...]:
        """What is asked after the calibration, in order."""
        return tuple(self.check(c) for step in self.closing for c in step.checks)
