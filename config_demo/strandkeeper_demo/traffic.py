"""What the ports count: octets, frames, damaged frames, as closed sums over time."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from zlib import crc32

from strandkeeper.model.names import Direction, PortName, SwitchName
from strandkeeper_demo.faults import DAY_S, DamagedFrames
from strandkeeper_demo.plant import Plant

__all__ = ["PortCounters", "Traffic"]

FRAMES_S = 180.0
SWING = 0.4
BUSIEST_HOUR = 13.0
OCTETS_A_FRAME = 412


@dataclass(frozen=True, slots=True, kw_only=True)
class PortCounters:
    """Since the switch started; never falling while it runs. `exits`: how often light was lost."""

    in_octets: int = 0
    out_octets: int = 0
    in_frames: int = 0
    out_frames: int = 0
    fcs_errors: int = 0
    symbol_errors: int = 0
    exits: int = 0


@lru_cache(maxsize=64)
def _share(name: str) -> float:
    """How busy one flow is, 0.5 to 1.5, by its name."""
    return 0.5 + crc32(name.encode()) % 1000 / 1000


class Traffic:
    """The counters of every port as a pure function of time."""

    def __init__(self, plant: Plant) -> None:
        self._plant = plant
        self._offset_s = plant.scenario.utc_offset_s
        self._damage = plant.scenario.of_kind(DamagedFrames)

    def counters(
        self, switch: SwitchName, port: PortName, time_s: float, boot_s: float
    ) -> PortCounters:
        """What a port has counted since `boot_s`."""
        where = self._plant.where(switch, port)
        if where is None:
            return self._copper(f"{switch} {port}", time_s, boot_s)
        inward = Direction.seen_by(where.end)
        outward = Direction.AB if inward is Direction.BA else Direction.BA
        link = where.link.name
        damaged = sum(
            d.count(boot_s, time_s)
            for d in self._damage
            if d.link == link and d.direction is inward
        )
        down_s = self._plant.down(link).overlap(boot_s, time_s)
        frames_in = self._frames(f"{link} {inward}", time_s, boot_s, down_s)
        frames_out = self._frames(f"{link} {outward}", time_s, boot_s, down_s)
        return PortCounters(
            in_octets=frames_in * OCTETS_A_FRAME,
            out_octets=frames_out * OCTETS_A_FRAME,
            in_frames=frames_in - damaged,
            out_frames=frames_out,
            fcs_errors=damaged,
            symbol_errors=damaged // 3,
            exits=self._plant.down(link).begun(boot_s, time_s),
        )

    def _copper(self, name: str, time_s: float, boot_s: float) -> PortCounters:
        inward = self._frames(f"{name} in", time_s, boot_s, 0.0)
        outward = self._frames(f"{name} out", time_s, boot_s, 0.0)
        return PortCounters(
            in_octets=inward * OCTETS_A_FRAME,
            out_octets=outward * OCTETS_A_FRAME,
            in_frames=inward,
            out_frames=outward,
        )

    def _frames(self, name: str, time_s: float, boot_s: float, down_s: float) -> int:
        carried = self._sum(time_s) - self._sum(boot_s) - down_s * (1 - SWING)
        return int(max(0.0, carried) * FRAMES_S * _share(name))

    def _sum(self, time_s: float) -> float:
        """The integral of the daily rhythm 1 + SWING·cos, in seconds of mean traffic."""
        turn = 2 * math.pi / DAY_S
        phase = (time_s + self._offset_s - BUSIEST_HOUR * 3600) * turn
        return time_s + SWING * math.sin(phase) / turn
