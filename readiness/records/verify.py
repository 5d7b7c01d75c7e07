"""Journals verified: the chain of each, its signatures, and whether the files attached to it are still the same."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from readiness.checklist.mistakes import shown
from readiness.job import Shop
from readiness.records import attachments, signing
from readiness.records.attachments import Checked
from readiness.records.paper import Paper, paper
from readiness.records.replay import Signed
from readiness.records.shop import ShopError, ShopFolder
from readiness.records.signing import Vouched
from readiness.records.sound import Chain, looked_through

if TYPE_CHECKING:
    from readiness.records.grounds import Today


class Verified(Struct, frozen=True):
    """One journal, and all that it vouches for."""

    chain: Chain
    attached: tuple[Checked, ...] = ()
    signed: tuple[Vouched, ...] = ()
    paper: Paper | None = None
    unsought: int = 0
    """Attached files that were not looked for, as nobody knows in which shop."""
    faults: tuple[str, ...] = ()
    """What was changed, is gone or does not match; whole sentences, as are these:"""
    trouble: tuple[str, ...] = ()
    """Why this machine could not read it."""
    notes: tuple[str, ...] = ()
    """What is worth a word and no fault."""
    changed: tuple[str, ...] = ()
    """What the job was judged by and says something else now; no fault either."""

    @property
    def seen(self) -> bool:
        """Whether this machine could look at all of it."""
        return not self.trouble and not any(v.trouble for v in self.signed)

    @property
    def sound(self) -> bool:
        return not self.faults and self.seen

    @property
    def signed_lines(self) -> int:
        """As far as the last signature that counts."""
        return max((v.signed.number - 1 for v in self.signed if v.state == "good"), default=0)


class Tally:
    """What many of them come to."""

    def __init__(self, folders_not_seen: int = 0) -> None:
        self.journals = self.lines = self.files = self.signatures = self.unsought = 0
        self.not_sound = 0
        """Journals with a fault."""
        self.not_seen = folders_not_seen
        """Other journals that this machine could not look at in full, and folders."""
        self.changed = 0
        """Journals of jobs that were judged by something that says something else now."""
        self.unchecked: Counter[str] = Counter()
        """Why signatures were not checked, and how many for each reason."""

    def add(self, found: Verified) -> None:
        self.journals += 1
        self.lines += found.chain.lines
        self.files += len(found.attached)
        self.unsought += found.unsought
        self.signatures += sum(v.state != "unchecked" for v in found.signed)
        self.unchecked.update(v.why for v in found.signed if v.state == "unchecked")
        self.changed += bool(found.changed)
        self.not_sound += bool(found.faults)
        self.not_seen += not found.faults and not found.seen

    @property
    def sound(self) -> bool:
        return not self.not_sound and not self.not_seen


class Wanted(Struct, frozen=True):
    """How much to look at."""

    shop: Path | None = None
    """Whose attached files and signers; None: of the shop that each journal lies in."""
    files: bool = True
    """Read the attached files."""
    signed: bool = False
    """A journal counts only with a good signature under all its lines."""


class _Home(Struct, frozen=True):
    """The shop of a journal."""

    folder: Path | None
    shop: Shop | None = None
    why: str = ""
    """Why its own file cannot be used, as part of a sentence."""
    files: ShopFolder | None = None
    """Where these can be used."""


def verified(paths: Iterable[Path], wanted: Wanted) -> Iterator[Verified]:
    """Each of these journals in turn; raises nothing."""
    homes: dict[Path, _Home] = {}
    for path in paths:
        chain = looked_through(path)
        if chain.fault:
            told = (chain.fault,)
            yield Verified(chain, trouble=told) if chain.trouble else Verified(chain, faults=told)
        elif chain.attached or chain.signatures or chain.grounds or wanted.signed:
            if path.parent not in homes:
                homes[path.parent] = _home(path, wanted.shop)
            yield _with_what_it_names(chain, homes[path.parent], wanted)
        else:
            yield Verified(chain, notes=_copied(chain))


def against_paper(found: Verified, digits: str) -> Verified:
    """The same with the hash of a printed report held against it."""
    if found.chain.trouble:
        return found
    try:
        held = paper(found.chain.path, digits)
    except OSError as fault:
        why = (fault.strerror or type(fault).__name__).lower()
        return replace(found, trouble=(*found.trouble, f"{found.chain.path} could not be read: {why}."))
    if held.line:
        return replace(found, paper=held)
    other = (
        f"{found.chain.path}: no line of it has the hash {digits} of the paper, so the file was changed or shortened "
        "after that was printed, or it is another job's. Look for a copy of the file that has it."
    )
    return replace(found, paper=held, faults=(*found.faults, other))


def _home(path: Path, named: Path | None) -> _Home:
    folder = ShopFolder(named) if named is not None else ShopFolder.find(path)
    if folder is None:
        return _Home(None)
    try:
        return _Home(folder.path, folder.shop, files=folder)
    except ShopError as fault:
        return _Home(folder.path, None, str(fault).splitlines()[0].rstrip("."))


def _with_what_it_names(chain: Chain, home: _Home, wanted: Wanted) -> Verified:
    base = home.folder or chain.path.parent
    sought = [a for a in chain.attached if home.folder is not None or Path(a.path).is_absolute()]
    attached = [attachments.check(a, base) for a in sought] if wanted.files else []
    signed = [_vouched(chain, s, base, home) for s in chain.signatures]
    faults = [_of_file(chain, c, base) for c in attached if c.state != "same"]
    faults += [_of_signature(chain, v) for v in signed if v.state in ("wrong", "unknown")]
    unsought = len(chain.attached) - len(sought) if wanted.files else 0
    found = Verified(
        chain, tuple(attached), tuple(signed), unsought=unsought, notes=_copied(chain), changed=_changed(chain, home)
    )  # fmt: skip
    if wanted.signed and found.signed_lines < chain.lines - 1:
        faults.append(_unsigned(found))
    return replace(found, faults=tuple(faults))


def _changed(chain: Chain, home: _Home) -> tuple[str, ...]:
    if home.files is None or not chain.grounds:
        return ()
    return tuple(_today(home.files).changed(chain.grounds))


@lru_cache(maxsize=8)
def _today(folder: ShopFolder) -> Today:
    """What its files say now; what judges takes a while to load, and is seldom wanted here."""
    from readiness.records.grounds import Today

    return Today(folder)


def _copied(chain: Chain) -> tuple[str, ...]:
    if chain.of != "job" or chain.name == chain.path.stem:
        return ()
    return (
        f"{chain.path} holds the job {shown(chain.name)}: it was renamed, or is a copy under another name.",
    )


def _of_file(chain: Chain, found: Checked, base: Path) -> str:
    place = attachments.place_of(found.attached, base)
    what = {
        "changed": "is no longer what was attached. Put back the one that was, from a copy",
        "gone": f"is gone. It was {place}: put it back there",
        "unreadable": f"cannot be read. It should be {place}: look what is there, and whether you may read it",
    }[found.state]
    return f"{chain.path}, line {found.attached.number}: the attached file {shown(found.attached.path, 200)} {what}."


def _vouched(chain: Chain, signed: Signed, base: Path, home: _Home) -> Vouched:
    if home.why:
        return Vouched(signed, "unchecked", why=home.why, trouble=True)
    return signing.check(signed, chain.name, base, home.shop)


def _of_signature(chain: Chain, found: Vouched) -> str:
    told = (
        f"it was made with the key of {found.who} and is not of the lines before it, so one of them was changed and "
        "every hash worked out anew. Compare with a copy, or with the hash on a printed report."
        if found.state == "wrong"
        else f"it counts for nothing: {found.why}. Whose key counts, the shop's file of signers says."
    )
    return f"{chain.path}, line {found.signed.number}, a signature by {found.signed.by}: {told}"


def _unsigned(found: Verified) -> str:
    chain, till = found.chain, found.signed_lines
    if not till:
        return f"{chain.path} has no signature that counts."
    return f"{chain.path}: lines {till + 2} to {chain.lines} came after the last signature that counts."
