"""What alerts add to the record: one step of them and its messages are one transaction, at once."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from strandkeeper.model.alert import Alert, Transition
from strandkeeper.model.finding import Finding
from strandkeeper.model.message import Outgoing
from strandkeeper.model.names import End, LinkName
from strandkeeper.model.silence import Silence
from strandkeeper.store import alerts, meta, outbox
from strandkeeper.store.batch import Outcome
from strandkeeper.store.care import Beat, put_beat
from strandkeeper.store.last_light import LastLight, last_lights

__all__ = ["KEPT_MS", "Telling", "TellingBatch", "TellingState", "load", "write"]

MOST_HELD: Final = 5_000  # a step a second for 80 minutes
KEPT_MS: Final = 400 * 86_400_000  # messages that went out are kept so long
NEXT_NUMBER: Final = "alert_number"  # the number of the newest alert
WATCHED_UNTIL: Final = "watched_until_ms"  # when the watch was last known to run
WEEKLY_DONE: Final = "weekly_done_ms"

Write = Callable[[Callable[[sqlite3.Connection], None]], Outcome]


@dataclass(frozen=True, slots=True, kw_only=True)
class TellingBatch:
    """What belongs together: `steps` with the alerts after them, and the messages they made.

    `fates` are messages already entered; `silences` and `unsilenced` change what is silenced.
    """

    alerts: Sequence[Alert] = ()
    steps: Sequence[Transition] = ()
    messages: Sequence[Outgoing] = ()
    fates: Sequence[Outgoing] = ()
    silences: Sequence[Silence] = ()
    unsilenced: Sequence[LinkName] = ()
    watched_until_ms: int | None = None
    weekly_done_ms: int | None = None
    beat: Beat | None = None

    def __bool__(self) -> bool:
        return bool(
            self.alerts
            or self.steps
            or self.messages
            or self.fates
            or self.silences
            or self.unsilenced
            or self.watched_until_ms is not None
            or self.weekly_done_ms is not None
            or self.beat is not None
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class TellingState:
    """Everything that a start needs to go on where the run before ended.

    `ended`: of each silenced link, what was muted and is over, for the summary after the silence.
    """

    alerts: Sequence[Alert] = ()
    waiting: Sequence[Outgoing] = ()
    silences: Sequence[Silence] = ()
    last_number: int = 0
    last_order: int = 0
    watched_until_ms: int | None = None
    weekly_done_ms: int | None = None
    ended: Mapping[LinkName, Sequence[Finding]] = field(default_factory=dict)
    lights: Mapping[tuple[LinkName, End], LastLight] = field(default_factory=dict)


@dataclass(slots=True)
class Telling:
    """The writing side. A batch that cannot be written is held, and goes first the next time.

    At most MOST_HELD batches are: beyond them the oldest is given up and counted in `lost`. What it
    asked to send has been sent from memory all the same; each later step brings its alert whole.
    Safe to call from one thread at a time.
    """

    write_now: Write
    lost: int = 0
    _held: list[TellingBatch] = field(default_factory=list)

    def write(self, batch: TellingBatch) -> Outcome:
        """Enter a batch with all that is held, in one transaction."""
        if batch:
            self._held.append(batch)
        if len(self._held) > MOST_HELD:
            self.lost += len(self._held) - MOST_HELD
            del self._held[:-MOST_HELD]
        held = tuple(self._held)
        outcome = self.write_now(lambda connection: _write_all(connection, held))
        if outcome.written:
            self._held.clear()
        return outcome

    @property
    def holds(self) -> bool:
        """Whether something waits for the disk."""
        return bool(self._held)


def _write_all(connection: sqlite3.Connection, batches: Sequence[TellingBatch]) -> None:
    for batch in batches:
        write(connection, batch)


def write(connection: sqlite3.Connection, batch: TellingBatch) -> None:
    """Enter one batch inside the caller's transaction."""
    for alert in batch.alerts:
        alerts.put_alert(connection, alert)
    for step in batch.steps:
        alerts.put_transition(connection, step)
    for outgoing in batch.messages:
        outbox.put(connection, outgoing)
    outbox.mark(connection, batch.fates)
    for silence in batch.silences:
        alerts.put_silence(connection, silence)
    for link in batch.unsilenced:
        alerts.remove_silence(connection, link)
    _put_meta(connection, batch)


def _put_meta(connection: sqlite3.Connection, batch: TellingBatch) -> None:
    if batch.alerts:
        newest = max(alert.number for alert in batch.alerts)
        before = meta.get_number(connection, NEXT_NUMBER) or 0
        meta.put(connection, NEXT_NUMBER, max(newest, before))
    if batch.watched_until_ms is not None:
        meta.put(connection, WATCHED_UNTIL, batch.watched_until_ms)
        outbox.forget(connection, batch.watched_until_ms - KEPT_MS)
    if batch.weekly_done_ms is not None:
        meta.put(connection, WEEKLY_DONE, batch.weekly_done_ms)
    if batch.beat is not None:
        put_beat(connection, batch.beat)


def load(connection: sqlite3.Connection) -> TellingState:
    """What the run before left."""
    silences = alerts.all_silences(connection)
    return TellingState(
        alerts=alerts.open_alerts(connection),
        waiting=outbox.waiting(connection),
        silences=silences,
        ended={s.link: alerts.ended_in_silence(connection, s) for s in silences},
        lights=last_lights(connection),
        last_number=meta.get_number(connection, NEXT_NUMBER) or 0,
        last_order=outbox.highest(connection),
        watched_until_ms=meta.get_number(connection, WATCHED_UNTIL),
        weekly_done_ms=meta.get_number(connection, WEEKLY_DONE),
    )
