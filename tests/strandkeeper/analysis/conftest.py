"""A watched link whose polls a test writes down one by one."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field

import pytest

from strandkeeper.analysis import engine
from strandkeeper.model.block import Block
from strandkeeper.model.finding import Finding, FindingKind
from strandkeeper.model.link import DirectionFacts, LinkFacts, ReceiverLimits
from strandkeeper.model.names import End, LinkName
from strandkeeper.model.power import NO_LIGHT, Measured, Power
from strandkeeper.model.reading import AdminStatus, Deltas, EndRow, OperStatus, OpticalReading
from strandkeeper.model.verdict import Event, EventKind, LinkVerdict
from strandkeeper.optics.units import Dbm

START_MS = 1_750_000_200_000  # a whole five minutes


@dataclass
class Watch:
    """Polls every 30 s, both ends; what is changed stays changed."""

    facts: LinkFacts
    seed: int = 1
    noise: float = 0.02
    time_s: int = 0
    loss: list[float] = field(default_factory=lambda: [4.0, 4.0])  # by direction
    launch: list[float] = field(default_factory=lambda: [-5.0, -5.0])  # by end
    temp: list[float] = field(default_factory=lambda: [30.0, 30.0])
    bias: list[float] = field(default_factory=lambda: [12.0, 12.0])
    dark: list[bool] = field(default_factory=lambda: [False, False])  # by receiving end
    up: list[bool] = field(default_factory=lambda: [True, True])
    answers: list[bool] = field(default_factory=lambda: [True, True])
    boot_s: list[float] = field(default_factory=lambda: [-1e6, -1e6])
    change_s: list[float] = field(default_factory=lambda: [-9e5, -9e5])
    module: list[str] = field(default_factory=lambda: ["one", "two"])
    admin: list[AdminStatus] = field(default_factory=lambda: [AdminStatus.UP, AdminStatus.UP])
    errors: list[int] = field(default_factory=lambda: [0, 0])
    frames: int = 10_000
    events: list[Event] = field(default_factory=list)
    verdict: LinkVerdict | None = None

    def __post_init__(self) -> None:
        self.state = engine.initial(self.facts)
        self.dice = random.Random(self.seed)

    def _rx(self, end: End) -> Power:
        if self.dark[end]:
            return NO_LIGHT
        loss = self.loss[0 if end is End.B else 1]
        return Measured(Dbm(self.launch[end.other] - loss + self.dice.gauss(0, self.noise)))

    def _row(self, end: End) -> EndRow:
        time_ms = START_MS + 1000 * self.time_s
        if not self.answers[end]:
            return EndRow(time_ms=time_ms, end=end, answered=False)
        uptime = round(100 * (self.time_s - self.boot_s[end]))
        return EndRow(
            time_ms=time_ms,
            end=end,
            optics=OpticalReading(
                rx=self._rx(end),
                tx=Measured(Dbm(self.launch[end])),
                bias_ma=self.bias[end],
                temp_c=self.temp[end],
                vcc_v=3.3,
            ),
            oper=OperStatus.UP if self.up[end] else OperStatus.DOWN,
            admin=self.admin[end],
            uptime_cs=uptime % (1 << 32),
            last_change_cs=max(0, round(100 * (self.change_s[end] - self.boot_s[end]))),
            module_id=self.module[end],
            deltas=Deltas(in_frames=self.frames, fcs_errors=self.errors[end]),
        )

    def run(self, minutes: float, every_s: int = 30) -> Watch:
        """Poll both ends for so long."""
        rows = []
        for _ in range(round(60 * minutes / every_s)):
            rows += [self._row(End.A), self._row(End.B)]
            self.time_s += every_s
        self.state, evaluation = engine.advance(self.facts, self.state, Block.from_rows(rows))
        self.events += evaluation.events
        self.verdict = evaluation.verdict
        return self

    def told(self, kind: EventKind) -> list[Event]:
        """Events of a kind so far."""
        return [event for event in self.events if event.kind is kind]

    def finding(self, kind: FindingKind) -> Finding | None:
        """The finding of that kind that is true now."""
        assert self.verdict is not None
        return next((f for f in self.verdict.findings if f.kind is kind), None)


LIMITS = ReceiverLimits(sensitivity=Dbm(-19.0), overload=Dbm(-3.0))


@pytest.fixture
def watch() -> Callable[..., Watch]:
    """Make a watched link; keyword arguments are fields of Watch, `facts` those of the link."""

    def build(facts: LinkFacts | None = None, **fields: object) -> Watch:
        known = facts or LinkFacts(
            name=LinkName("jetty"),
            ab=DirectionFacts(limits=LIMITS),
            ba=DirectionFacts(limits=LIMITS),
            near=End.A,
        )
        return Watch(facts=known, **fields)  # type: ignore[arg-type]

    return build
