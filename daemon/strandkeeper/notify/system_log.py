"""The system log of this computer, over its local datagram socket (RFC 3164 format)."""

from __future__ import annotations

import os
import socket
from typing import Final

from strandkeeper.model.finding import Severity
from strandkeeper.model.message import Message
from strandkeeper.model.plain_text import one_line
from strandkeeper.notify.delivery import DELIVERED, Delivery, failed

__all__ = ["log_line", "send_to_system_log"]

_FACILITY: Final = 3  # system daemons (RFC 3164, table 1)
_LEVEL: Final = {Severity.NOTE: 5, Severity.WARNING: 4, Severity.URGENT: 2}  # table 2
_MOST_BYTES: Final = 8000
_TIMEOUT_S: Final = 5.0


def log_line(message: Message, process: int) -> bytes:
    """One line: priority, tag, the text joined, the key at its end."""
    priority = _FACILITY * 8 + _LEVEL[message.severity]
    text = " | ".join(one_line(line) for line in message.text.splitlines() if line)
    head = f"<{priority}>strandkeeper[{process}]: "
    tail = f" (ref {message.key})"
    room = _MOST_BYTES - len(head.encode()) - len(tail)
    body = text.encode()[:room].decode(errors="ignore")
    return f"{head}{body}{tail}".encode()


def send_to_system_log(path: str, message: Message) -> Delivery:
    """Hand one line over; delivered means that the log has taken it. Waits 5 s at most."""
    try:
        with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as log:
            log.settimeout(_TIMEOUT_S)
            log.connect(path)
            log.send(log_line(message, os.getpid()))
    except OSError as error:
        return failed(f"the system log at {path} did not take it: {error.strerror or error}")
    return DELIVERED
