"""An invented station with a record written by the real writer: what the dashboard's tests show.

Four links: one with a connector that was knocked, one that is well, one that is dark, one never
read. Figures are invented; each is computed from a plain formula here, never read back.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path

from strandkeeper.model.finding import (
    Cause,
    Confidence,
    Evidence,
    EvidenceKind,
    Finding,
    FindingKind,
    NextStep,
    Severity,
)
from strandkeeper.model.link import LimitOrigin, Link, PortEnd
from strandkeeper.model.names import Direction, End, LinkName, PortName, SwitchName
from strandkeeper.model.ping import Pings, PingTally
from strandkeeper.model.poll import LinkEnd, PortIdentity, PowerSupply, SwitchIdentity, SwitchPoll
from strandkeeper.model.power import NO_LIGHT, Measured, Power
from strandkeeper.model.reading import AdminStatus, Deltas, EndRow, OperStatus, OpticalReading
from strandkeeper.model.settings import Address, Settings, StoreSettings
from strandkeeper.model.stats import DAY_S, HOUR_S, PeriodStat
from strandkeeper.model.switch import CommunityRef, SecretKind, SecretRef, SwitchTarget
from strandkeeper.model.verdict import (
    Baseline,
    DirectionVerdict,
    Drift,
    EndState,
    Event,
    EventKind,
    Flap,
    Forecast,
    ForecastTo,
    Interval,
    LinkVerdict,
    Outage,
    Step,
    Trend,
)
from strandkeeper.optics.units import Db, Dbm
from strandkeeper.store import Batch, open_writer

NOW_MS = 1_795_600_000_000
DAY_MS = 86_400_000
PUMP, JETTY, TOWER, SHED = (
    LinkName(n) for n in ("Lab to pump house", "Lab to jetty", "Lab to tower", "Lab to boat shed")
)
SENSITIVITY, OVERLOAD = Dbm(-19.5), Dbm(-3.0)
KNOCKED_MS = NOW_MS - 14 * 3_600_000


def settings(path: Path, *, station: str = "Shore station", port: int = 0) -> Settings:
    """The station's configuration, its record at `path`."""
    return Settings(
        station=station,
        switches=tuple(
            SwitchTarget(
                name=SwitchName(name),
                host=host,
                port=1161,
                credentials=CommunityRef(
                    version="2c", community=SecretRef(kind=SecretKind.FILE, where="community")
                ),
            )
            for name, host in (
                ("lab-switch", "127.0.0.2"),
                ("pump-switch", "127.0.0.3"),
                ("tower-switch", "127.0.0.4"),
            )
        ),
        links=links(),
        store=StoreSettings(path=str(path)),
        dashboard=Address(host="127.0.0.1", port=port),
    )


def _end(name: str, switch: str | None, port: str | None) -> PortEnd:
    return PortEnd(
        name=name,
        switch=None if switch is None else SwitchName(switch),
        port=None if port is None else PortName(port),
        pmd="1000BASE-LX10",
    )


def links() -> tuple[Link, ...]:
    """The links as configured, in the owner's order."""
    lab = "lab-switch"
    return (
        Link(
            name=JETTY,
            a=_end("Lab", lab, "Gi2"),
            b=_end("Jetty", None, None),
            strands=1,
            strand_ab="green",
            strand_ba="green",
            length_m=310,
        ),
        Link(
            name=PUMP,
            a=_end("Lab", lab, "Gi1"),
            b=_end("Pump house", "pump-switch", "Gi1"),
            strand_ab="blue",
            strand_ba="orange",
            length_m=900,
            matings=4,
            near=End.A,
        ),
        Link(
            name=SHED,
            a=_end("Lab", lab, "Gi4"),
            b=_end("Boat shed", None, None),
            length_m=120,
        ),
        Link(
            name=TOWER,
            a=_end("Lab", lab, "Gi3"),
            b=_end("Tower", "tower-switch", "Gi9"),
            strand_ab="slate",
            strand_ba="white",
            length_m=2400,
            matings=2,
        ),
    )


@dataclass(frozen=True)
class Light:
    """One end's figures as functions of time."""

    sent: float
    received: float
    knock_db: float = 0.0
    swing_db: float = 0.05

    def row(self, time_ms: int, end: End) -> EndRow:
        phase = 2 * math.pi * (time_ms % DAY_MS) / DAY_MS
        ripple = 0.04 * math.sin(time_ms / 190_000) + self.swing_db * math.sin(phase)
        lost = self.knock_db if time_ms >= KNOCKED_MS else 0.0
        bad = 3 if self.knock_db and time_ms >= KNOCKED_MS and time_ms // 30_000 % 40 == 0 else 0
        return EndRow(
            time_ms=time_ms,
            end=end,
            optics=OpticalReading(
                rx=Measured(Dbm(round(self.received - lost + ripple, 3))),
                tx=Measured(Dbm(round(self.sent + 0.02 * math.sin(phase), 3))),
                bias_ma=18.4 + 0.6 * math.sin(phase),
                temp_c=31 + 6 * math.sin(phase),
                vcc_v=3.29,
            ),
            oper=OperStatus.UP,
            admin=AdminStatus.UP,
            uptime_cs=time_ms // 10 % 900_000_000,
            deltas=Deltas(in_octets=900_000, out_octets=900_000, in_frames=1200, fcs_errors=bad),
        )


LIGHTS = {
    (PUMP, End.A): Light(sent=-5.6, received=-7.4, knock_db=3.6, swing_db=0.22),
    (PUMP, End.B): Light(sent=-5.2, received=-7.9),
    (JETTY, End.A): Light(sent=-5.9, received=-7.1),
    (TOWER, End.A): Light(sent=-5.0, received=-8.8),
    (TOWER, End.B): Light(sent=-5.4, received=-8.3),
}


def dark_from_ms(now_ms: int) -> int:
    """When the tower's link went down."""
    return now_ms - 40 * 60_000


def rows(now_ms: int, from_ms: int) -> list[tuple[LinkName, EndRow]]:
    """Readings every 30 s; the tower's light goes out 40 minutes before now."""
    made: list[tuple[LinkName, EndRow]] = []
    for time_ms in range(from_ms // 30_000 * 30_000, now_ms, 30_000):
        for (link, end), light in LIGHTS.items():
            row = light.row(time_ms, end)
            if link == TOWER and time_ms >= dark_from_ms(now_ms):
                row = _gone_dark(row)
            made.append((link, row))
    return made


def _gone_dark(row: EndRow) -> EndRow:
    if row.end is End.B:
        return EndRow(time_ms=row.time_ms, end=row.end, answered=False)
    assert row.optics is not None
    return EndRow(
        time_ms=row.time_ms,
        end=row.end,
        optics=OpticalReading(rx=NO_LIGHT, tx=row.optics.tx, temp_c=30.0, bias_ma=18.0, vcc_v=3.3),
        oper=OperStatus.DOWN,
        admin=AdminStatus.UP,
        uptime_cs=row.uptime_cs,
    )


def direction(
    way: Direction, sent: float, received: float | None, now_ms: int, **more: object
) -> DirectionVerdict:
    """A direction whose margin, headroom and loss are the plain differences."""
    rx: Power = NO_LIGHT if received is None else Measured(Dbm(received))
    level = None if received is None else Dbm(received)
    return DirectionVerdict(
        direction=way,
        rx=rx,
        tx=Measured(Dbm(sent)),
        optics_ms=now_ms - 9_000,
        sensitivity=SENSITIVITY,
        overload=OVERLOAD,
        limits_origin=LimitOrigin.PMD_NAMED,
        limits_source="1000BASE-LX10, IEEE 802.3 clause 59, Table 59-6",
        margin=None if level is None else level - SENSITIVITY,
        headroom=None if level is None else OVERLOAD - level,
        loss=None if level is None else Dbm(sent) - level,
        planned_loss=Db(1.6),
        planned_limit=Db(3.4),
        frames_24h=3_456_000,
        **{"errors_24h": 0, "trend": Trend.STEADY, **more},  # type: ignore[arg-type]
    )


def _end_state(end: End, now_ms: int, **more: object) -> EndState:
    known = {
        "answers": True,
        "heard_ms": now_ms - 4_000,
        "oper": OperStatus.UP,
        "oper_since_ms": now_ms - 41 * DAY_MS,
        "uptime_cs": 41 * 8_640_000,
        "temp_c": 31.4,
        "bias_ma": 18.6,
        "vcc_v": 3.29,
        "module_id": "LX-1310-10, serial A1047",
    }
    return EndState(end=end, **{**known, **more})  # type: ignore[arg-type]


def _good(loss: float, now_ms: int) -> Baseline:
    return Baseline(loss=Db(loss), spread=Db(0.05), since_ms=now_ms - 30 * DAY_MS, firm=True)


def pump_verdict(now_ms: int) -> LinkVerdict:
    """A connector was knocked: the way back lost 3.6 dB, and some frames arrive damaged."""
    knocked = now_ms - (NOW_MS - KNOCKED_MS)
    finding = Finding(
        link=PUMP,
        kind=FindingKind.ADDED_LOSS,
        severity=Severity.WARNING,
        since_ms=knocked + 1_800_000,
        direction=Direction.BA,
        cause=Cause.CONNECTOR,
        confidence=Confidence.LIKELY,
        alternatives=(Cause.BEND_OR_CRUSH,),
        evidence=(
            Evidence(kind=EvidenceKind.ADDED_LOSS, direction=Direction.BA, value=3.6),
            Evidence(kind=EvidenceKind.ONE_DIRECTION, direction=Direction.BA),
            Evidence(kind=EvidenceKind.TRANSMITTER_STEADY, end=End.B),
        ),
        next_steps=(NextStep.PUSH_HOME, NextStep.CLEAN_PLUGS_AND_BORE, NextStep.CHANGE_CORD),
    )
    note = Finding(
        link=PUMP,
        kind=FindingKind.DAILY_SWING,
        severity=Severity.NOTE,
        since_ms=now_ms - 9 * DAY_MS,
        direction=Direction.BA,
        cause=Cause.WEATHER_ON_CONNECTOR,
        confidence=Confidence.CANNOT_TELL,
        next_steps=(NextStep.WAIT_AND_SEE,),
    )
    return LinkVerdict(
        link=PUMP,
        at_ms=now_ms - 4_000,
        up=True,
        up_since_ms=now_ms - 41 * DAY_MS,
        a=_end_state(End.A, now_ms),
        b=_end_state(End.B, now_ms, temp_c=44.0),
        ab=direction(
            Direction.AB,
            -5.6,
            -7.9,
            now_ms,
            baseline=_good(2.3, now_ms),
            added_loss=Interval(value=0.0, low=-0.2, high=0.2),
            drift=Drift(
                slope=Interval(value=0.01, low=-0.02, high=0.04), window_days=30, reported=False
            ),
            forecast=Forecast(why_null="no-end-in-sight"),
        ),
        ba=direction(
            Direction.BA,
            -5.2,
            -11.0,
            now_ms,
            baseline=_good(2.2, now_ms),
            added_loss=Interval(value=3.6, low=3.4, high=3.8),
            trend=Trend.JUMPED,
            steps=(
                Step(
                    time_ms=knocked,
                    time_low_ms=knocked - 30_000,
                    time_high_ms=knocked + 30_000,
                    size=Interval(value=3.6, low=3.4, high=3.8),
                ),
            ),
            daily_swing=Db(0.4),
            errors_24h=42,
            forecast=Forecast(
                earliest_ms=now_ms + 300 * DAY_MS,
                latest_ms=now_ms + 500 * DAY_MS,
                to=ForecastTo.RESERVE,
            ),
        ),
        findings=(finding, note),
        flaps=(Flap(from_ms=knocked, to_ms=knocked + 4_000, seen_by=("poll",), uncertainty_s=10),),
    )


def tower_verdict(now_ms: int) -> LinkVerdict:
    """No light at the lab, nothing from the tower."""
    since = dark_from_ms(now_ms)
    finding = Finding(
        link=TOWER,
        kind=FindingKind.LINK_DOWN,
        severity=Severity.URGENT,
        since_ms=since,
        cause=Cause.FAR_END_SILENT,
        confidence=Confidence.CANNOT_TELL,
        evidence=(
            Evidence(kind=EvidenceKind.NO_LIGHT_HERE, end=End.A, direction=Direction.BA),
            Evidence(kind=EvidenceKind.FAR_END_SILENT, end=End.B),
        ),
        next_steps=(NextStep.CHECK_FAR_POWER, NextStep.WALK_THE_ROUTE),
    )
    return LinkVerdict(
        link=TOWER,
        at_ms=now_ms - 4_000,
        up=False,
        up_since_ms=since,
        a=_end_state(End.A, now_ms, oper=OperStatus.DOWN, oper_since_ms=since),
        b=_end_state(End.B, now_ms, answers=False, heard_ms=since - 10_000, oper=None, temp_c=None),
        ab=direction(Direction.AB, -5.0, -8.3, now_ms - 45 * 60_000, baseline=_good(3.3, now_ms)),
        ba=direction(Direction.BA, -5.4, None, now_ms, baseline=_good(3.4, now_ms)),
        findings=(finding,),
        outages=(Outage(from_ms=since, to_ms=None, cause=Cause.FAR_END_SILENT),),
    )


def jetty_verdict(now_ms: int) -> LinkVerdict:
    """Well; nobody can ask the far end, so the way out is not known."""
    dark = DirectionVerdict(
        direction=Direction.AB, tx=Measured(Dbm(-5.9)), optics_ms=now_ms - 9_000
    )
    return LinkVerdict(
        link=JETTY,
        at_ms=now_ms - 4_000,
        up=True,
        up_since_ms=now_ms - 41 * DAY_MS,
        a=_end_state(End.A, now_ms),
        b=EndState(end=End.B, managed=False),
        ab=dark,
        ba=DirectionVerdict(
            direction=Direction.BA,
            rx=Measured(Dbm(-7.1)),
            optics_ms=now_ms - 9_000,
            sensitivity=SENSITIVITY,
            overload=OVERLOAD,
            limits_origin=LimitOrigin.PMD_NAMED,
            limits_source="1000BASE-LX10, IEEE 802.3 clause 59, Table 59-6",
            margin=Db(12.4),
            headroom=Db(4.1),
            planned_loss=Db(0.8),
            planned_limit=Db(1.9),
            trend=Trend.STEADY,
        ),
    )


def jetty_down(now_ms: int) -> LinkVerdict:
    """The same link, a moment later, down."""
    finding = Finding(
        link=JETTY,
        kind=FindingKind.LINK_DOWN,
        severity=Severity.URGENT,
        since_ms=now_ms,
        cause=Cause.CABLE,
        confidence=Confidence.LIKELY,
        next_steps=(NextStep.WALK_THE_ROUTE,),
    )
    return replace(jetty_verdict(now_ms), up=False, findings=(finding,))


def verdicts(now_ms: int) -> list[LinkVerdict]:
    """All but the boat shed's, which was never read."""
    return [jetty_verdict(now_ms), pump_verdict(now_ms), tower_verdict(now_ms)]


def events(now_ms: int) -> list[Event]:
    """What the record noted."""
    knocked = now_ms - (NOW_MS - KNOCKED_MS)
    return [
        Event(
            time_ms=now_ms - 30 * DAY_MS,
            link=PUMP,
            kind=EventKind.BASELINE_SET,
            direction=Direction.BA,
            value=2.2,
        ),
        Event(time_ms=knocked, link=PUMP, kind=EventKind.STEP, direction=Direction.BA, value=3.6),
        Event(time_ms=knocked, link=PUMP, kind=EventKind.LINK_DOWN),
        Event(time_ms=knocked + 4_000, link=PUMP, kind=EventKind.LINK_UP),
        Event(
            time_ms=dark_from_ms(now_ms),
            link=TOWER,
            kind=EventKind.LIGHT_LOST,
            end=End.A,
            direction=Direction.BA,
        ),
        Event(time_ms=dark_from_ms(now_ms) + 2_000, link=TOWER, kind=EventKind.LINK_DOWN),
        Event(
            time_ms=dark_from_ms(now_ms) + 20_000, link=TOWER, kind=EventKind.NO_ANSWER, end=End.B
        ),
    ]


def stats(now_ms: int, days: int) -> list[PeriodStat]:
    """Closed days, and the hours of the last 40 of them, of the pump house's two directions."""
    made = []
    for way in Direction:
        for span_s, count in ((DAY_S, days), (HOUR_S, min(days, 40) * 24)):
            last = now_ms // (span_s * 1000) * span_s * 1000
            for start in range(last - count * span_s * 1000, last, span_s * 1000):
                made.append(_stat(way, start, span_s))
    return made


def _stat(way: Direction, start_ms: int, span_s: int) -> PeriodStat:
    added = 20 * math.sin(start_ms / (9 * DAY_MS))
    if way is Direction.BA and start_ms >= KNOCKED_MS:
        added += 3600
    return PeriodStat(
        link=PUMP,
        direction=way,
        start_ms=start_ms,
        span_s=span_s,
        n=span_s // 30,
        rx_mdbm=-7900 - round(added),
        tx_mdbm=-5600,
        loss_mdb=2300 + round(added),
        added_loss_mdb=round(added),
        compensated_mdb=round(added),
        spread_mdb=40,
        sender_temp_cc=3100,
        receiver_temp_cc=3300,
    )


def polls(
    now_ms: int, sys_descr: str = "Managed switch, 10 ports, release 4.2"
) -> list[SwitchPoll]:
    """One switch well, one with a port that is not there, one silent."""
    described = SwitchIdentity(
        sys_name="lab-sw-1",
        sys_descr=sys_descr,
        sys_object_id="1.3.6.1.4.1.32473.1",
        enterprise=32473,
    )
    return [
        SwitchPoll(
            switch=SwitchName("lab-switch"),
            time_ms=now_ms - 4_000,
            answered=True,
            round_trip_ms=6.4,
            uptime_cs=41 * 8_640_000,
            identity=described,
            ports={
                LinkEnd(PUMP, End.A): PortIdentity(
                    port=PortName("Gi1"),
                    if_index=1,
                    reader="entity-sensor",
                    errors_from="dot3HCStatsFCSErrors",
                    speed_mbps=1000,
                    module_id="SN-1",
                    module_maker="Invented Optics",
                    module_part="IO-LX10",
                    module_wavelength_nm=1310.0,
                )
            },
            pings={
                LinkEnd(PUMP, End.A): Pings(
                    address="192.0.2.10",
                    octets=1400,
                    small=PingTally(sent=20, came=20, ms=0.4),
                    large=PingTally(sent=20, came=3),
                )
            },
            power=PowerSupply(budget_w=370, draw_w=120, denied=2, ups_source="normal"),
            missing_ports=(PortName("Gi4"),),
            known_ports=tuple(PortName(f"Gi{n}") for n in (1, 2, 3, 5, 6)),
        ),
        SwitchPoll(
            switch=SwitchName("pump-switch"),
            time_ms=now_ms - 4_000,
            answered=True,
            round_trip_ms=11.8,
            uptime_cs=12 * 8_640_000,
            identity=SwitchIdentity(sys_name="pump-sw", enterprise=32473),
            ports={
                LinkEnd(PUMP, End.B): PortIdentity(
                    port=PortName("Gi1"), if_index=10101, reader="entity-sensor", speed_mbps=1000
                )
            },
        ),
        SwitchPoll(
            switch=SwitchName("tower-switch"),
            time_ms=now_ms - 4_000,
            answered=False,
            error="tower-switch (127.0.0.4) did not answer within 2 s",
            hint="look at its power, its address and the way to it",
        ),
    ]


def write(
    path: Path,
    *,
    now_ms: int = NOW_MS,
    hours: int = 26,
    days: int = 120,
    sys_descr: str = "Managed switch, 10 ports, release 4.2",
) -> None:
    """Write the whole record: `hours` of raw rows, `days` of statistics, verdicts, events."""
    writer = open_writer(path, reserve=False)
    made = rows(now_ms, now_ms - hours * 3_600_000)
    for start in range(0, len(made), 4000):
        writer.append(Batch(rows=made[start : start + 4000]))
    writer.append(
        Batch(
            verdicts=verdicts(now_ms),
            events=events(now_ms),
            stats=stats(now_ms, days),
            switches=polls(now_ms, sys_descr),
        )
    )
    writer.close()
