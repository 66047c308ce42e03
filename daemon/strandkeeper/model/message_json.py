"""A message as JSON, for the record and for a command's stdin, and back without loss.

schema      1
key         the same however often the message is sent
kind        raised | worse | lasting | cleared | after-silence | digest | weekly | heartbeat | trial
time        when it was made, ISO 8601 in UTC
severity    note | warning | urgent
link        the owner's name of the link, "" for the watch itself
title       the first line of the text
text        the whole of it, plain
wakes       whether it may be sent in quiet hours
facts       the alert as figures and words (alerts/wording_messages); {} for other kinds
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from strandkeeper.errors import DecodeError
from strandkeeper.model.finding import Severity
from strandkeeper.model.message import Message, MessageKind
from strandkeeper.model.times import iso_utc, ms_from_iso

__all__ = ["SCHEMA", "message_from_json", "message_to_json"]

SCHEMA: Final = 1


def message_to_json(message: Message) -> dict[str, Any]:
    """Plain JSON values."""
    return {
        "schema": SCHEMA,
        "key": message.key,
        "kind": message.kind.value,
        "time": iso_utc(message.time_ms),
        "severity": message.severity.name.lower(),
        "link": message.link,
        "title": message.title,
        "text": message.text,
        "wakes": message.wakes,
        "facts": dict(message.facts),
    }


def message_from_json(data: Mapping[str, Any]) -> Message:
    """The message that `message_to_json` wrote. Raises DecodeError for another schema or shape."""
    if data.get("schema") != SCHEMA:
        raise DecodeError(
            f"a message of schema {data.get('schema')!r}; this release reads schema {SCHEMA}"
        )
    try:
        return Message(
            key=data["key"],
            kind=MessageKind(data["kind"]),
            time_ms=ms_from_iso(data["time"]),
            severity=Severity[data["severity"].upper()],
            link=data["link"],
            title=data["title"],
            text=data["text"],
            wakes=data["wakes"],
            facts=data["facts"],
        )
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise DecodeError(f"a message of the wrong shape: {error}") from error
