"""The owner's command: real processes that answer, fail, hang or say the same again."""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path

import pytest
from tests.strandkeeper.jobs.small_switch import SENSOR, SmallSwitch
from tests.strandkeeper.snmp.agents import Agent

from strandkeeper.jobs.ask_command import CommandSource
from strandkeeper.jobs.poll_switch import SwitchPoller
from strandkeeper.model.names import End, LinkName, PortName, SwitchName
from strandkeeper.model.poll import LinkEnd
from strandkeeper.model.power import Measured
from strandkeeper.model.reading import OpticalReading
from strandkeeper.model.switch import CommunityRef, SecretKind, SecretRef, SwitchTarget
from strandkeeper.optics.units import Dbm
from strandkeeper.snmp.credentials import Community
from strandkeeper.snmp.session import SnmpClient

GI1, GI2 = PortName("Gi1"), PortName("Gi2")
NOBODYS = CommunityRef(version="2c", community=SecretRef(kind=SecretKind.FILE, where="unused"))
READ = OpticalReading(rx=Measured(Dbm(-7.1)))
TOLD = json.dumps({"ports": {"Gi1": {"rx_dbm": -7.1}}})


def target(
    *command: str, address: tuple[str, int] = ("127.0.0.1", 9), deadline_s: float = 5.0
) -> SwitchTarget:
    return SwitchTarget(
        name=SwitchName("quay"), host=address[0], port=address[1], credentials=NOBODYS,
        timeout_s=0.3, retries=0, command=command, command_deadline_s=deadline_s,
    )  # fmt: skip


def python(script: str) -> tuple[str, str, str]:
    return (sys.executable, "-c", script)


async def test_a_command_tells_the_reading_of_a_port() -> None:
    source = CommandSource(target(*python(f"print({TOLD!r})")))
    samples = await source.samples([GI1, GI2])
    assert {name: s.reading for name, s in samples.items()} == {GI1: READ}
    assert (source.remark, source.ports) == ("", {GI1})


@pytest.mark.parametrize(
    ("command", "remark"),
    [
        (("/nowhere/optics",),
         "light not read: /nowhere/optics: cannot be started: No such file or directory"),
        (python("import sys; sys.exit('no such module')"),
         f"light not read: {sys.executable}: ended with 1: no such module"),
        (python("print('hello')"),
         f"light not read: {sys.executable}: its stdout is no JSON: Expecting value: line 1 column "
         '1 (char 0); write {"ports": {"Gi1": {"rx_dbm": -7.1}}}'),
        (python("""print('{"ports": {"Te9": {}}}')"""),
         f"{sys.executable} names no port of a link here; it names: Te9"),
        (python("""print('{"ports": {"Gi1": {"rx": 1}}}')"""),
         f'{sys.executable}: port Gi1: no such key: "rx"; there are: rx_dbm, rx_mw, tx_dbm, tx_mw, '
         "bias_ma, temp_c, vcc_v, wavelength_nm, module_id, maker, part, at, a0, a2"),
    ],
)  # fmt: skip
async def test_a_command_that_fails_is_said_and_no_more(
    command: tuple[str, ...], remark: str
) -> None:
    source = CommandSource(target(*command))
    assert await source.samples([GI1]) == {}
    assert source.remark == remark


async def test_a_command_that_hangs_is_ended_with_all_it_started(tmp_path: Path) -> None:
    child = f"import time, pathlib; time.sleep(3); pathlib.Path({str(tmp_path / 'late')!r}).touch()"
    script = f"import subprocess, sys; subprocess.run([sys.executable, '-c', {child!r}])"
    source = CommandSource(target(*python(script), deadline_s=0.5))
    started = time.monotonic()
    assert await source.samples([GI1]) == {}
    assert "was not done after 0.5 s and was ended" in source.remark
    assert time.monotonic() - started < 3  # it would have taken that long by itself
    time.sleep(max(0.0, 3.5 - (time.monotonic() - started)))  # noqa: ASYNC251
    assert not (tmp_path / "late").exists()


@pytest.mark.parametrize("where", ["stdout", "stderr"])
async def test_a_command_that_writes_without_end_is_ended_and_that_is_said(where: str) -> None:
    """It would go on for a minute: what ends it long before is the limit, not the deadline."""
    script = (
        "import sys, time\n"
        "until = time.monotonic() + 60\n"
        f"while time.monotonic() < until: sys.{where}.write('x' * 65536)"
    )
    source = CommandSource(target(*python(script), deadline_s=50.0))
    assert await source.samples([GI1]) == {}
    assert source.remark == (
        f"light not read: {sys.executable}: wrote more than 1024 KiB and was ended; "
        "write one JSON object to stdout and nothing else"
    )


async def test_what_a_command_may_write_is_read_whole() -> None:
    """More than the 64 KiB that one read of a pipe brings, and not cut at its beginning."""
    script = (
        "import json; ports = {f'Gi{n}': {'rx_dbm': -7.1, 'at': 'x' * 60} for n in range(2000)};"
        "print(json.dumps({'ports': ports}))"
    )
    source = CommandSource(target(*python(script)))
    samples = await source.samples([PortName("Gi0"), PortName("Gi1999")])
    assert (len(samples), source.remark) == (2, "")


async def test_a_reading_typed_into_a_file_is_recorded_once(tmp_path: Path) -> None:
    typed = tmp_path / "typed.json"
    source = CommandSource(target("cat", str(typed)))

    async def read(power_dbm: float, at: str) -> OpticalReading | None:
        port = {"rx_dbm": power_dbm, "at": at}
        typed.write_text(json.dumps({"ports": {"Gi1": port}}), encoding="utf-8")
        return (await source.samples([GI1]))[GI1].reading

    assert await read(-7.1, "10:00") == READ
    assert await read(-7.1, "10:00") is None
    assert await read(-7.1, "11:30") == READ


async def test_a_poll_takes_state_from_the_switch_and_light_from_the_command() -> None:
    switch = SmallSwitch()
    switch.without(SENSOR)
    async with Agent(switch.table) as agent:
        where = target(*python(f"print({TOLD!r})"), address=agent.address)
        client = SnmpClient([(where, Community(version="2c", text="look"))])
        await client.start()
        ends = {LinkEnd(LinkName(n), End.A): n for n in (GI1, GI2)}
        poll = await SwitchPoller(client, SwitchName("quay"), ends).poll(1000, optics=True)
        rows = {ends[end]: row for end, row in poll.rows}
        ports = {ends[end]: port for end, port in poll.ports.items()}
        await client.close()
    assert rows[GI1].optics == READ
    assert (ports[GI1].reader, ports[GI1].remarks) == ("command", ())
    assert rows[GI1].oper is not None
    assert rows[GI2].optics is None
    assert ports[GI2].reader == "none"
