"""One message to one target by its way."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import assert_never

from strandkeeper.errors import SecretError
from strandkeeper.model.message import (
    CommandWay,
    Message,
    PageWay,
    SystemLogWay,
    Target,
    UrlWay,
)
from strandkeeper.model.switch import SecretRef
from strandkeeper.notify.child import send_to_url
from strandkeeper.notify.command import send_to_command
from strandkeeper.notify.delivery import DELIVERED, Delivery, failed
from strandkeeper.notify.system_log import send_to_system_log

__all__ = ["send"]


async def send(target: Target, message: Message, resolve: Callable[[SecretRef], str]) -> Delivery:
    """Try once, up to the target's deadline. Never raises for what the way out does."""
    way = target.way
    match way:
        case CommandWay():
            return await send_to_command(way.command, message, target.deadline_s)
        case SystemLogWay():
            return await asyncio.to_thread(send_to_system_log, way.socket, message)
        case UrlWay():
            try:
                url = resolve(way.url)
            except SecretError as error:
                return failed(error.message)
            return await send_to_url(url, message, target.deadline_s)
        case PageWay():
            return DELIVERED
    assert_never(way)
