"""The terminal of POSIX systems, let go of when its window was closed; not imported on Windows."""

from __future__ import annotations

import contextlib
import os
from typing import Any, TextIO, cast

from textual.app import App
from textual.drivers.linux_driver import LinuxDriver


class LastingDriver(LinuxDriver):
    """Comes to an end without its terminal.

    A closed window hangs up and continues the program at once. Continued, the framework would start
    its screen anew, and every thread that writes to a terminal that is gone would end and leave the
    program waiting for ever, with its job locked.
    """

    def __init__(self, app: App[Any], **more: Any) -> None:
        super().__init__(app, **more)
        self._file = cast("Any", _Tolerant(cast("TextIO", self._file)))

    def start_application_mode(self) -> None:
        if self._writer_thread is None or os.isatty(self.fileno):
            super().start_application_mode()  # type: ignore[no-untyped-call]


class _Tolerant:
    """A stream whose reader may go away: what cannot be written is dropped."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        with contextlib.suppress(OSError):
            self._stream.write(text)
        return len(text)

    def flush(self) -> None:
        with contextlib.suppress(OSError):
            self._stream.flush()

    def fileno(self) -> int:
        return self._stream.fileno()
