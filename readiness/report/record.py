"""A job with everything that belongs to it as one JSON object: what `readiness report --json` writes."""

from __future__ import annotations

from typing import Any

from readiness import __version__
from readiness.checks.words import happening
from readiness.job import Instrument
from readiness.records.account import Account
from readiness.records.attachments import Checked
from readiness.records.dossier import Dossier
from readiness.report.cautions import cautions_of
from readiness.report.closing_data import closing_as_dict
from readiness.report.data import as_dict


def record(told: Account, dossier: Dossier) -> dict[str, Any]:
    """The object of `check --json`, each side judged when it mattered, and beside it the rest of the report.

    `judged` says when and why then: 'result', 'last entry' or 'asked'. `closing` is always there. `head` is null for
    a file of answers; with `digest` and `lines` the journal can be proved. `ended_without_go` is a job that is over
    and had no go for any side when it mattered, see `judged`; what went before, `said` tells.
    """
    job = told.visit.job
    head = dossier.head
    return {
        "report": {"program": f"readiness {__version__}", "made": told.made.isoformat()},
        **as_dict(told.verdict, told.visit, dossier.stories),
        "plate": job.plate,
        "title": told.visit.sheet.title,
        "procedure": told.visit.sheet.document.reference,
        "shop": told.visit.shop.shop,
        "people": list(told.hands),
        "opened": job.opened.isoformat(),
        "last_entry": told.last_entry.isoformat(),
        "judged": {
            name: {"at": s.at.isoformat(), "why": s.basis, "said": s.said} for name, s in told.sides.items()
        },
        "closing": closing_as_dict(told.closing, tuple(told.sides)),
        "ended_without_go": told.ended_without_go,
        "events": [
            {"at": e.at.isoformat(), "by": e.by, "event": e.event, "side": e.side,
             "said": happening(e.event, e.side)}
            for e in job.events
        ],
        "fixes": [
            {"at": f.at.isoformat(), "by": f.by, "check": f.check, "side": f.side, "question": f.question, "text": f.text}
            for f in job.fixes
        ],
        "instruments": [_instrument(i) for i in told.instruments],
        "attachments": [_attached(c) for c in dossier.attachments],
        "head": None if head is None else {"digest": head.digest, "lines": head.lines},
        "signatures": [
            {"at": v.signed.at.isoformat(), "by": v.signed.by, "lines": v.signed.number - 1, "state": v.state, "who": v.who}
            for v in dossier.signatures
        ],
        "cautions": cautions_of(told.visit),
        "warnings": list(dossier.warnings),
    }  # fmt: skip


def _instrument(tool: Instrument) -> dict[str, Any]:
    return {
        "id": tool.id, "title": tool.title, "measures": tool.measures, "accuracy": tool.accuracy,
        "resolution": tool.resolution, "due": tool.due.isoformat(),
    }  # fmt: skip


def _attached(checked: Checked) -> dict[str, Any]:
    a = checked.attached
    return {
        "path": a.path, "what": a.what, "sha256": a.sha256, "size": a.size, "at": a.at.isoformat(), "by": a.by,
        "today": checked.state,
    }  # fmt: skip
