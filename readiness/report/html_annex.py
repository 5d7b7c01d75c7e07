"""The annex: every number, every reading with what became of it, pictures, instruments, events, files, cautions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime

from readiness.checklist.describe import limits_in_words as check_limits
from readiness.checks.finding import Finding
from readiness.checks.kind import Part
from readiness.checks.picture import Picture
from readiness.checks.words import capital, happening
from readiness.job import Fix, Instrument, Waiver
from readiness.records.account import Account, Shared
from readiness.records.dossier import Dossier
from readiness.report.cautions import cautions_of
from readiness.report.html_answers import answers
from readiness.report.html_spot_checks import spot_checks
from readiness.report.html_trade import titled
from readiness.report.line_svg import number_line
from readiness.report.markup import Child, Drawing, Element, el, said
from readiness.report.numbers import chance, limits_in_words, shown, spread
from readiness.report.phrases import (
    FILES,
    answered,
    grouped,
    in_full,
    known,
    outcome,
    signature_in_words,
    signed,
    when,
    wide,
)
from readiness.report.svg import svg

DRAWN = 320.0
"""Pixels; width of a picture."""
SHOWN = {
    "zone": "what has to stay clear, and what stands nearest to it.",
    "sensor": "how far off the sensor sees its target, and what the floor does under the target's feet.",
    "height": "heights over the plane of the four wheels. Large discs: feet of the targets.",
}
"""Role of a shape -> what a picture with such shapes shows."""
PARTS = ("Outcome", "What", "Line", "Value", "Limits", "Guard", "u", "P", "How it is known")
CAUTION = (
    "What stands here was true when it was entered. A limit without a published source is a starting point, not the "
    "maker's word."
)


def annex(told: Account, dossier: Dossier, made: Sequence[Child]) -> Element:
    """The third sheet; `made` is its foot."""
    parts: list[tuple[str, Child]] = [
        ("Pictures", _pictures(told)),
        ("Every number and state", _numbers(told)),
        ("Every answer", answers(told, dossier)),
        ("Events and fixes", _happened(told, dossier)),
        ("Spot checks", spot_checks(told)),
        ("Instruments", _instruments(told)),
        ("Files", _files(told, dossier)),
        ("Cautions", _cautions(told)),
        ("The record", [el("p", text) for text in _record(told, dossier)]),
    ]
    return el(
        "section",
        {"class": "sheet annex", "aria-labelledby": "annex"},
        el("h2", {"class": "title", "id": "annex"}, "Annex"),
        [el("section", el("h3", title), held) for title, held in parts if held],
        el("footer", {"class": "foot"}, made),
    )


# --- pictures ------------------------------------------------------------------------------------


def _pictures(told: Account) -> Element | None:
    worth = [f for f in told.findings if _worth(f.finding.picture)]
    return el("div", {"class": "pictures"}, [_picture(told, f) for f in worth]) if worth else None


def _picture(told: Account, found: Shared) -> Element:
    """Many heights want room."""
    title, picture = titled(told, found), found.finding.picture
    many = sum(shape.role == "height" for shape in picture) > 8
    drawn = svg(picture, title=title, width=DRAWN * (1.6 if many else 1), system=told.visit.shop.units)
    shows = next((f": {words}" for role, words in SHOWN.items() if any(s.role == role for s in picture)), "")
    return el(
        "figure",
        {"class": "broad" if many else None},
        el("figcaption", el("b", title), shows),
        Drawing(drawn),
    )


def _worth(picture: Picture) -> bool:
    """Whether a picture says more than the numbers: places in the bay, heights of a floor."""
    return any(shape.role in ("zone", "height") for shape in picture)


# --- every number --------------------------------------------------------------------------------


def _numbers(told: Account) -> Element:
    after = [f for f in told.closing_findings if answered(f.finding)]
    found = [f for f in (*told.findings, *after) if f.finding.parts]
    head = [el("th", {"scope": "col", "class": f"c{k}"}, name) for k, name in enumerate(PARTS, 1)]
    checks = [_check(told, f) for f in found]
    return wide(
        "Every number and state", el("table", {"class": "parts"}, el("thead", el("tr", head)), checks)
    )


def _check(told: Account, found: Shared) -> Element:
    finding = found.finding
    head = el(
        "th", {"scope": "rowgroup", "colspan": len(PARTS)}, titled(told, found), " ", outcome(finding.outcome)
    )
    remarks = _remarks(told, finding)
    return el(
        "tbody",
        el("tr", {"class": "group"}, head),
        [_part(told, finding, part) for part in finding.parts],
        el("tr", {"class": "remarks"}, el("td", {"colspan": len(PARTS)}, remarks)) if remarks else None,
    )


def _part(told: Account, finding: Finding, part: Part) -> Element:
    """A number in its columns; of a state, the sentence across them."""
    label = part.label.rstrip(",")
    sources = () if part.readings or not isinstance(part.value, float) else finding.rests_on
    how = el("td", known(part.readings, map(in_full, sources), told.now, told.visit.job.opened))
    return el(
        "tr",
        el("td", outcome(part.outcome)),
        el("th", {"scope": "row"}, label),
        _figures(told, part) if isinstance(part.value, float) else _state(part, label),
        how,
    )


def _figures(told: Account, part: Part) -> list[Element]:
    system = told.visit.shop.units
    cells: list[Child] = [
        number_line(part, system, 110.0),
        shown(part, system),
        limits_in_words(part, system),
        spread(part.guard, part.unit, system),
        spread(part.u, part.unit, system),
        chance(part.p_conform),
    ]
    return [el("td", cell) for cell in cells]


def _state(part: Part, label: str) -> Element:
    return el("td", {"colspan": 6}, part.reason.removeprefix(f"{label}: "))


def _remarks(told: Account, finding: Finding) -> list[Child]:
    """Limits with their sources, notes, and how it was worked out."""
    by_source: dict[str, list[str]] = {}
    for words, source in check_limits(told.visit.checklist.check(finding.check), told.visit.shop.units):
        by_source.setdefault(source, []).append(words)
    limits = [
        el("p", {"class": "notes"}, el("b", "Limits"), f" ({source}): {'; '.join(rows)}.")
        for source, rows in by_source.items()
    ]
    written = [
        el("p", {"class": "notes"}, el("b", "Known from before"), ": ", in_full(source), ".")
        for source in finding.rests_on
        if source.on is not None
    ]
    notes = [el("p", {"class": "notes"}, note) for note in finding.notes]
    return [*limits, *written, *notes, *_working(finding.details)]


def _working(details: Sequence[str]) -> Iterator[Element]:
    """Line by line; what belongs to the line before it is indented."""
    if details:
        lines = [
            el("li", {"class": f"in-{min(3, (len(d) - len(d.lstrip())) // 2)}"}, d.strip()) for d in details
        ]
        yield el("p", {"class": "notes"}, el("b", "How it was worked out"))
        yield el("ul", {"class": "working"}, lines)


# --- what happened, with what, what belongs to it ------------------------------------------------


def _happened(told: Account, dossier: Dossier) -> Element | None:
    """Events, fixes and what was set aside, in the order in which they happened."""
    job = told.visit.job
    rows: list[tuple[datetime, str, Child]] = []
    rows += [(e.at, e.by, capital(happening(e.event, e.side))) for e in job.events]
    rows += [(f.at, f.by, _done(_what(told, dossier, f), "put right", f.text)) for f in job.fixes]
    rows += [(w.at, w.by, _done(_what(told, dossier, w), "set aside", w.reason)) for w in job.waivers]
    if job.ended is not None:
        rows.append(
            (
                job.ended.at,
                job.ended.by,
                ["The job was ended", [": ", said(job.ended.why)] if job.ended.why else ""],
            )
        )
    return _rows(
        "Events and fixes",
        ("When", "What", "By"),
        [
            [when(at, told.now, job.opened), what, said(by)]
            for at, by, what in sorted(rows, key=lambda r: r[0])
        ],
    )


def _what(told: Account, dossier: Dossier, done: Fix | Waiver) -> str:
    """'Tyres, left rear, pressure'."""
    titles = {c.id: c.title for c in told.visit.checklist.checks}
    asked = dossier.questions.get((done.check, done.side, done.question)) if isinstance(done, Fix) else None
    label = asked.label.rstrip(",").replace(": ", ", ") if asked is not None else ""
    return ", ".join(filter(None, (titles.get(done.check, done.check), done.side, label)))


def _done(what: str, how: str, why: str) -> list[Child]:
    return [f"{what}: {how}", [", ", said(why)] if why and why != how else ""]


def _instruments(told: Account) -> Element | None:
    """Those that were used, by the last day of their calibration."""
    rows = [_instrument(told, tool) for tool in told.instruments]
    rows += [
        [said(n), "not in the shop's list", *[""] * 4] for n in told.used if n not in told.visit.instruments
    ]
    return _rows(
        "Instruments",
        ("Instrument", "What it is", "Measures", "Good to", "Reads to", "Calibration due"),
        rows,
    )


def _instrument(told: Account, tool: Instrument) -> list[Child]:
    late = tool.due < told.used[tool.id]
    due: Child = [str(tool.due), " ", signed("✗", "out of date", "bad")] if late else str(tool.due)
    return [said(tool.id), said(tool.title), tool.measures, f"±{tool.accuracy}", tool.resolution, due]


def _files(told: Account, dossier: Dossier) -> Element | None:
    rows: list[list[Child]] = [
        [said(a.path), said(a.what), f"{a.size} bytes", FILES[c.state], [said(a.by), " ", when(a.at, told.now, told.visit.job.opened)],
         el("span", {"class": "hash"}, grouped(a.sha256))]
        for c in dossier.attachments if (a := c.attached).at <= told.now
    ]  # fmt: skip
    return _rows(
        "Files", ("File", "What it shows", "Size", "Today", "Attached by", "SHA-256 when attached"), rows
    )


def _rows(title: str, head: Sequence[str], rows: Sequence[Sequence[Child]]) -> Element | None:
    """A table whose first column names the row; None without rows."""
    if not rows:
        return None
    return wide(
        title,
        el(
            "table",
            el("thead", el("tr", [el("th", {"scope": "col"}, name) for name in head])),
            el(
                "tbody",
                [
                    el("tr", el("th", {"scope": "row"}, row[0]), [el("td", c) for c in row[1:]])
                    for row in rows
                ],
            ),
        ),
    )


def _cautions(told: Account) -> Element:
    return el("ul", {"class": "notes"}, [el("li", text) for text in (CAUTION, *cautions_of(told.visit))])


def _record(told: Account, dossier: Dossier) -> Iterator[str]:
    """What is odd about the file, who signed it, and how this paper is held against it."""
    yield from dossier.warnings
    for vouched in dossier.signatures:
        yield signature_in_words(vouched, told.now)
    if dossier.head is not None:
        yield (
            "Every line of the record holds the hash of the line before it. Whoever has this paper and the file can tell "
            "whether a line was changed, left out or cut off since: readiness verify, with the hash below after --head."
        )
