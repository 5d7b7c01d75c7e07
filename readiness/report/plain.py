"""A verdict as plain lines for a person; needs no terminal.

In this order: may I start and until when, what to put right first, why (what a person set aside before all
else), what to take care of.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from readiness.checklist.model import Check
from readiness.checks.finding import Finding, Visit
from readiness.checks.kind import Place
from readiness.closing import closing
from readiness.records.history import Story
from readiness.report.closing_words import closing_lines
from readiness.report.spot_data import in_short
from readiness.report.story_words import Told
from readiness.report.text import OUTCOME_WORDS, VERDICT_WORDS, known_by, moment, wrapped
from readiness.verdict import SideVerdict, Verdict

MARGIN = " " * 13
"""Beside the column that holds the outcome."""


def plain(
    verdict: Verdict, visit: Visit, stories: Mapping[Place, Story] | None = None, *, judged: str = "",
    after: Sequence[str] = (),
) -> str:  # fmt: skip
    """The whole answer as text, 78 columns wide, ending in a line end.

    `stories`: what became of each answer, where there is a journal that tells it. `judged`: a sentence that says of
    which moment it speaks, where that is not one moment for all sides. `after`: lines on what came after the
    calibration, where more is to be told of it than how it stands.
    """
    blocks = [
        _head(verdict, visit, judged),
        _answer(verdict),
        _first(verdict, visit) if visit.job.ended is None else [],
        _spot_checks(verdict, visit),
        _why(verdict, visit, Told(visit, verdict.at, stories or {})),
        _after(verdict, visit, after),
        _cautions(visit),
    ]
    return "\n\n".join("\n".join(lines) for lines in blocks if lines) + "\n"


def _head(verdict: Verdict, visit: Visit, judged: str) -> list[str]:
    job, sheet = visit.job, visit.sheet
    plate = f", {job.plate}" if job.plate else ""
    return [
        *wrapped(f"{job.job}{plate}: {_car(visit)}"),
        *wrapped(
            f"{visit.bay.title}. {judged}" if judged else f"{visit.bay.title}, judged at {moment(verdict.at)}"
        ),
        *wrapped(f"Procedure: {sheet.document.reference}"),
    ]


def _car(visit: Visit) -> str:
    car, title = visit.sheet.car, visit.sheet.title
    return title if title.startswith(car) else f"{car}, {title}"


def _answer(verdict: Verdict) -> list[str]:
    lines: list[str] = []
    for side in verdict.sides.values():
        lines += wrapped(f"{_side_name(side)}{_word(side, verdict)}")
        aside = ", ".join(_by_whom(f) for f in side.waived)
        lines += wrapped(aside, "  Set aside: ") if aside else []
    return lines


def _by_whom(finding: Finding) -> str:
    return finding.title if finding.waiver is None else f"{finding.title} ({finding.waiver.by})"


def _side_name(side: SideVerdict) -> str:
    return "" if side.side == "single" else f"{side.side.capitalize()} side: "


def _word(side: SideVerdict, verdict: Verdict) -> str:
    word = VERDICT_WORDS[side.verdict]
    return word if side.lapses_at is None else f"{word}, lapses at {moment(side.lapses_at, verdict.at)}"


def _first(verdict: Verdict, visit: Visit) -> list[str]:
    told: list[str] = []
    checks = {c.id: c for c in visit.checklist.checks}
    for check in (checks[c] for c in verdict.fix_first):
        for sides, finding in _by_side(verdict, check.id):
            if check.id in verdict.sides[sides[0]].fix_first:
                told.append(_titled(_title(check, sides), _what_to_do(finding)))
    lines = ["What to do first, in this order"] if told else []
    for number, text in enumerate(told, 1):
        lines += wrapped(text, f"{number:3d}. ")
    return lines


def _what_to_do(finding: Finding) -> str:
    """What is not done yet says so itself, where nothing more than answering is to be done."""
    deciding = finding.deciding
    told = finding.outcome not in ("not_done", "lapsed") or (deciding is not None and deciding.remedy)
    return finding.remedy if told else finding.reason


def _why(verdict: Verdict, visit: Visit, told: Told) -> list[str]:
    """What was set aside first, the rest in walking order."""
    found = [
        (check, sides, finding)
        for check in visit.checklist.walk()
        for sides, finding in _by_side(verdict, check.id)
    ]
    lines = ["Why"]
    for check, sides, finding in sorted(found, key=lambda row: row[2].outcome != "waived"):
        lines += finding_lines(_title(check, sides), finding, told.in_short(check, sides[0]))
    return lines


def finding_lines(title: str, finding: Finding, became: Iterable[str] = ()) -> list[str]:
    """A finding under its title, with its notes and what became of its answers."""
    word = f"  {OUTCOME_WORDS[finding.outcome]:11}"
    known = f" ({how})" if (how := known_by(finding)) else ""
    lines = wrapped(_titled(title, finding.reason + known), word, MARGIN)
    return [*lines, *(line for note in (*finding.notes, *became) for line in wrapped(note, MARGIN))]


def _by_side(verdict: Verdict, check: str) -> Iterator[tuple[list[str], Finding]]:
    """The findings of one check with the sides that share each."""
    found: list[tuple[list[str], Finding]] = []
    for name, side in verdict.sides.items():
        finding = side.finding(check)
        shared = next((names for names, other in found if other is finding), None)
        if shared is None:
            found.append(([name], finding))
        else:
            shared.append(name)
    yield from found


def _title(check: Check, sides: list[str]) -> str:
    return f"{check.title}, {sides[0]}" if check.per_side and sides != ["single"] else check.title


def _titled(title: str, sentence: str) -> str:
    """The sentence under its title, which is not said twice."""
    return sentence if sentence.startswith(title) else f"{title}: {sentence}"


def _after(verdict: Verdict, visit: Visit, told: Sequence[str]) -> list[str]:
    short = closing_lines(closing(visit, verdict.at), tuple(verdict.sides))
    lines = list(told) or [line for text in short for line in wrapped(text, "  ")]
    return ["After the calibration", *lines] if lines else []


def _cautions(visit: Visit) -> list[str]:
    checks = (c for check in visit.checklist.walk() for c in check.cautions)
    told = dict.fromkeys((*visit.checklist.cautions, *checks))
    return _listed("Take care", told)


def _spot_checks(verdict: Verdict, visit: Visit) -> list[str]:
    """They change no verdict; what did not agree is said before all reasons."""
    return _listed("Spot checks", in_short(visit.until(verdict.at).job))


def _listed(title: str, texts: Iterable[str]) -> list[str]:
    lines: list[str] = []
    for text in texts:
        lines += wrapped(text, "  - ")
    return [title, *lines] if lines else []
