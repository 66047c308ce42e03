"""Two switches, one SNMPv3 user name, two keys: what is taken of each, and what `check` says."""

from __future__ import annotations

import asyncio
import os
import shutil
import subprocess
from collections.abc import AsyncIterator, Callable
from pathlib import Path
from typing import Any, Final

import pytest

from strandkeeper.app.trapping import inform_clashes, start_traps
from strandkeeper.cli.main import main
from strandkeeper.model.names import SwitchName
from strandkeeper.model.settings import Settings, StoreSettings
from strandkeeper.model.switch import SecretKind, SecretRef, SwitchTarget, UsmRef
from strandkeeper.model.telling import TrapSettings
from strandkeeper.model.trap import Trap
from strandkeeper.snmp.credentials import Community, Usm
from strandkeeper.snmp.traps import TrapListener

needs_snmptrap = pytest.mark.skipif(
    shutil.which("snmptrap") is None and os.environ.get("STRANDKEEPER_NO_SKIPS") != "1",
    reason="NOT RUN: snmptrap (Debian package snmp) is missing",
)
HOSTS: Final = {"lab": "127.0.0.1", "pump": "127.0.0.2"}
KEYS: Final = {"lab": "tide-table-7", "pump": "spring-low-9"}
DOWN: Final = "1.3.6.1.6.3.1.1.5.3"


def target(name: str, user: str = "watcher") -> SwitchTarget:
    key = SecretRef(kind=SecretKind.ENVIRONMENT, where=f"KEY_{name.upper()}")
    held = UsmRef(user=user, auth_protocol="SHA-256", auth_key=key)
    return SwitchTarget(name=SwitchName(name), host=HOSTS[name], credentials=held)


def usm(name: str, user: str = "watcher", **more: Any) -> Usm:
    return Usm(user=user, auth_protocol="SHA-256", auth_key=KEYS[name], **more)


async def listening(heard: list[Trap], *targets: SwitchTarget) -> TrapListener:
    settings = Settings(
        station="s",
        switches=targets,
        links=(),
        store=StoreSettings(path="x"),
        traps=TrapSettings(host="0.0.0.0", port=0),
    )
    listener = await start_traps(settings, heard.append)
    assert listener is not None
    return listener


@pytest.fixture
async def ear(monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[Callable[..., Any]]:
    for name, key in KEYS.items():
        monkeypatch.setenv(f"KEY_{name.upper()}", key)
    opened: list[TrapListener] = []

    async def listen(heard: list[Trap], *targets: SwitchTarget) -> TrapListener:
        opened.append(await listening(heard, *targets))
        return opened[-1]

    yield listen
    for listener in opened:
        listener.close()


async def send(listener: TrapListener, program: str, name: str, user: str, directory: Path) -> int:
    """One notification from that switch's own address, with its own key."""
    where = f"127.0.0.1:{listener.port}"
    engine = ["-e", f"0x80000000010203{len(name):02x}"] if program == "snmptrap" else []
    held = ["-v3", "-l", "authNoPriv", "-u", user, "-a", "SHA-256", "-A", KEYS[name], *engine]
    command = [program, "-r", "0", "-t", "20", f"--clientaddr={HOSTS[name]}", *held, where]
    env = {**os.environ, "MIBS": "", "SNMP_PERSISTENT_DIR": str(directory)}
    env["SNMPCONFPATH"] = str(directory)
    about = [str(4200 + len(name)), DOWN, "1.3.6.1.2.1.2.2.1.1.7", "i", "7"]
    done = await asyncio.to_thread(
        subprocess.run, [*command, *about], capture_output=True, timeout=30, env=env, check=False
    )
    await asyncio.sleep(0.3)
    return done.returncode


@needs_snmptrap
async def test_traps_are_taken_from_both_and_informs_from_the_first_alone(
    ear: Callable[..., Any], tmp_path: Path
) -> None:
    heard: list[Trap] = []
    listener = await ear(heard, target("lab"), target("pump"))
    for name in HOSTS:
        await send(listener, "snmptrap", name, "watcher", tmp_path)
    assert [t.switch for t in heard] == ["lab", "pump"]
    heard.clear()
    assert await send(listener, "snmpinform", "pump", "watcher", tmp_path) != 0
    assert heard == []


@needs_snmptrap
async def test_with_a_name_of_its_own_the_informs_of_the_second_are_taken(
    ear: Callable[..., Any], tmp_path: Path
) -> None:
    heard: list[Trap] = []
    listener = await ear(heard, target("lab"), target("pump", user="watcher-pump"))
    for name, user in (("lab", "watcher"), ("pump", "watcher-pump")):
        assert await send(listener, "snmpinform", name, user, tmp_path) == 0
    assert [t.switch for t in heard] == ["lab", "pump"]


def test_a_clash_names_both_switches_and_the_way_out_and_no_key() -> None:
    found = inform_clashes([(target("lab"), usm("lab")), (target("pump"), usm("pump"))])
    assert found == [
        'switch "pump": its SNMPv3 user "watcher" has other keys or protocols than on switch '
        '"lab", so its informs cannot be taken: one user name has one key here. Its traps are '
        "taken. Give the user of this switch a name of its own, or the same keys, or let the "
        "switch send traps."
    ]
    assert not any(key in found[0] for key in KEYS.values())


@pytest.mark.parametrize(
    "second",
    [
        pytest.param(usm("lab"), id="the same keys"),
        pytest.param(usm("pump", user="another"), id="another name"),
        pytest.param(usm("lab", context="vlan-7"), id="another context"),
        pytest.param(Community(version="2c", text="look-only"), id="a community"),
    ],
)
def test_what_is_no_clash_is_not_said(second: Usm | Community) -> None:
    assert inform_clashes([(target("lab"), usm("lab")), (target("pump"), second)]) == []


CONFIG: Final = """
station = "Shore station"
[[switch]]
name = "lab"
host = "127.0.0.1"
port = 9
timeout_s = 0.5
retries = 0
snmp = { version = "3", user = "watcher", auth = "SHA-256", auth_key_env = "KEY_LAB" }
[[switch]]
name = "pump"
host = "127.0.0.2"
port = 9
timeout_s = 0.5
retries = 0
snmp = { version = "3", user = "watcher", auth = "SHA-256", auth_key_env = "KEY_PUMP" }
"""


@pytest.mark.parametrize("traps", [True, False])
def test_check_names_the_clash_where_traps_are_listened_for(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    *,
    traps: bool,
) -> None:
    for name, key in KEYS.items():
        monkeypatch.setenv(f"KEY_{name.upper()}", key)
    path = tmp_path / "station.toml"
    path.write_text(CONFIG + ("[traps]\nenabled = true\n" if traps else ""), encoding="utf-8")
    assert main(["check", str(path)]) == 1
    said = capsys.readouterr().out
    assert "Switch pump (127.0.0.2" in said
    assert ('its SNMPv3 user "watcher" has other keys or protocols' in said) is traps
