"""What the rules of the checklist room find in a draft, each at the question it is about. There are no others here."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from readiness import job
from readiness.checklist.lint import against_checklist, doubts_of
from readiness.checklist.load import Loaded, decoded, in_order
from readiness.checklist.mistakes import FileMistakes, Mistake
from readiness.checklist.nodes import parse
from readiness.checklist.spot import Spot
from readiness.sheetmaking.asking import Asked, Known, Section
from readiness.sheetmaking.draft import Draft, Tree
from readiness.sheetmaking.in_file import in_file, keys_of, meanwhile
from readiness.sheetmaking.questions import open_of, sections
from readiness.sheetmaking.yaml_text import yaml_text

PLACED = ("sensors", "targets", "zones", "load", "fuel.tank_at", "marks", "ride_heights")
"""What is judged by the car's dimensions, marks or tyres, and so not before these are known."""
RESTS_ON = ("dimensions.", "marks.", "placard.size.")


@dataclass(frozen=True, slots=True)
class Remark:
    """Something that is wrong with an answer, or seldom meant."""

    key: str
    """The question it is about; empty for the sheet as a whole."""
    words: str
    doubt: bool = False
    """It may be meant: the person can let it stand."""


@dataclass(frozen=True, slots=True)
class Looked:
    """A draft looked at: what is said of it, and the sheet as far as it can be made."""

    remarks: tuple[Remark, ...] = ()
    sheet: job.Sheet | None = None
    """None as long as something keeps it from being read. What is not answered yet is stood in for."""
    stood_in: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Finished:
    """A draft as it would be written: its text, or what is in the way of it."""

    text: str
    open: tuple[tuple[Section, tuple[Asked, ...]], ...]
    """Sections with questions that need an answer."""
    wrong: tuple[Remark, ...]
    doubts: tuple[Remark, ...]
    """Those that nobody has let stand."""

    @property
    def sound(self) -> bool:
        """Whether it may be written; doubts are asked about first."""
        return not self.open and not self.wrong


def looked_at(draft: Draft, known: Known) -> Looked:
    """What can be said while it is not finished: nothing of what is still missing."""
    tree, stood_in = meanwhile(draft, known)
    remarks, loaded = _read(tree, known)
    early = any(key.startswith(RESTS_ON) for key in stood_in)
    kept = [r for r in remarks if not _about(r.key, stood_in) and not (early and r.key.startswith(PLACED))]
    sheet = loaded.value if loaded is not None and isinstance(loaded.value, job.Sheet) else None
    return Looked(tuple(r for r in kept if r.words not in draft.accepted), sheet, stood_in)


def finished(draft: Draft, known: Known) -> Finished:
    """What it would be in the file, and what is still in the way."""
    still = tuple((s, tuple(found)) for s in sections(draft, known) if (found := open_of(draft, s)))
    tree = in_file(draft)
    remarks = looked_at(draft, known).remarks if still else _read(tree, known)[0]
    doubts = tuple(r for r in remarks if r.doubt and r.words not in draft.accepted)
    return Finished(yaml_text(tree), still, tuple(r for r in remarks if not r.doubt), doubts)


def _about(key: str, stood_in: frozenset[str]) -> bool:
    return key in stood_in or any(s.startswith(f"{key}.") for s in stood_in)


def _read(tree: Tree, known: Known) -> tuple[list[Remark], Loaded[job.Sheet] | None]:
    """The file made of a tree, read and looked through as any sheet is."""
    try:
        node = parse(yaml_text(tree).encode("utf-8"), "sheet")
    except FileMistakes as fault:
        return [Remark("", _words(m)) for m in fault.mistakes], None
    loaded = decoded(Spot(node, "", "sheet", []), job.Sheet)
    checklist = known.checklists.get(loaded.spot.at("checklist").text)
    mistakes = list(loaded.spot.mistakes)
    if checklist is not None:
        mistakes += against_checklist(Spot(node, "", "sheet", []), checklist, known.limit_types)
    whole = isinstance(loaded.value, job.Sheet)
    doubts = doubts_of(loaded.value, loaded.spot, checklist) if whole else []
    keys = keys_of(node, tree)
    remarks = [*_remarks(mistakes, keys, False), *_remarks(doubts, keys, True)]
    return remarks, loaded


def _remarks(mistakes: Sequence[Mistake], keys: dict[tuple[int, int], str], doubt: bool) -> Iterator[Remark]:
    for mistake in in_order(list(mistakes)):
        yield Remark(keys.get((mistake.line, mistake.column), ""), _words(mistake), doubt)


def _words(mistake: Mistake) -> str:
    found = f"{mistake.found[:1].upper()}{mistake.found[1:]}: expected {mistake.expected}"
    return f"{found}. {mistake.hint}".strip() if mistake.hint else f"{found}."


def remarks_at(remarks: Sequence[Remark], asked: Sequence[Asked]) -> dict[str, list[Remark]]:
    """Remarks by the question under which they stand: their own, or the first of what they are about."""
    found: dict[str, list[Remark]] = {}
    keys = [a.key for a in asked]
    for remark in remarks:
        below = next((k for k in keys if k == remark.key or k.startswith(f"{remark.key}.")), None)
        if below is None:  # such as the shape of a zone
            holder = remark.key.rpartition(".")[0]
            below = next((k for k in keys if holder and k.startswith(f"{holder}.")), None)
        if below is not None:
            found.setdefault(below, []).append(remark)
    return found
