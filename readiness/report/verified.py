"""Verified journals as plain lines and as JSON-ready data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any

from readiness.records.signing import Vouched
from readiness.records.verify import Tally, Verified
from readiness.report.phrases import grouped
from readiness.report.text import clean


def one(found: Verified) -> list[str]:
    """A single journal in full."""
    return [clean(line) if not line.startswith("  ") else line for line in _one(found)]


def of_many(found: Verified) -> list[str]:
    """What there is to say of one among many; nothing of a sound one."""
    return [clean(line) for line in (*found.faults, *found.trouble, *(f"Note: {n}" for n in found.notes))]


def summary(tally: Tally) -> list[str]:
    """The whole in one line, '10,000 journals, 1,203,441 lines: all sound.', and what was not looked at."""
    counted = [_counted(tally.journals, "journal"), _counted(tally.lines, "line")]
    counted += [_counted(tally.files, "attached file")] if tally.files else []
    counted += [_counted(tally.signatures, "signature")] if tally.signatures else []
    wrong = [f"{tally.not_sound:,} not sound"] if tally.not_sound else []
    wrong += [f"{tally.not_seen:,} could not be looked at in full"] if tally.not_seen else []
    good = "sound" if tally.journals == 1 else "all sound"
    left = [f"{_counted(n, 'signature')} not checked: {why}." for why, n in tally.unchecked.items()]
    left += [_unsought(tally.unsought)] if tally.unsought else []
    left += [_changed(tally.changed)] if tally.changed else []
    return [*(clean(f"Note: {note}") for note in left), f"{', '.join(counted)}: {', '.join(wrong) or good}."]


def _unsought(files: int) -> str:
    which = "1 attached file was" if files == 1 else f"{files:,} attached files were"
    return f"{which} not looked for, as no shop is around the journal; --shop DIR names it."


def _changed(journals: int) -> str:
    job = "1 job was" if journals == 1 else f"{journals:,} jobs were"
    return f"{job} judged by a sheet, bay, checklist or instrument that says something else now; a report says which."


def as_dict(found: Verified) -> dict[str, Any]:
    """One journal as JSON-ready data."""
    chain, held = found.chain, found.paper
    return {
        "path": str(chain.path),
        "of": chain.of or None,
        "name": chain.name,
        "sound": found.sound,
        "lines": chain.lines,
        "head": chain.head,
        "last": chain.last_at.isoformat() if chain.last_at else None,
        "faults": list(found.faults),
        "line": chain.line or None,
        "trouble": list(found.trouble),
        "notes": list(found.notes),
        "judged_by_what_changed": list(found.changed),
        "files_not_looked_for": found.unsought,
        "attached": [
            {
                "line": c.attached.number,
                "path": c.attached.path,
                "sha256": c.attached.sha256,
                "state": c.state,
            }
            for c in found.attached
        ],
        "signatures": [
            {"line": v.signed.number, "by": v.signed.by, "state": v.state, "key_of": v.who, "why": v.why}
            for v in found.signed
        ],
        "paper": {"digits": held.digits, "line": held.line or None, "later": held.later} if held else None,
    }


def all_as_dict(found: Sequence[Verified], tally: Tally, unread: Sequence[str]) -> dict[str, Any]:
    """All of them as one JSON-ready object."""
    return {
        "sound": tally.sound,
        "journals": tally.journals,
        "lines": tally.lines,
        "not_sound": tally.not_sound,
        "not_looked_at": tally.not_seen,
        "folders_not_read": list(unread),
        "each": [as_dict(f) for f in found],
    }


def _one(found: Verified) -> Iterator[str]:
    chain = found.chain
    if chain.last_at is not None:
        yield f"{chain.of.capitalize()} {chain.name}: {_counted(chain.lines, 'line')}, the last of {_when(chain.last_at)}."
        yield "The hash of the last line, as a report prints it:"
        yield f"  {grouped(chain.head)}"
    for vouched in found.signed:
        if vouched.state == "good":
            yield _signed(vouched, chain.lines)
    if found.attached and all(c.state == "same" for c in found.attached):
        files = len(found.attached)
        yield "The attached file is the same." if files == 1 else f"All {files} attached files are the same."
    if found.paper is not None and found.paper.line:
        yield _paper(found)
    yield from found.faults
    yield from found.trouble
    for vouched in found.signed:
        if vouched.state == "unchecked":
            note = "" if vouched.trouble else "Note: "
            yield f"{note}The signature of {vouched.signed.by} in line {vouched.signed.number} was not checked: {vouched.why}."
    if found.unsought:
        yield f"Note: {_unsought(found.unsought)}"
    yield from (f"Note: {note}" for note in (*found.notes, *found.changed))
    yield "Sound." if found.sound else "Not sound." if found.faults else "Not looked at in full."


def _signed(vouched: Vouched, lines: int) -> str:
    signed = vouched.signed
    later = lines - signed.number
    came = "nothing came" if not later else f"{_counted(later, 'line')} came"
    return (
        f"Lines 1 to {signed.number - 1} are signed with the key of {vouched.who} (by {signed.by}, {_when(signed.at)}); "
        f"{came} after that."
    )


def _paper(found: Verified) -> str:
    held = found.paper
    assert held is not None
    if not held.later:
        return "The paper shows the file as it is."
    if found.chain.line and held.line >= found.chain.line:
        return f"The paper's hash is that of line {held.line}, but a line before that is not sound."
    return f"The paper shows the file as it was after line {held.line}; {_counted(held.later, 'line')} came later."


def _when(at: datetime) -> str:
    """By the clock of this machine, with its zone."""
    try:
        here = at.astimezone()
    except (OverflowError, ValueError, OSError):  # a year that no clock of this machine has
        here = at
    return f"{here:%Y-%m-%d %H:%M %Z}"


def _counted(number: int, what: str) -> str:
    return f"{number:,} {what}{'' if number == 1 else 's'}"
