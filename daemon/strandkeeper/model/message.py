"""What goes out to people: messages, where they go, and what became of each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from strandkeeper.model.finding import Severity
from strandkeeper.model.switch import SecretRef

__all__ = [
    "CommandWay",
    "Message",
    "MessageKind",
    "Outgoing",
    "OutgoingState",
    "PageWay",
    "SystemLogWay",
    "Target",
    "UrlWay",
    "Way",
]


class MessageKind(StrEnum):
    """Why a message is sent."""

    RAISED = "raised"
    WORSE = "worse"
    LASTING = "lasting"
    CLEARED = "cleared"
    AFTER_SILENCE = "after-silence"
    DIGEST = "digest"
    WEEKLY = "weekly"
    HEARTBEAT = "heartbeat"
    TRIAL = "trial"


@dataclass(frozen=True, slots=True, kw_only=True)
class Message:
    """One message, ready to be read.

    `key` is the same however often it is sent: whoever gets it twice can tell by it. `title` is the
    first line of `text` and stands alone on a phone. `wakes`: it may be sent in quiet hours.
    `facts` is plain JSON for a command.
    """

    key: str
    kind: MessageKind
    time_ms: int
    severity: Severity
    title: str
    text: str
    link: str = ""
    wakes: bool = False
    facts: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class UrlWay:
    """A service address of the notification library; it holds passwords, so it is a secret."""

    url: SecretRef


@dataclass(frozen=True, slots=True, kw_only=True)
class CommandWay:
    """A program of the owner's; it gets the message as JSON on its stdin."""

    command: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemLogWay:
    """The system log of this computer (RFC 3164 over a local socket)."""

    socket: str = "/dev/log"


@dataclass(frozen=True, slots=True, kw_only=True)
class PageWay:
    """The dashboard alone; the record is the delivery."""


Way = UrlWay | CommandWay | SystemLogWay | PageWay


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """Where messages go. `least`: told from this severity on; `quiet`: it has quiet hours."""

    name: str
    way: Way
    least: Severity = Severity.WARNING
    quiet: bool = True
    weekly: bool = True
    deadline_s: float = 60.0


class OutgoingState(StrEnum):
    """What became of one message to one target."""

    WAITING = "waiting"
    DELIVERED = "delivered"
    GIVEN_UP = "given-up"


@dataclass(frozen=True, slots=True, kw_only=True)
class Outgoing:
    """One message on its way to one target; (message.key, target) is unique.

    `order` grows in the order in which messages were made. It is not sent before `not_before_ms`
    (quiet hours) nor before `next_ms` (after a failure).
    """

    order: int
    target: str
    message: Message
    not_before_ms: int
    next_ms: int = 0
    attempts: int = 0
    state: OutgoingState = OutgoingState.WAITING
    done_ms: int | None = None
    error: str = ""
