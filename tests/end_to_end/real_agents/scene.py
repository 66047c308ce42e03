"""Station, both agents and the daemon together, and the state that every test begins in."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from real_agents.agent import Agent
from real_agents.configuration import LinkEntry, Plan, SwitchEntry, community, write_configuration
from real_agents.module_rows import MICROWATTS, MILLIWATTS, Module
from real_agents.station import NEAR, Station
from real_agents.watch import Watch
from strandkeeper.model.finding import FindingKind
from strandkeeper.model.power import Measured
from strandkeeper.model.verdict import LinkVerdict

__all__ = ["LAB", "PUMP", "Scene", "agents", "scene"]

# 10·log10(0.0617 mW) = -12.0971 dBm; 10·log10(0.2512 mW) = -5.9998 dBm
LAB: Final = Module(rx=61.7e-6, tx=251.2e-6, power=MICROWATTS)
# 10·log10(0.0794 mW) = -11.0018 dBm; 10·log10(0.2239 mW) = -6.4995 dBm
PUMP: Final = Module(
    rx=79.4e-6, tx=223.9e-6, power=MILLIWATTS, serial="SN0002", sensors_in_port=True
)


_TROUBLE: Final = {
    FindingKind.LINK_DOWN,
    FindingKind.NO_ANSWER,
    FindingKind.LIGHT_LOST,
    FindingKind.MODULE_MISSING,
}


@dataclass(frozen=True, slots=True)
class Scene:
    """Everything a test can touch."""

    station: Station
    lab: Agent
    pump: Agent
    watch: Watch

    def settle(self) -> int:
        """Undo what a test before did, wait until the record says so, and return its time."""
        self.lab.thaw()
        self.pump.thaw()
        self.station.switch_on_far_port()
        self.station.mend_fibre()
        self.lab.insert(LAB)
        self.pump.insert(PUMP)
        verdict = self.watch.until_verdict("all is as it should be", _is_calm, timeout_s=45)
        return verdict.at_ms + 1

    def change_light(self, *, lab: float | None = None, pump: float | None = None) -> None:
        """Let other light, in W, arrive at an end."""
        if lab is not None:
            self.lab.insert(replace(self.lab.module, rx=lab))
        if pump is not None:
            self.pump.insert(replace(self.pump.module, rx=pump))


def _is_calm(verdict: LinkVerdict) -> bool:
    powers = (verdict.ba.rx, verdict.ab.rx)
    return (
        bool(verdict.up and verdict.a.answers and verdict.b.answers)
        and all(isinstance(p, Measured) and p.power.value > -13 for p in powers)
        and not _TROUBLE & {f.kind for f in verdict.findings}
    )


@contextmanager
def agents(
    directory: Path, lab: Module = LAB, pump: Module = PUMP
) -> Iterator[tuple[Station, Agent, Agent]]:
    """The station with both agents running, and nothing of ours."""
    with (
        Station() as station,
        Agent(
            namespace=station.near,
            directory=directory / "lab",
            sys_name="lab",
            module=lab,
            ipv6=station.ipv6,
        ) as near,
        Agent(
            namespace=station.far,
            directory=directory / "pump",
            sys_name="pump",
            module=pump,
            ipv6=station.ipv6,
        ) as far,
    ):
        yield station, near, far


@contextmanager
def scene(
    directory: Path,
    *,
    far_host: str,
    snmp: Callable[[Path], str] = community,
    far_snmp: Callable[[Path], str] | None = None,
    links: Sequence[LinkEntry] = (LinkEntry(),),
    more_switches: Sequence[SwitchEntry] = (),
    lab: Module = LAB,
    pump: Module = PUMP,
) -> Iterator[Scene]:
    """The station watched by the daemon; the far switch asked at `far_host`."""
    switches = [
        SwitchEntry(name="lab", host=NEAR, snmp=snmp(directory)),
        SwitchEntry(name="pump", host=far_host, snmp=(far_snmp or snmp)(directory)),
        *more_switches,
    ]
    plan = Plan(directory=directory, switches=switches, links=links)
    with agents(directory, lab, pump) as (station, near, far):
        watch = Watch(
            namespace=station.desk,
            configuration=write_configuration(plan),
            record=directory / plan.store,
        )
        with watch:
            yield Scene(station, near, far, watch)
