"""Messages out of the outbox to their targets: in order, one at a time each, until they are there.

The outbox in the record is the truth; what is held here is its copy, so that messages go out while
nothing can be written. A message counts as delivered when the way out says so and not before:
it may arrive twice under the same key, never not at all.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from strandkeeper.alerts.bundle import Bundle, after_failure, after_success, bundle
from strandkeeper.alerts.wording_digest import digest_message
from strandkeeper.alerts.wording_messages import Setting
from strandkeeper.model.message import Message, Outgoing, OutgoingState, Target

__all__ = ["Deliverer", "TargetCounts"]

log = logging.getLogger(__name__)


class Result(Protocol):
    """What a way out says of one try."""

    @property
    def ok(self) -> bool:
        """Delivered."""

    @property
    def why(self) -> str:
        """Why not, without a secret."""


Send = Callable[[Target, Message], Awaitable[Result]]
Save = Callable[[Sequence[Outgoing]], Awaitable[None]]


@dataclass(slots=True, kw_only=True)
class TargetCounts:
    """What became of the tries to one target since the start."""

    delivered: int = 0
    failed: int = 0
    given_up: int = 0
    trouble: str = ""


@dataclass(slots=True)
class _Queue:
    target: Target
    waiting: list[Outgoing] = field(default_factory=list)
    task: asyncio.Task[None] | None = None
    counts: TargetCounts = field(default_factory=TargetCounts)


class Deliverer:
    """`send` tries once; `save` enters what became of messages; `setting` says when it is."""

    def __init__(
        self,
        targets: Iterable[Target],
        send: Send,
        save: Save,
        setting: Callable[[], Setting],
        give_up_s: float,
    ) -> None:
        self._queues = {t.name: _Queue(t) for t in targets}
        self._send = send
        self._save = save
        self._setting = setting
        self._give_up_s = give_up_s

    def take(self, messages: Iterable[Outgoing]) -> list[Outgoing]:
        """Queue messages; returns those of targets that are no longer configured."""
        strangers = []
        for item in messages:
            queue = self._queues.get(item.target)
            if queue is None:
                strangers.append(item)
            else:
                queue.waiting.append(item)
        return strangers

    def waiting(self) -> dict[str, int]:
        """How many messages wait for each target."""
        return {name: len(queue.waiting) for name, queue in self._queues.items()}

    def counts(self) -> dict[str, TargetCounts]:
        """What became of the tries to each target."""
        return {name: queue.counts for name, queue in self._queues.items()}

    def start_due(self) -> None:
        """Start the delivery of what is due, at most one at a time for each target."""
        for name, queue in self._queues.items():
            if queue.task is None and queue.waiting and self._bundle(queue) is not None:
                queue.task = asyncio.create_task(self._drain(queue), name=f"deliver {name}")

    async def stop(self) -> None:
        """End what is under way; it is tried again after the next start."""
        tasks = [q.task for q in self._queues.values() if q.task is not None]
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)

    def _bundle(self, queue: _Queue) -> Bundle | None:
        return bundle(queue.waiting, self._setting().now_ms)

    async def _drain(self, queue: _Queue) -> None:
        try:
            while (due := self._bundle(queue)) is not None:
                await self._deliver(queue, due)
        except Exception:
            log.exception("delivery failed by a fault of ours target=%s", queue.target.name)
        finally:
            queue.task = None

    async def _deliver(self, queue: _Queue, due: Bundle) -> None:
        result = await self._send(queue.target, self._message(due))
        now_ms = self._setting().now_ms
        if result.ok:
            fates = after_success(due.parts, now_ms)
        else:
            fates = after_failure(due.parts, now_ms, result.why, self._give_up_s)
        self._note(queue, fates, result)
        await self._save(fates)

    def _message(self, due: Bundle) -> Message:
        if len(due.parts) == 1:
            return due.parts[0].message
        messages = [part.message for part in due.parts]
        return digest_message(messages, self._setting(), failed=due.failed)

    def _note(self, queue: _Queue, fates: Sequence[Outgoing], result: Result) -> None:
        """Take over what became of the parts, and log changes of state only."""
        after = {f.order: f for f in fates}
        kept = [after.get(item.order, item) for item in queue.waiting]
        queue.waiting = [item for item in kept if item.state is OutgoingState.WAITING]
        counts, name = queue.counts, queue.target.name
        counts.delivered += sum(f.state is OutgoingState.DELIVERED for f in fates)
        counts.failed += not result.ok
        given_up = [f for f in fates if f.state is OutgoingState.GIVEN_UP]
        counts.given_up += len(given_up)
        for item in given_up:
            log.error(
                "message given up target=%s key=%s why=%s", name, item.message.key, item.error
            )
        if result.ok and counts.trouble:
            log.info("target reached again target=%s messages=%d", name, len(fates))
        elif not result.ok and not counts.trouble:
            log.warning("target not reached target=%s why=%s", name, result.why)
        counts.trouble = "" if result.ok else result.why
