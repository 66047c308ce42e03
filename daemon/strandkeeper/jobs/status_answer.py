"""The status answer of one poll, split up by port and proved before any of it is used."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from strandkeeper.jobs.bind_switch import BoundSwitch
from strandkeeper.model.names import PortName
from strandkeeper.model.oid import Absent, Value, as_int, as_text
from strandkeeper.readers import interfaces
from strandkeeper.readers.interfaces import PortStatus, decode_status
from strandkeeper.snmp.session import Answer

__all__ = ["StatusAnswer"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StatusAnswer:
    """The status answer of one poll, split up by port and proved.

    `ports` holds only ports whose name came with their values and fits; `strangers` those whose
    row now bears another name or none. `regressed`: the switch restarted within the answer.
    """

    answer: Answer
    at_s: float
    uptime_cs: int | None
    regressed: bool
    ports: Mapping[PortName, PortStatus]
    port_at_s: Mapping[PortName, float]
    strangers: frozenset[PortName]

    @staticmethod
    def of(answer: Answer, bound: BoundSwitch) -> StatusAnswer:
        """Split an answer up."""
        uptimes = [
            u
            for p in answer.parts
            if (u := as_int(p.values.get(interfaces.SYS_UP_TIME))) is not None
        ]
        ports: dict[PortName, PortStatus] = {}
        port_at_s: dict[PortName, float] = {}
        strangers: set[PortName] = set()
        for name, port in bound.ports.items():
            key = port.columns.name_at
            pieces = [p for p in answer.parts if key in p.values]
            names = {_name_of(p.values[key]) for p in pieces}
            if names == {port.expected_name}:
                ports[name] = decode_status(port.columns, answer.values)
                port_at_s[name] = (pieces[0].sent_s + pieces[0].received_s) / 2
            elif names - {None}:
                strangers.add(name)
        first = answer.parts[0]
        return StatusAnswer(
            answer=answer,
            at_s=(first.sent_s + first.received_s) / 2,
            uptime_cs=uptimes[-1] if uptimes else None,
            regressed=any(later < earlier for earlier, later in pairwise(uptimes)),
            ports=ports,
            port_at_s=port_at_s,
            strangers=frozenset(strangers),
        )


def _name_of(value: Value) -> str | None:
    """The name in an answer; empty if the row has gone; None if nothing was said."""
    if value is Absent.NOT_ANSWERED or value is Absent.FAILED:
        return None
    return as_text(value)
