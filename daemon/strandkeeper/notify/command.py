"""A command of the owner's: the message as JSON on its stdin; exit code 0 means delivered."""

from __future__ import annotations

import json
from collections.abc import Sequence

from strandkeeper.model.message import Message
from strandkeeper.model.message_json import message_to_json
from strandkeeper.notify.delivery import DELIVERED, Delivery, failed
from strandkeeper.notify.process import MOST_BYTES, run_to_deadline

__all__ = ["send_to_command"]


async def send_to_command(command: Sequence[str], message: Message, deadline_s: float) -> Delivery:
    """Run it to its end or to the deadline. What it writes to stderr is the reason of a failure."""
    text = json.dumps(message_to_json(message), ensure_ascii=False) + "\n"
    try:
        done = await run_to_deadline(command, text, deadline_s)
    except OSError as error:
        return failed(f"{command[0]} cannot be started: {error.strerror}")
    if done.too_much:
        return failed(f"{command[0]} wrote more than {MOST_BYTES // 1024} KiB and was ended")
    if done.code is None:
        return failed(f"{command[0]} was not done after {deadline_s:g} s and was ended")
    if done.code:
        return failed(f"{command[0]} ended with {done.code}: {done.err or done.out}")
    return DELIVERED
