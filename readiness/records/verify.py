"""Journals verified: the chain of each, its signatures, and whether the files attached to it are still the same."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

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


class Verified(Struct, frozen=True):
    """One journal, and all that it vouches for. `faults`, `trouble` and `notes` are whole sentences."""

    chain: Chain
    attached: tuple[Checked, ...] = ()
    signed: tuple[Vouched, ...] = ()
    paper: Paper | None = None
    faults: tuple[str, ...] = ()
    """What was changed, is gone or does not match."""
    trouble: tuple[str, ...] = ()
    """What this machine could not look at."""
    notes: tuple[str, ...] = ()
    """What is worth a word and no fault."""

    @property
    def sound(self) -> bool:
        return not self.faults and not self.trouble

    @property
    def signed_lines(self) -> int:
        """As far as the last signature that counts."""
        return max((v.signed.number - 1 for v in self.signed if v.state == "good"), default=0)


class Tally:
    """What many of them come to."""

    def __init__(self) -> None:
        self.journals = self.lines = self.files = self.signatures = 0
        self.not_sound = 0
        """Journals with a fault."""
        self.not_seen = 0
        """Journals that this machine could not look at in full, and folders that it could not look into."""

    def add(self, found: Verified) -> None:
        self.journals += 1
        self.lines += found.chain.lines
        self.files += len(found.attached)
        self.signatures += sum(v.state != "unchecked" for v in found.signed)
        self.not_sound += bool(found.faults)
        self.not_seen += not found.faults and bool(found.trouble)

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


def verified(paths: Iterable[Path], wanted: Wanted) -> Iterator[Verified]:
    """Each of these journals in turn; raises nothing."""
    homes: dict[Path, _Home] = {}
    for path in paths:
        chain = looked_through(path)
        if chain.fault:
            told = (chain.fault,)
            yield Verified(chain, trouble=told) if chain.trouble else Verified(chain, faults=told)
        elif chain.attached or chain.signatures or wanted.signed:
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
        return _Home(folder.path, folder.shop)
    except ShopError as fault:
        return _Home(folder.path, None, str(fault).splitlines()[0].rstrip("."))


def _with_what_it_names(chain: Chain, home: _Home, wanted: Wanted) -> Verified:
    faults: list[str] = []
    trouble: list[str] = []
    notes = [*_copied(chain)]
    near = [a for a in chain.attached if home.folder is not None or Path(a.path).is_absolute()]
    if len(near) < len(chain.attached):
        notes.append(
            f"{chain.path} lies in no shop, so its attached files were not looked for; --shop DIR names it."
        )
    base = home.folder or chain.path.parent
    attached = [attachments.check(a, base) for a in near] if wanted.files else []
    faults += [_of_file(chain, c, base) for c in attached if c.state != "same"]
    signed = [_vouched(chain, s, base, home) for s in chain.signatures]
    for vouched in signed:
        place = trouble if vouched.trouble else notes if vouched.state == "unchecked" else faults
        place += _of_signature(chain, vouched)
    found = Verified(chain, tuple(attached), tuple(signed))
    if wanted.signed and found.signed_lines < chain.lines - 1:
        faults.append(_unsigned(found))
    return replace(found, faults=tuple(faults), trouble=tuple(trouble), notes=tuple(notes))


def _copied(chain: Chain) -> tuple[str, ...]:
    if chain.of != "job" or chain.name == chain.path.stem:
        return ()
    return (f"{chain.path} holds the job {shown(chain.name)}: it is a copy under another name.",)


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


def _of_signature(chain: Chain, found: Vouched) -> list[str]:
    told = {
        "wrong": f"it was made with the key of {found.who} and is not of the lines before it, so one of them was "
        "changed and every hash worked out anew. Compare with a copy, or with the hash on a printed report.",
        "unknown": f"it counts for nothing: {found.why}. Whose key counts, the shop's file of signers says.",
        "unchecked": f"it was not checked: {found.why}.",
    }  # fmt: skip
    if found.state == "good":
        return []
    return [
        f"{chain.path}, line {found.signed.number}, a signature by {found.signed.by}: {told[found.state]}"
    ]


def _unsigned(found: Verified) -> str:
    chain, till = found.chain, found.signed_lines
    if not till:
        return f"{chain.path} has no signature that counts."
    return f"{chain.path}: lines {till + 2} to {chain.lines} came after the last signature that counts."
