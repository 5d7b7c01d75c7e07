"""The close of a job without a widget: files, the end, going on after all; and paths as a terminal hands them over."""

from __future__ import annotations

import os
import shlex
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import unquote, urlsplit
from urllib.request import url2pathname

from readiness.job import Attached, Ended
from readiness.records.attachments import attached_file
from readiness.records.journal import JournalError
from readiness.records.shop import ShopError
from readiness.report.files import Refused, file_name, write_report
from readiness.wizard.session import Session


@dataclass(frozen=True)
class Close:
    """What is done on the last page of a job. Raises JournalError."""

    session: Session

    def looked_at(self, path: str) -> Attached:
        """A file to be attached, read and hashed; nothing is kept yet."""
        session = self.session
        return attached_file(path, session.folder.path, "", session.person, session.clock())

    def end(self, why: str) -> None:
        """The job is over."""
        session = self.session
        with session.book.together():
            session.judged_by()
            session.book.end(Ended(at=session.clock(), by=session.person, why=why))
        session.look_anew()

    @property
    def signs(self) -> bool:
        """Whether the shop signs its jobs."""
        return self.session.folder.shop.signing is not None

    def sign(self) -> str:
        """Sign what was kept; what came of it, as a sentence. The end stands all the same."""
        from readiness.records.signing import sign

        session = self.session
        try:
            sign(session.journal, session.folder.path, session.folder.shop, session.person, session.clock())
        except JournalError as fault:
            return str(fault)
        return "It is signed with the shop's key."

    def paper_place(self, typed: str) -> Path:
        """Where the report goes: a path that is not whole counts from the jobs' folder, a folder takes the usual name."""
        jobs = self.session.folder.jobs_folder
        usual = file_name(self.session.journal.job.job)
        try:
            path = jobs / Path(typed).expanduser() if typed else jobs / usual
        except RuntimeError:  # '~nobody' is no user of this machine
            path = jobs / typed
        return path / usual if path.is_dir() else path

    def write_paper(self, path: Path) -> str:
        """Write the report as it is on the disk now; a sentence of what came of it."""
        from readiness.records.account import account
        from readiness.records.dossier import dossier
        from readiness.report.html import html_page

        session = self.session
        try:
            found = dossier(str(session.journal.path), session.folder.path)
            told = account(found.visit, session.clock())
            return f"The report is in {write_report(path, html_page(told, found).encode())}."
        except (JournalError, ShopError, Refused) as fault:
            return str(fault)
        except OSError as fault:
            return f"The report cannot be written to {path}: {fault.strerror or fault}."

    def go_on(self, why: str) -> None:
        """The end is taken back."""
        session = self.session
        ended = session.ended
        if ended is not None:
            session.journal.withdraw(ended.number, why, session.person, session.clock())
            session.look_anew()


def dropped(text: str, *, windows: bool = os.name == "nt") -> list[str]:
    """The paths in what was typed, or in what a terminal types where files are dropped onto it.

    Terminals put them in quotation marks, write a backslash before a blank, or hand over a file:// address.
    Several are told apart only where each is there.
    """
    text = text.strip()
    words = [text.removeprefix("& ").strip("'\"")] if windows else _split(text)
    if len(words) > 1 and not all(os.path.lexists(_local(w)) for w in words):
        words = [text]
    if os.path.lexists(text):
        words = [text]
    return [_local(w) for w in words]


def _split(text: str) -> list[str]:
    try:
        return shlex.split(text) or [text]
    except ValueError:  # an apostrophe that is part of the name
        return [text]


def _local(word: str) -> str:
    """The path of a file:// address, any other word as it is."""
    if not word.lower().startswith("file://"):
        return word
    return url2pathname(unquote(urlsplit(word).path)) if os.name == "nt" else unquote(urlsplit(word).path)
