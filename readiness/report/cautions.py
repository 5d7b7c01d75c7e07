"""What to take care of: the checklist's own cautions, then those of its checks, each once."""

from __future__ import annotations

from readiness.checks.finding import Visit


def cautions_of(visit: Visit) -> list[str]:
    checks = (*visit.checklist.walk(), *visit.checklist.close_walk())
    return list(dict.fromkeys((*visit.checklist.cautions, *(c for check in checks for c in check.cautions))))
