"""What people do at the fibre, put together: entries applied, work followed, live views granted."""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping
from functools import partial
from typing import Final, Protocol, TypeVar

from strandkeeper.jobs.anchoring import void_anchors, void_benches
from strandkeeper.jobs.live_rate import grant, is_alive, renewed
from strandkeeper.jobs.prove import Known, Quiet, Ruling
from strandkeeper.jobs.prove_ledger import seed
from strandkeeper.jobs.prove_rework import review
from strandkeeper.jobs.prove_rule import look_up, rule, seen_since
from strandkeeper.jobs.record import Recorder
from strandkeeper.model.entry import EntryKind, StoredEntry
from strandkeeper.model.live import LiveGrant, LiveRequest
from strandkeeper.model.meter_reading import Anchor, Bench
from strandkeeper.model.names import End, LinkName, SwitchName
from strandkeeper.model.rework import Rework
from strandkeeper.model.settings import Settings
from strandkeeper.store import RecordReader, RecordWriter, ledger, open_reader, rework
from strandkeeper.store.changes import Changes

__all__ = ["ProofDesk"]

log = logging.getLogger(__name__)

_T = TypeVar("_T")
_SOON_MS: Final = 10 * 60_000
_HOUR_MS: Final = 3_600_000


class DiskThread(Protocol):
    """Where everything runs that may wait for the disk."""

    async def do(self, work: Callable[[], _T]) -> _T:
        """Run `work` after everything asked for before it."""


class ProofDesk:
    """`begin` once, then `apply` for each entry of prove.KINDS and `look` once a second."""

    def __init__(
        self, settings: Settings, writer: RecordWriter, disk: DiskThread, recorder: Recorder
    ) -> None:
        writer.before_reopen = self.close
        self._links = {link.name: link for link in settings.links}
        self._path = settings.store.path
        self._writer = writer
        self._disk = disk
        self._recorder = recorder
        self._reader: RecordReader | None = None
        self._requests: dict[LinkName, LiveRequest] = {}
        self._works: dict[int, Rework] = {}
        self._looked_ms: dict[int, int] = {}
        self._anchors: list[Anchor] = []
        self._benches: list[Bench] = []
        self._rates: dict[SwitchName, float] = {}
        self._granted: list[LiveGrant] = []
        self._looked_at_modules_ms = 0

    async def begin(self) -> None:
        """Take up what the run before left; enter the configured strands into the ledger."""
        await self._disk.do(self._take_up)
        self._recorder.anchor(self._anchors)

    def close(self) -> None:
        """Let go of the record, until it is needed again; on the disk's thread."""
        if self._reader is not None:
            self._reader.close()
        self._reader = None

    @property
    def live(self) -> bool:
        """Whether somebody looks at a link: its polls are then written at once."""
        return bool(self._requests)

    def rates(self) -> Mapping[SwitchName, float]:
        """Seconds between polls of the switches that somebody looks at."""
        return self._rates

    async def apply(self, stored: StoredEntry, now_ms: int) -> Quiet | None:
        """Apply or refuse one entry; what it asks of the alerts is returned."""
        if stored.entry.kind is EntryKind.LIVE:
            await self._apply_live(stored, now_ms)
            return None
        ruling = await self._disk.do(partial(self._rule, stored, now_ms))
        if ruling.refusal:
            await self._disk.do(partial(self._writer.refuse_entry, stored.id, ruling.refusal))
            return None
        changes = ruling.changes
        await self._disk.do(partial(self._writer.change, changes, entry=stored.id, at_ms=now_ms))
        for work in changes.reworks:
            self._follow(work)
        if changes.anchors or changes.benches:
            await self._disk.do(self._load_ties)
            self._recorder.anchor(self._anchors)
        return ruling.quiet

    async def look(self, now_ms: int, refresh: Mapping[SwitchName, float | None]) -> None:
        """Let live views end, grant their rates, look again at work that is followed."""
        await self._look_live(now_ms, refresh)
        for work in [w for w in self._works.values() if self._is_due(w, now_ms)]:
            await self._review(work, now_ms)
        if now_ms - self._looked_at_modules_ms >= 60_000:
            self._looked_at_modules_ms = now_ms
            await self._void_ties()

    # -- on the disk's thread --------------------------------------------------------------------

    def _record(self) -> RecordReader:
        if self._reader is None:
            self._reader = open_reader(self._path)
        return self._reader

    def _take_up(self) -> None:
        record = self._record()
        known = Known(cables=record.ask(ledger.cables), strands=record.ask(ledger.strands))
        lives = [g.link for g in record.ask(rework.live_grants)]
        seeded = seed(tuple(self._links.values()), known)
        self._writer.change(seeded)
        self._writer.change(Changes(void_lives=lives))
        for work in record.ask(partial(rework.reworks, unclosed=True)):
            self._follow(work)
        self._load_ties()

    def _load_ties(self) -> None:
        self._anchors = self._record().ask(ledger.anchors)
        self._benches = self._record().ask(ledger.benches)

    def _rule(self, stored: StoredEntry, now_ms: int) -> Ruling:
        facts = self._recorder.facts()
        return rule(stored, look_up(self._record(), self._links, facts, stored, now_ms), now_ms)

    # -- work that is followed -------------------------------------------------------------------

    def _follow(self, work: Rework) -> None:
        if work.closed_ms is not None or work.link not in self._links:
            self._works.pop(work.id, None)
        else:
            self._works[work.id] = work

    def _is_due(self, work: Rework, now_ms: int) -> bool:
        """Soon after the end every few seconds, later more seldom."""
        if work.finished_ms is None:
            return False
        since = now_ms - work.finished_ms
        every = 3_000 if since < _SOON_MS else 60_000 if since < _HOUR_MS else 600_000
        return now_ms - self._looked_ms.get(work.id, 0) >= every

    async def _review(self, work: Rework, now_ms: int) -> None:
        self._looked_ms[work.id] = now_ms
        seen = await self._disk.do(lambda: seen_since(self._record(), work))
        result = review(work, self._recorder.facts()[work.link], seen, now_ms)
        if result.work == work:
            return
        await self._disk.do(partial(self._writer.change, Changes(reworks=[result.work])))
        self._follow(result.work)
        if result.mark is not None:
            self._recorder.mark(work.link, result.mark)
            log.info("baseline begins anew after work link=%s work=%d", work.link, work.id)

    async def _void_ties(self) -> None:
        verdicts = self._recorder.verdicts()
        gone = void_anchors(self._anchors, verdicts)
        benches = void_benches(self._benches, verdicts)
        if not (gone or benches):
            return
        log.info("another module: its meter reading no longer holds links=%s", gone or benches)
        changes = Changes(void_anchors=gone, void_benches=benches)
        await self._disk.do(partial(self._writer.change, changes))
        await self._disk.do(self._load_ties)
        self._recorder.anchor(self._anchors)

    # -- live views ------------------------------------------------------------------------------

    async def _apply_live(self, stored: StoredEntry, now_ms: int) -> None:
        link = LinkName(str(stored.entry.payload.get("link", "")))
        if link not in self._links:
            why = f"there is no link {link!r} in the configuration"
            await self._disk.do(partial(self._writer.refuse_entry, stored.id, why))
            return
        if stored.entry.payload.get("end") is True:
            self._requests.pop(link, None)
            changes = Changes(void_lives=[link])
        else:
            request = renewed(self._requests.get(link), link, 1.0, now_ms)
            if isinstance(request, str):
                await self._disk.do(partial(self._writer.refuse_entry, stored.id, request))
                return
            self._requests[link] = request
            granted = grant(request, None, now_ms)
            changes = Changes(lives=[] if granted is None else [granted])
        await self._disk.do(partial(self._writer.change, changes, entry=stored.id, at_ms=now_ms))

    async def _look_live(self, now_ms: int, refresh: Mapping[SwitchName, float | None]) -> None:
        over = [link for link, r in self._requests.items() if not is_alive(r, now_ms)]
        for link in over:
            del self._requests[link]
        lives = []
        self._rates = {}
        for link, request in self._requests.items():
            switches = self._switches(link)
            learned = [s for name in switches if (s := refresh.get(name)) is not None]
            granted = grant(request, max(learned, default=None), now_ms)
            if granted is None:
                continue
            lives.append(granted)
            for name in switches:
                self._rates[name] = min(self._rates.get(name, 1e9), granted.interval_s)
        if over or lives != self._granted:
            self._granted = lives
            changes = Changes(lives=lives, void_lives=over)
            await self._disk.do(partial(self._writer.change, changes))

    def _switches(self, link: LinkName) -> list[SwitchName]:
        ends = [self._links[link].end(end) for end in End]
        return [end.switch for end in ends if end.switch is not None]
