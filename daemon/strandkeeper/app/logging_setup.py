"""Log lines for a service: the journal adds the time, so the line holds what and where."""

from __future__ import annotations

import logging
import sys
from types import TracebackType

from strandkeeper.model.plain_text import one_line

__all__ = ["OneLine", "set_up_logging"]

_ExcInfo = tuple[type[BaseException], BaseException, TracebackType | None] | tuple[None, None, None]


class OneLine(logging.Formatter):
    """One line a record, whatever a device wrote into it; the lines of a traceback are indented."""

    def formatMessage(self, record: logging.LogRecord) -> str:
        """What and where, in one line."""
        return one_line(super().formatMessage(record))

    def formatException(self, ei: _ExcInfo) -> str:
        """The traceback, none of whose lines can be taken for a record."""
        lines = super().formatException(ei).split("\n")
        return "\n".join(f"  {'  ' * line.startswith(' ')}{one_line(line)}" for line in lines)


def set_up_logging(*, verbose: bool) -> None:
    """Send the log to stderr; INFO is a change of state, DEBUG every poll."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(OneLine("%(levelname).1s %(name)s: %(message)s"))
    logging.basicConfig(level=logging.DEBUG if verbose else logging.INFO, handlers=[handler])
    for name in ("asyncio", "pysnmp", "apscheduler"):
        logging.getLogger(name).setLevel(logging.ERROR)
