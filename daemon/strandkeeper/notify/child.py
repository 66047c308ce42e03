"""The daemon's side of a delivery child."""

from __future__ import annotations

import json
import sys

from strandkeeper.model.message import Message
from strandkeeper.model.plain_text import one_line
from strandkeeper.notify.delivery import DELIVERED, Delivery, failed
from strandkeeper.notify.process import run_to_deadline

__all__ = ["call_url", "send_to_url"]


async def send_to_url(url: str, message: Message, deadline_s: float) -> Delivery:
    """Deliver through the notification library in a child. The address goes in by stdin."""
    _, _, rest = message.text.partition("\n")
    title = one_line(message.title)
    said = "\n".join(map(one_line, rest.strip().splitlines()))
    job = {"url": url, "title": title, "body": f"{said or title}\n\nref {message.key}"}
    return await _run("strandkeeper.notify.apprise_sender", job, deadline_s)


async def call_url(url: str, deadline_s: float) -> Delivery:
    """GET an address in a child."""
    return await _run("strandkeeper.notify.caller", {"url": url}, deadline_s)


async def _run(module: str, job: dict[str, str], deadline_s: float) -> Delivery:
    try:
        done = await run_to_deadline([sys.executable, "-m", module], json.dumps(job), deadline_s)
    except OSError as error:
        return failed(f"the delivery process cannot be started: {error.strerror}")
    if done.too_much:
        return failed("the delivery process wrote too much and was ended")
    if done.code is None:
        return failed(f"no end after {deadline_s:g} s; the delivery process was ended")
    try:
        answer = json.loads(done.out.splitlines()[-1])
        ok, why = bool(answer["ok"]), str(answer["why"])
    except (ValueError, IndexError, KeyError, TypeError):
        return failed(f"the delivery process ended with {done.code} and said nothing")
    return DELIVERED if ok else failed(why)
