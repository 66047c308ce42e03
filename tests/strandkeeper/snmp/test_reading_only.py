"""Nothing can be written to a switch: not asked for, not built, not let out."""

from __future__ import annotations

import ast
from pathlib import Path
from typing import Any

import pytest
from pysnmp.proto.api import v1, v2c
from tests.strandkeeper.snmp import ber
from tests.strandkeeper.snmp.agents import Agent
from tests.strandkeeper.snmp.conftest import QUAY, MakeClient

import strandkeeper.snmp
from strandkeeper.snmp.gate import READ_TAGS, Gate, Peer, WriteRefusedError, make_gate
from strandkeeper.snmp.pdus import READ_TAG_SETS, Kind, build
from strandkeeper.snmp.session import SnmpClient

PACKAGE = Path(strandkeeper.snmp.__file__).parent


def test_no_name_of_the_library_that_writes_is_used() -> None:
    for path in PACKAGE.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            name = getattr(node, "attr", None) or getattr(node, "id", None) or ""
            assert not name.startswith(("SetRequest", "SetCommand", "set_cmd")), f"{path}: {name}"


def test_three_kinds_of_request_can_be_built_and_none_writes() -> None:
    assert {k.value for k in Kind} == {"get", "next", "bulk"}
    assert v2c.SetRequestPDU.tagSet not in READ_TAG_SETS
    assert v1.SetRequestPDU.tagSet not in READ_TAG_SETS
    assert ber.SET not in READ_TAGS
    for kind in Kind:
        assert build(kind, 1, [(1, 3, 6)], repetitions=2).tagSet in READ_TAG_SETS


@pytest.mark.parametrize("api", [v1, v2c])
async def test_a_write_request_handed_to_the_engine_does_not_leave(
    client_of: MakeClient, api: Any
) -> None:
    """Reaches into the client on purpose: there is no other way to get one so far."""
    async with Agent({(1, 3, 6, 1, 2, 1, 1, 3, 0): ber.ticks(1)}) as agent:
        client = await client_of(agent.address)
        await client.get(QUAY, [(1, 3, 6, 1, 2, 1, 1, 3, 0)])
        asked = len(agent.asked)
        pdu = api.SetRequestPDU()
        api.apiPDU.set_defaults(pdu)
        api.apiPDU.set_varbinds(pdu, [((1, 3, 6, 1, 2, 1, 1, 5, 0), api.OctetString("mine"))])
        with pytest.raises(WriteRefusedError):
            _send(client, pdu)
        assert len(agent.asked) == asked


def _send(client: SnmpClient, pdu: Any) -> None:
    endpoint = client._endpoints[QUAY]
    assert endpoint.peer is not None
    client._engine.send(endpoint.peer, endpoint.family, endpoint.opening, pdu, 1.0)


@pytest.mark.parametrize("version", [0, 1])
async def test_the_gate_itself_lets_no_write_request_out(version: int) -> None:
    async with Agent({}) as agent:
        gate = await make_gate(2, 1 << 16)  # type: ignore[arg-type]
        assert isinstance(gate, Gate)
        peer = Peer(agent.address)
        asked = ber.Asked(version, b"look", ber.SET, 7, 0, 0, ())
        body = ber.response(asked, [((1, 3, 6, 1, 2, 1, 1, 5, 0), ber.text("mine"))], number=7)
        write = body.replace(bytes((ber.RESPONSE,)), bytes((ber.SET,)), 1)
        with gate.sending(), pytest.raises(WriteRefusedError):
            gate.send_message(write, peer)
        gate.send_message(write, peer)  # outside of our own sending nothing leaves at all
        assert gate.awaited == {}
        gate.close_transport()
