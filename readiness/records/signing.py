"""A journal signed with the shop's SSH key, by the standard command ssh-keygen; kept as one more entry of it.

What is signed is a statement of four lines, each with its line end, and nothing else:

    readiness journal
    job HB-0417
    lines 57
    head 3f0c…                the SHA-256 of line 57 without its line end, all 64 digits

By hand: write these lines into a file 'statement', the entry's signature into 'signature', then
`ssh-keygen -Y find-principals -s signature -f SIGNERS` and
`ssh-keygen -Y verify -n readiness@journal -s signature -f SIGNERS -I THAT-NAME < statement`.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Literal

from msgspec import Struct

from readiness.checklist.mistakes import shortened
from readiness.job import Shop, Signing
from readiness.records.journal import Journal, JournalError, Signed

NAMESPACE = "readiness@journal"
"""A signature made for anything else does not count here, nor this one elsewhere."""
PATIENCE = 30
"""Seconds for ssh-keygen: a key on a stick may wait to be touched."""

State = Literal["good", "wrong", "unknown", "unchecked"]


class SigningError(JournalError):
    """A journal cannot be signed; one clear sentence."""


class _Trouble(Exception):
    """ssh-keygen cannot be asked; says why, as part of a sentence."""


class Vouched(Struct, frozen=True):
    """A signature, checked."""

    signed: Signed
    state: State
    """'wrong': not of these lines; 'unknown': of nobody whose signatures count; 'unchecked': nothing to check with."""
    who: str = ""
    """Whose key it is, as the file of signers calls it."""
    why: str = ""
    """What stood in the way, as part of a sentence."""
    trouble: bool = False
    """It is this machine that cannot check it."""


def statement(job: str, lines: int, head: str) -> bytes:
    """What is signed, byte for byte."""
    return f"readiness journal\njob {job}\nlines {lines}\nhead {head}\n".encode()


def sign(journal: Journal, shop_folder: Path, shop: Shop, by: str, at: datetime) -> Signed:
    """Sign all lines so far and keep that in the journal, which is open for writing. Raises JournalError."""
    if shop.signing is None:
        raise SigningError(
            "The shop does not sign: its shop.yaml says no 'signing: {key: …, signers: …}' (see 'Proof on paper' in "
            "the README)."
        )
    key = _place(shop.signing.key, shop_folder)
    if not key.is_file():
        raise SigningError(f"The job is not signed: the shop's key {key} is not there.")
    head, last = journal.head, next(iter(journal.signatures[-1:]), None)
    if last is not None and (last.number, last.by) == (head.lines, by):
        raise SigningError(
            f"The job {journal.job.job} is signed by {by} already, and nothing came after that."
        )
    said = statement(journal.job.job, head.lines, head.digest)
    try:
        done = _keygen(["sign", "-f", str(key), "-n", NAMESPACE], said)
    except _Trouble as fault:
        raise SigningError(f"The job is not signed: {fault}.") from OSError(str(fault))  # this machine's
    if done.returncode != 0:
        raise SigningError(
            f"The job is not signed: ssh-keygen could not use {key} ({_why(done)}).{_hint(done, key)}"
        )
    return journal.sign(done.stdout.decode("ascii", "replace"), by, at)


def check(signed: Signed, job: str, shop_folder: Path, shop: Shop | None) -> Vouched:
    """Whether a signature is one of the shop's, and of the lines before it; raises nothing."""
    if shop is None or shop.signing is None:
        return Vouched(signed, "unchecked", why="no shop.yaml here says whose signatures count")
    try:
        with tempfile.TemporaryDirectory() as folder:
            armour = Path(folder) / "signature"
            armour.write_text(signed.signature, encoding="ascii", newline="\n")
            return _checked(signed, job, armour, _signers(shop.signing, shop_folder))
    except (_Trouble, OSError) as fault:
        return Vouched(signed, "unchecked", why=str(fault), trouble=True)


def _checked(signed: Signed, job: str, armour: Path, signers: Path) -> Vouched:
    given = [f"-Overify-time={_local(signed.at)}", "-s", str(armour), "-f", str(signers)]
    found = _keygen(["find-principals", *given])
    names = found.stdout.decode("utf-8", "replace").splitlines() if found.returncode == 0 else []
    if not names:
        return Vouched(signed, "unknown", why=f"nobody in {signers} has that key: {_why(found)}")
    said = statement(job, signed.number - 1, signed.head)
    for name in names:
        done = _keygen(["verify", *given, "-n", NAMESPACE, "-I", name], said)
        if done.returncode == 0:
            return Vouched(signed, "good", who=name)
    return Vouched(signed, "wrong", who=names[0], why=_why(done))


def _local(at: datetime) -> str:
    """A time as ssh-keygen takes it: whose key counted then is the question, not whose counts today."""
    try:
        return f"{at.astimezone():%Y%m%d%H%M%S}"
    except (OverflowError, ValueError, OSError):  # a year that no clock of this machine has
        return f"{at:%Y%m%d%H%M%S}"


def _signers(signing: Signing, shop_folder: Path) -> Path:
    path = _place(signing.signers, shop_folder)
    if not path.is_file():
        raise _Trouble(f"the shop's file of signers, {path}, is not there")
    return path


def _place(path: str, shop_folder: Path) -> Path:
    """A path of shop.yaml, as a whole."""
    try:
        return (shop_folder / Path(path).expanduser()).absolute()
    except RuntimeError:  # '~nobody' is no user of this machine
        return (shop_folder / path).absolute()


def _keygen(arguments: Sequence[str], said: bytes = b"") -> subprocess.CompletedProcess[bytes]:
    """What `ssh-keygen -Y` answers to this on its standard input; it never asks anybody. Raises _Trouble."""
    program = shutil.which("ssh-keygen")
    if program is None:
        raise _Trouble("ssh-keygen, which signs and checks signatures, is not on this machine")
    try:
        return subprocess.run(
            [program, "-Y", *arguments], input=said, capture_output=True, timeout=PATIENCE, check=False,
            # away from the terminal: a key that wants a passphrase fails at once instead of asking behind the screen
            env={**os.environ, "SSH_ASKPASS_REQUIRE": "never"}, start_new_session=True,
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )  # fmt: skip
    except subprocess.TimeoutExpired as fault:
        raise _Trouble(f"ssh-keygen did not answer within {PATIENCE} s") from fault
    except OSError as fault:
        raise _Trouble(f"ssh-keygen cannot be run: {fault.strerror or fault}") from fault


def _hint(done: subprocess.CompletedProcess[bytes], key: Path) -> str:
    return (
        f" A key with a passphrase signs once it is unlocked: ssh-add {key}"
        if b"passphrase" in done.stderr
        else ""
    )


def _why(done: subprocess.CompletedProcess[bytes]) -> str:
    """Why ssh-keygen refused, on one line."""
    lines = done.stderr.decode("utf-8", "replace").splitlines()
    told = "; ".join(line.strip(" .") for line in lines if line.strip() and not line.startswith("@"))
    return shortened(told, 300) or f"it ended with {done.returncode}"
