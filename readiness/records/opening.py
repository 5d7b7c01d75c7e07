"""From what a person names on the command line to a visit, or to the mistakes of files."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from readiness.checklist.mistakes import FileMistakes, Mistake
from readiness.checks.finding import Visit
from readiness.records.journal import SUFFIX, Journal, JournalError
from readiness.records.shop import ShopError, ShopFolder, default_folder

if TYPE_CHECKING:
    from readiness.checklist.lint import Looked, Others

ANSWER_SUFFIXES = (".yaml", ".yml")


@dataclass(frozen=True, slots=True)
class Found:
    """A job that was named, the shop it belongs to, and its journal unless it is a file of answers."""

    folder: ShopFolder
    visit: Visit
    journal: Journal | None
    warnings: tuple[str, ...]
    """What was odd about its file."""


def open_job(name: str, shop: Path | None) -> tuple[Visit, list[str]]:
    """The visit of a job and what was odd about its file; see `find_job`."""
    found = find_job(name, shop)
    return found.visit, list(found.warnings)


def find_job(name: str, shop: Path | None) -> Found:
    """The job of that name.

    `name` is a journal, a YAML file of answers, or a job's number in the shop. The shop is the one
    named, else the one that the file lies in, else the user's own. Raises JournalError, ShopError.
    """
    path = Path(name)
    if _names_a_folder(path):
        what = "a job's number, its journal, or a YAML file of answers"
        raise ShopError(f"{path} is a folder; to judge a job, name {what}.")
    if path.suffix.lower() in ANSWER_SUFFIXES:
        return _from_answers(path, shop)
    if path.suffix == SUFFIX or _is_file(path):
        folder = _folder(path, shop)
        journal = Journal.open(path, write=False)
    else:
        folder = ShopFolder(shop or default_folder())
        journal = _numbered(name, folder)
    warnings = (*journal.warnings, *_renamed(journal))
    return Found(folder, folder.visit(journal.job, journal.units), journal, warnings)


def _renamed(journal: Journal) -> Iterator[str]:
    """Whoever asks for one job must not be told of another without a word."""
    if journal.path.stem != journal.job.job:
        yield (
            f"{journal.path.name} holds the job {journal.job.job}: it was renamed, or is a copy under another name."
        )


def mistakes_in(paths: Sequence[Path], shop: Path | None = None) -> list[Mistake]:
    """All mistakes of these files and folders; answers are understood in the shop named, or in theirs."""
    return looked_at(paths, shop).mistakes


def looked_at(paths: Sequence[Path], shop: Path | None = None) -> Looked:
    """The same, with what in sheets is seldom meant although it may be."""
    from readiness.checklist.lint import Looked, looked_through
    from readiness.checks import limit_types
    from readiness.records import places
    from readiness.records.answers import load_answers

    def answers(path: Path) -> object:
        try:
            return load_answers(path, _folder(path, shop))
        except ShopError as error:  # of a sheet or bay that the answers name
            raise FileMistakes(error.mistakes or [_as_a_whole(path, error)]) from None

    named = [path for path in paths if path.suffix == SUFFIX and _is_file(path)]
    paths = [path for path in paths if path not in named]
    journals = [*named, *(journal for path in paths for journal in _journals_in(path))]
    others: Others = {"answers": answers}
    own = [f.path / "checklists" for p in paths if (f := ShopFolder.find(p / "any")) is not None]
    folders = [*dict.fromkeys(f for f in own if f.is_dir()), places.checklists()]
    found = [mistake for path in journals for mistake in _of_journal(path, shop)]
    looked = looked_through(paths, limit_types(), folders, others)
    return Looked(_each_once([*looked.mistakes, *found]), _each_once(looked.doubts))


def _journals_in(path: Path) -> list[Path]:
    """The journals of a shop's folder: of its jobs, and of surveys being taken."""
    return [j for place in ("jobs", "surveys") for j in sorted((path / place).glob(f"*{SUFFIX}"))]


def _each_once(mistakes: Sequence[Mistake]) -> list[Mistake]:
    """One mistake met on two ways, by a path and by the shop's, is one."""
    return list(
        {
            (Path(m.path).absolute(), m.line, m.column, m.where, m.found): m for m in reversed(mistakes)
        }.values()
    )[::-1]


def _of_journal(path: Path, shop: Path | None) -> list[Mistake]:
    """What is wrong with a journal and with what it names; machines write them, so seldom more than one thing."""
    expected = "a journal as the program wrote it"
    try:
        warnings = _survey_warnings(path)
        if warnings is None:
            _, warnings = open_job(str(path), shop)
    except ShopError as error:
        if error.mistakes:
            return list(error.mistakes)
        return [Mistake(path, 0, 0, "journal", "a job that cannot be judged", "a whole shop", str(error))]
    except JournalError as error:
        return [Mistake(path, 0, 0, "journal", "entries that cannot be used", expected, str(error))]
    return [Mistake(path, 0, 0, "journal", "an odd entry", expected, warning) for warning in warnings]


def _survey_warnings(path: Path) -> list[str] | None:
    """What is odd about the journal of a survey; None for that of a job. Raises JournalError."""
    from readiness.records.surveys import SurveyJournal, is_survey

    if not is_survey(path):
        return None
    with SurveyJournal.open(path, write=False) as journal:
        return journal.warnings


def _as_a_whole(path: Path, error: ShopError) -> Mistake:
    return Mistake(path, 0, 0, "file", "answers that cannot be understood", "a whole shop", str(error))


def _from_answers(path: Path, shop: Path | None) -> Found:
    from readiness.records.answers import load_answers

    if not _is_file(path):
        raise JournalError(f"There is no file {path}.")
    folder = _folder(path, shop)
    answers = load_answers(path, folder)
    return Found(folder, folder.visit(answers.job, answers.units), None, ())


def _names_a_folder(path: Path) -> bool:
    """A path to a folder; one word may be a job's number and a folder at once, and counts as the number."""
    try:
        return path.is_dir() and (path.name != str(path) or path.name == "..")
    except OSError:
        return False


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:  # such as a name that is longer than a name can be
        return False


def _folder(path: Path, shop: Path | None) -> ShopFolder:
    if shop is not None:
        return ShopFolder(shop)
    return ShopFolder.find(path) or ShopFolder(default_folder())


def _numbered(name: str, folder: ShopFolder) -> Journal:
    folder.shop  # noqa: B018  a missing shop is the better message than a missing job
    try:
        return folder.journal(name, write=False)
    except JournalError as error:
        known = ", ".join(line.id for line in folder.jobs()[:12])
        if folder.jobs_folder.is_dir() and known and "There is no job" in str(error):
            raise ShopError(f"{error} The latest are: {known}.") from None
        raise
