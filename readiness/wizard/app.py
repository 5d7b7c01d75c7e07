"""The Textual application: starts quickly, opens a shop, walks jobs, leaves the terminal as it was."""

from __future__ import annotations

import asyncio
import contextlib
import os
import signal
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.app import App
from textual.binding import Binding, BindingType
from textual.driver import Driver
from textual.screen import Screen

from readiness.wizard.start import Start, local_now

if TYPE_CHECKING:
    from readiness.wizard.practice_start import Wanted
    from readiness.wizard.session import Session


class ReadinessApp(App[None]):
    """Places only: the start screen, and the walk over it."""

    CSS_PATH = "wizard.tcss"
    TITLE = "readiness"
    ENABLE_COMMAND_PALETTE = False
    HORIZONTAL_BREAKPOINTS = [  # noqa: RUF012, as Textual declares it
        (0, "-narrow"),
        (110, "-wide"),
    ]
    VERTICAL_BREAKPOINTS = [  # noqa: RUF012, as Textual declares it
        (0, "-low"),
        (36, "-tall"),
    ]
    BINDINGS: ClassVar[list[BindingType]] = [Binding("ctrl+q", "quit", "leave", show=False, priority=True)]

    def __init__(
        self,
        shop: Path | Callable[[], Path],
        job: str | None = None,
        person: str | None = None,
        clock: Callable[[], datetime] | None = None,
        survey: str | None = None,
        practice: Wanted | None = None,
    ) -> None:
        """`shop` may be made while the first screen stands already; `clock` replaces the machine's, for tests.

        `survey` names the bay to survey instead of opening jobs; empty: it is asked for. `practice` opens simulated cars.
        """
        super().__init__()
        self.crash: Exception | None = None
        self.survey, self.practice = survey, practice
        self.shop_path, self.first_job, self.person, self.clock = shop, job, person, clock

    def get_driver_class(self) -> type[Driver]:
        if os.name == "nt":
            return super().get_driver_class()
        from readiness.wizard.terminal import LastingDriver

        return LastingDriver

    def get_default_screen(self) -> Screen[None]:
        if self.survey is not None:
            from readiness.wizard.survey_start import SurveyStart

            return SurveyStart(self.shop_path, self.survey, self.person, self.clock)
        if self.practice is not None:
            from readiness.wizard.practice_start import PracticeStart

            return PracticeStart(self.shop_path, self.person, self.clock or local_now, self.practice)
        return Start(self.shop_path, self.first_job, self.person, self.clock)

    def on_mount(self) -> None:
        self.theme = "textual-dark"
        loop = asyncio.get_running_loop()
        for name in ("SIGTERM", "SIGHUP"):
            number = getattr(signal, name, None)
            if number is not None:
                with contextlib.suppress(NotImplementedError, ValueError, RuntimeError):
                    loop.add_signal_handler(number, self._leave_on, number)

    def _leave_on(self, number: int) -> None:
        self.exit(return_code=128 + number)

    def action_other_look(self) -> None:
        self.theme = "textual-light" if self.theme == "textual-dark" else "textual-dark"

    def _handle_exception(self, error: Exception) -> None:
        """Leave without the framework's traceback: `run_wizard` raises the fault once the screen is restored."""
        if self.is_headless:
            super()._handle_exception(error)
            return
        self.crash = self.crash or error
        self.exit(return_code=3)

    def open_walk(self, session: Session) -> None:
        """Walk a job; coming back, the start screen reads its list anew."""
        from readiness.wizard.walk import Walk

        def back(_: None) -> None:
            if isinstance(self.screen, Start):
                self.screen.read_jobs()

        self.push_screen(Walk(session), back)


def run_wizard(shop: Path | Callable[[], Path], job: str | None = None, person: str | None = None) -> int:
    """Run the wizard on a shop folder; the process's exit code.

    `shop` may be a function that makes the folder, called in a thread after the first paint. What
    brought the application down is raised here, after the terminal has been restored.
    """
    return run_app(ReadinessApp(shop, job, person))


def run_survey(shop: Path | Callable[[], Path], bay: str = "", person: str | None = None) -> int:
    """Survey a bay of a shop folder on the screen; the process's exit code. Without a bay it is asked for."""
    return run_app(ReadinessApp(shop, None, person, survey=bay))


def run_practice(
    shop: Path | Callable[[], Path],
    seed: int | None = None,
    level: int | None = None,
    sheet: str | None = None,
    person: str | None = None,
) -> int:
    """Practise on simulated cars; results are kept in the shop's folder. The process's exit code."""
    from readiness.wizard.practice_start import Wanted

    return run_app(ReadinessApp(shop, None, person, practice=Wanted(seed, level, sheet)))


def run_app(app: ReadinessApp) -> int:
    app.run()
    if app.crash is not None:
        raise app.crash
    return app.return_code or 0
