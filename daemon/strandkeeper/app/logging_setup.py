"""Log lines for a service: the journal adds the time, so the line holds what and where."""

from __future__ import annotations

import logging
import sys

__all__ = ["set_up_logging"]


def set_up_logging(*, verbose: bool) -> None:
    """Send the log to stderr; INFO is a change of state, DEBUG every poll."""
    logging.basicConfig(
        stream=sys.stderr,
        level=logging.DEBUG if verbose else logging.INFO,
        format="%(levelname).1s %(name)s: %(message)s",
    )
    for name in ("asyncio", "pysnmp", "apscheduler"):
        logging.getLogger(name).setLevel(logging.ERROR)
