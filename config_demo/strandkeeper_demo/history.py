"""The sixty invented days as the CSV that `strandkeeper history --import` reads.

Rows come as a watch would have written them: both ends at the same instant, closer together of
late and around what happened, empty where a switch was asked and did not answer.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from strandkeeper.model.link import Link
from strandkeeper.model.names import End, LinkName
from strandkeeper.model.reading import OperStatus
from strandkeeper.optics.units import Microwatt
from strandkeeper_demo.faults import DAY_S, DamagedFrames, Dark, Knock, PowerCut
from strandkeeper_demo.plant import Counts, Plant
from strandkeeper_demo.switch_now import SwitchNow
from strandkeeper_demo.traffic import Traffic

__all__ = ["HEADER", "instants", "rows", "write_history"]

HEADER = (
    "time,end,rx_dbm,tx_dbm,bias_ma,temp_c,vcc_v,oper_status,uptime_s,in_octets,out_octets,"
    "in_frames,fcs_errors,symbol_errors,last_change_s,module_id,admin_status"
).split(",")

OLD_STEP_S = 300
RECENT_STEP_S = 30
STATUS_STEP_S = 10
RECENT_S = 2 * DAY_S
AROUND_S = 1800
ROWS_AT_ONCE = 500
STATES = {OperStatus.UP: "up", OperStatus.DOWN: "down"}


def instants(plant: Plant, link: LinkName) -> list[int]:
    """When the link's ends were asked: UTC epoch seconds, rising."""
    start, now = int(plant.scenario.start_s), int(plant.scenario.now_s)
    wanted = set(_grid(start, now - RECENT_S, OLD_STEP_S))
    wanted.update(_grid(now - RECENT_S, now, RECENT_STEP_S))
    for from_s, to_s in _moments(plant, link):
        wanted.update(_grid(from_s - AROUND_S, from_s - 60, RECENT_STEP_S))
        wanted.update(_grid(from_s - 60, min(to_s, from_s + 300) + 60, STATUS_STEP_S))
        wanted.update(_grid(to_s - 60, to_s + 120, STATUS_STEP_S))
        wanted.update(_grid(to_s + 120, to_s + AROUND_S, RECENT_STEP_S))
    return sorted(t for t in wanted if start <= t <= now)


def rows(plant: Plant, link: Link, times: list[int]) -> Iterator[list[str]]:
    """The rows of both ends in the order of `HEADER`, for rising `times`."""
    traffic = Traffic(plant)
    for time_s in times:
        for end in End:
            yield _row(plant, traffic, link, end, time_s)


def write_history(plant: Plant, link: Link, path: Path) -> Iterator[float]:
    """Write one link's CSV, and yield now and then what share of it is done, 1.0 at the end."""
    times = instants(plant, link.name)
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(HEADER)
        for done in range(0, len(times), ROWS_AT_ONCE):
            writer.writerows(rows(plant, link, times[done : done + ROWS_AT_ONCE]))
            yield done / len(times)
    yield 1.0


def _grid(from_s: float, to_s: float, step_s: int) -> range:
    """Whole multiples of the step in [from, to]."""
    first = -(-int(from_s) // step_s) * step_s
    return range(first, int(to_s) + 1, step_s)


def _moments(plant: Plant, link: LinkName) -> Iterator[tuple[float, float]]:
    """What a watch would have looked at more closely: [from, to] of each event of the link."""
    description = plant.scenario.link(link)
    ends = {description.a.switch, description.b.switch}
    for fault in plant.scenario.faults:
        match fault:
            case Dark() if fault.link == link:
                yield fault.start_s, fault.end_s
            case Knock() | DamagedFrames() if fault.link == link:
                yield fault.start_s, fault.start_s
            case PowerCut() if fault.switch in ends:
                yield fault.start_s, fault.answers_s


def _row(plant: Plant, traffic: Traffic, link: Link, end: End, time_s: int) -> list[str]:
    stamp = datetime.fromtimestamp(time_s, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    switch, port = plant.port(link, end)
    if not plant.answers(switch.name, time_s):
        return [stamp, end.name] + [""] * (len(HEADER) - 2)
    boot = plant.boot(switch.name, time_s)
    now = SwitchNow(switch, plant, traffic, time_s=float(time_s), boot=boot)
    counters = now.counters(port)
    return [
        stamp,
        end.name,
        *_optics(now.counts(port)),
        STATES.get(now.oper(port), "unknown"),
        f"{now.uptime_cs / 100:.2f}",
        str(counters.in_octets),
        str(counters.out_octets),
        str(counters.in_frames),
        str(counters.fcs_errors),
        str(counters.symbol_errors),
        f"{now.last_change_cs(port) / 100:.2f}",
        port.module.serial if port.module else "",
        "up",
    ]


def _optics(counts: Counts) -> list[str]:
    return [
        _power(counts.rx),
        _power(counts.tx),
        f"{counts.bias * 0.002:.3f}",
        f"{counts.temp / 256:.2f}",
        f"{counts.vcc / 10000:.4f}",
    ]


def _power(tenth_microwatts: int) -> str:
    if tenth_microwatts == 0:
        return "no-light"
    return f"{Microwatt(tenth_microwatts / 10).to_milliwatt().to_dbm().value:.3f}"
