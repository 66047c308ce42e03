"""Become a command that dies with the process that started it, even when that one is killed.

It also gives way to that process: pages may wait, polls not.

    python -m strandkeeper.app.bound_child PARENT COMMAND...

Source: prctl(2), PR_SET_PDEATHSIG: kept over execve(2). It is set here, in a program of its own,
because code between fork and exec is not safe in a process with threads.
"""

from __future__ import annotations

import ctypes
import os
import signal
import sys
from collections.abc import Sequence
from typing import Final

__all__ = ["bound", "main"]

_PR_SET_PDEATHSIG: Final = 1  # prctl(2)
_NICER: Final = 5  # a quarter of a processor that both want; sched(7)


def bound(command: Sequence[str]) -> list[str]:
    """The command line that runs `command` bound to this process."""
    return [sys.executable, "-m", "strandkeeper.app.bound_child", str(os.getpid()), *command]


def main(arguments: Sequence[str]) -> None:
    """Bind, give way, then exec; never returns."""
    parent, *command = arguments
    ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL)
    if os.getppid() != int(parent):
        sys.exit(0)  # it died before this was bound to it
    os.nice(_NICER)
    os.execv(command[0], command)


if __name__ == "__main__":
    main(sys.argv[1:])
