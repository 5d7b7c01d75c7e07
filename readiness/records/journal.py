"""The journal of a job: a chained file whose entries are readings, fixes, events and what was set aside."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, TypeVar, cast

from readiness.job import Again, Attached, Ended, Event, Fix, Job, Reading, SpotCheck, Waiver
from readiness.records.chained import SUFFIX, Chained, HeldElsewhere, JournalError, check_name
from readiness.records.lines import Entry, body_of
from readiness.records.replay import SPOT_CHECKS, TIMED, Ground, Grounds, JobReplay, Signed

__all__ = ["SUFFIX", "HeldElsewhere", "Journal", "JournalError", "Signed", "check_name"]

Kept = TypeVar("Kept", Fix, Event, Waiver, Attached, Ended)


class Journal(Chained[JobReplay]):
    """One job's file. Make one with `create` or `open`; close it when done, or use it in a `with`."""

    WHAT = "job"
    REPLAY = JobReplay

    _taken: datetime | None = None

    @classmethod
    def create(
        cls, folder: Path, *, job: str, sheet: str, bay: str, sides: tuple[str, ...], by: str,
        at: datetime, plate: str = "",
    ) -> Journal:  # fmt: skip
        """Begin `<folder>/<job>.jsonl`, on the disk when this returns.

        Raises JournalError for a name that cannot be a file, for a job that exists, and when the
        disk refuses.
        """
        check_name(job)
        body = {"job": job, "sheet": sheet, "bay": bay, "sides": sides, "by": by, "plate": plate}
        return cls._begin(folder / f"{job}{SUFFIX}", JobReplay.FIRST, at, body)

    @property
    def job(self) -> Job:
        """The job as it stands: withdrawn entries taken out, notes put into their readings."""
        return self._replay.job

    def _append(self, kind: str, at: datetime, body: dict[str, Any]) -> Entry:
        """After its end a job takes no more than that the end is taken back, a spot check, and a signature."""
        ended = self.job.ended
        if (
            ended is not None
            and kind not in ("signed", *SPOT_CHECKS)
            and (kind, body.get("entry")) != ("withdrawn", ended.number)
        ):
            raise JournalError(
                f"The job {self.job.job} was ended at {ended.at.astimezone():%Y-%m-%d %H:%M}: nothing more is kept of it "
                "unless that is taken back."
            )
        return super()._append(kind, at, body)

    @property
    def taken(self) -> datetime | None:
        """When what is entered took place: readings, fixes, events. None: at the moment in which it is entered."""
        return self._taken

    def take_as_of(self, moment: datetime | None, now: datetime) -> None:
        """From now on `moment` is that time, to the minute, as when a sheet of paper is typed in.

        Raises JournalError for a moment that is still to come: nothing may look fresher than it is.
        """
        if moment is not None and moment > now:
            before = moment - timedelta(days=1)
            raise JournalError(
                f"{moment:%H:%M} is still to come. Yesterday's is written {before:%Y-%m-%d %H:%M}."
            )
        self._taken = moment

    def _keep(self, kind: str, what: Any) -> Any:
        if self._taken is None or type(what) not in TIMED:
            return super()._keep(kind, what)
        taken = min(self._after_the_others(self._taken), what.at)
        entry = self._append(kind, what.at, {**body_of(what), "taken": taken})
        return self._replay.kept(entry.n)

    def _after_the_others(self, minute: datetime) -> datetime:
        """Within a minute that paper tells, one thing came after the other, as they are typed."""
        job, end = self.job, minute + timedelta(minutes=1)
        timed: tuple[Reading | Fix | Event, ...] = (*job.readings, *job.fixes, *job.events)
        within = [kept.at for kept in timed if minute <= kept.at < end]
        return max(within) + timedelta(microseconds=1) if within else minute

    def instead(self, old: Reading, reading: Reading, why: str, by: str) -> Reading:
        """Keep a reading in place of an old one, which is taken back. Both are one: it was taken when the old one was."""
        with self.together():
            entry = self._append("reading", reading.at, {**body_of(reading), "taken": old.at})
            self.withdraw(old.number, why, by, reading.at)
        return cast(Reading, self._replay.kept(entry.n))

    def fix(self, fix: Fix) -> Fix:
        """Keep that something was put right."""
        return cast(Fix, self._keep("fix", fix))

    def happen(self, event: Event) -> Event:
        """Keep that something happened which voids findings."""
        return cast(Event, self._keep("event", event))

    def waive(self, waiver: Waiver) -> Waiver:
        """Keep that a check was set aside, with its reason."""
        return cast(Waiver, self._keep("waiver", waiver))

    def attach(self, attached: Attached) -> Attached:
        """Keep that a file belongs to the job."""
        return cast(Attached, self._keep("attached", attached))

    def end(self, ended: Ended) -> Ended:
        """Keep that the job is over; taking this entry back (`withdraw`) opens it again."""
        return cast(Ended, self._keep("ended", ended))

    def change(
        self, *, by: str, at: datetime, sides: tuple[str, ...] | None = None, bay: str | None = None
    ) -> None:
        """Keep that the job is now for other sides or in another bay."""
        job = self.job
        self._append("changed", at, {"sides": sides or job.sides, "bay": bay or job.bay, "by": by})

    def draw(self, check: SpotCheck) -> SpotCheck:
        """Keep which readings a spot check drew, before any is taken again: nobody draws until it suits."""
        self._append("spot-check", check.at, body_of(check))
        return self.job.spot_checks[-1]

    def check_again(self, again: Again) -> Again:
        """Keep what came of a reading that a spot check drew. Raises JournalError."""
        self._append("re-measured", again.at, body_of(again))
        return self.job.again[-1]

    def sign(self, signature: str, by: str, at: datetime) -> Signed:
        """Keep a signature of `head` as it is now: everything up to here. Raises JournalError."""
        plain = signature.replace("\r\n", "\n")
        self._append("signed", at, {"by": by, "head": self.head.digest, "signature": plain})
        return self.signatures[-1]

    def judge_by(self, grounds: tuple[Ground, ...], by: str, at: datetime) -> None:
        """Keep what the job is judged by; nothing where that is kept already. Raises JournalError."""
        if not self.grounds or self.grounds[-1].grounds != grounds:
            self._append("judged-by", at, {"grounds": grounds, "by": by})

    @property
    def grounds(self) -> tuple[Grounds, ...]:
        """What the job was judged by when a result was read or it ended, oldest first."""
        return self._replay.grounds

    @property
    def signatures(self) -> tuple[Signed, ...]:
        """Every signature there is, oldest first; each is of the lines before it."""
        return self._replay.signatures

    def _would_tie(self, kind: str) -> bool:
        if kind in ("fix", "event"):
            return any(r.at == self.last_at for r in self.job.readings)
        return kind == "reading" and any(w.at == self.last_at for w in self.job.waivers)
