"""One Net-SNMP snmpd in a namespace: the kernel's own IF-MIB, and a module's rows out of a file."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from real_agents.module_rows import ENTITY, MAU, SENSORS, Module
from real_agents.station import FIBRE, inside
from real_agents.waiting import until

__all__ = ["COMMUNITY", "USERS", "Agent", "User"]

COMMUNITY: Final = "look-only"
_SCRIPT: Final = Path(__file__).with_name("pass_persist.py")


@dataclass(frozen=True, slots=True)
class User:
    """An SNMPv3 user as snmpd's createUser takes it: snmpd's own protocol names."""

    name: str
    auth: str
    auth_key: str
    priv: str
    priv_key: str


USERS: Final = (
    User("reader", "SHA-256", "tide-table-7", "AES", "spring-low-9"),
    User("elder", "SHA", "ebb-and-flow-1", "AES", "neap-high-2"),
)


class Agent:
    """snmpd with a private configuration and a private persistent directory; nothing of the
    system's is read or written. A context manager that ends the process."""

    def __init__(
        self,
        *,
        namespace: str,
        directory: Path,
        sys_name: str,
        module: Module,
        ipv6: bool = False,
    ) -> None:
        self.namespace = namespace
        self._ipv6 = ipv6
        self.sys_name = sys_name
        self.module = module
        self._directory = directory
        self._rows = directory / "rows"
        self._log = directory / "snmpd.log"
        self._process: subprocess.Popen[bytes] | None = None

    def __enter__(self) -> Self:
        self._directory.mkdir(parents=True)
        (self._directory / "persistent").mkdir()
        (self._directory / "persistent" / "snmpd.conf").touch()
        (self._directory / "snmpd.conf").write_text(self._configuration(), encoding="utf-8")
        self.insert(self.module)
        try:
            self.start()
        except BaseException:
            self.stop()
            raise
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.stop()

    def _configuration(self) -> str:
        users = "".join(
            f'createUser {u.name} {u.auth} "{u.auth_key}" {u.priv} "{u.priv_key}"\n'
            f"rouser {u.name} authpriv\n"
            for u in USERS
        )
        script = f"{sys.executable} -I -S {_SCRIPT} {self._rows}"
        passed = "".join(
            f"pass_persist .{base} {script} {base}\n" for base in (ENTITY, SENSORS, MAU)
        )
        return (
            f"agentaddress udp:161{',udp6:161' if self._ipv6 else ''}\nsysname {self.sys_name}\n"
            f"rocommunity {COMMUNITY}\nrocommunity6 {COMMUNITY}\n"
            f"{users}{passed}"
        )

    def insert(self, module: Module) -> None:
        """Say these rows from now on; the file is replaced in one step."""
        self.module = module
        if_index = _if_index(self.namespace)
        fresh = self._rows.with_suffix(".new")
        fresh.write_text(module.rows(if_index=if_index, if_name=FIBRE), encoding="utf-8")
        fresh.replace(self._rows)

    def start(self) -> None:
        """Start snmpd and wait until it answers a request from its own namespace."""
        files = f"{self._directory}/snmpd.conf,{self._directory}/persistent/snmpd.conf"
        command = ["snmpd", "-f", "-C", "-c", files, "-LF", "n", str(self._log), "-I", "-smux"]
        self._process = subprocess.Popen(
            inside(self.namespace, *command),
            env={
                "PATH": f"{os.environ['PATH']}:/usr/sbin",
                "MIBS": "",
                "SNMPCONFPATH": str(self._directory / "persistent"),
                "SNMP_PERSISTENT_DIR": str(self._directory / "persistent"),
            },
            stdin=subprocess.DEVNULL,
        )
        until(f"{self.sys_name}: snmpd answers", self._answers, timeout_s=15, explain=self.log)

    def _answers(self) -> bool:
        get = ["snmpget", "-v2c", "-c", COMMUNITY, "-t", "0.5", "-r", "0", "-On"]
        done = subprocess.run(
            inside(self.namespace, *get, "127.0.0.1", "1.3.6.1.2.1.1.3.0"),
            capture_output=True,
            timeout=10,
            check=False,
        )
        return done.returncode == 0

    def stop(self) -> None:
        """End snmpd, also one that is frozen; it keeps its engine boots for the next start."""
        if self._process is None:
            return
        self._process.send_signal(signal.SIGCONT)
        self._process.terminate()
        try:
            self._process.wait(timeout=10)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait(timeout=10)
        self._process = None

    def restart(self) -> None:
        """What a power cut does to an agent: its clock begins anew."""
        self.stop()
        self.start()

    def replace(self) -> None:
        """Another device at the same address: a new SNMPv3 engine ID, and boots from one."""
        self.stop()
        (self._directory / "persistent" / "snmpd.conf").write_text("", encoding="utf-8")
        self.start()

    def freeze(self) -> None:
        """SIGSTOP: requests pile up in its socket, nothing is answered."""
        self._running().send_signal(signal.SIGSTOP)

    def thaw(self) -> None:
        """SIGCONT: it answers all that piled up, late."""
        self._running().send_signal(signal.SIGCONT)

    def _running(self) -> subprocess.Popen[bytes]:
        if self._process is None:
            raise RuntimeError(f"{self.sys_name}: snmpd is not running")
        return self._process

    def log(self) -> str:
        """The end of snmpd's own log."""
        text = self._log.read_text(encoding="utf-8", errors="replace") if self._log.exists() else ""
        return f"snmpd of {self.sys_name}:\n{text[-2000:]}"


def _if_index(namespace: str) -> int:
    script = f"cat /sys/class/net/{FIBRE}/ifindex"
    done = subprocess.run(
        inside(namespace, "sh", "-c", script), capture_output=True, check=True, timeout=10
    )
    return int(done.stdout)
