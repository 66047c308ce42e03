"""A station in network namespaces: a computer, the switch beside it, the one down the cable.

    desk ---copper--- near ===fibre1===[duct]===fibre1=== far
      \\____________________ oob _____________________/

`fibre1` is the watched link: the kernel keeps its state and counters. The cable between the two
ports lies in a namespace of its own, so that it can be cut: both ports lose their carrier, and
neither was switched off. The computer reaches the far switch through the link (FAR), or past it by
the out-of-band path (FAR_OUT_OF_BAND). Names hold the process id, so several runs do not meet; a
namespace takes its interfaces with it.
"""

from __future__ import annotations

import itertools
import json
import os
import re
import subprocess
import sys
from pathlib import Path
from types import TracebackType
from typing import Any, Final, Self

from real_agents.waiting import until

__all__ = [
    "FAR",
    "FAR_IPV6",
    "FAR_OUT_OF_BAND",
    "FIBRE",
    "NEAR",
    "NEAR_ON_FIBRE",
    "Station",
    "inside",
    "remove_leftovers",
]

NEAR: Final = "10.77.1.2"
NEAR_ON_FIBRE: Final = "10.77.2.1"
FAR: Final = "10.77.2.2"
FAR_OUT_OF_BAND: Final = "10.77.3.2"
FAR_IPV6: Final = "fd77:3::2"  # out of band
FIBRE: Final = "fibre1"

_NAME: Final = re.compile(r"strand(?P<run>\d+)n\d+-(desk|near|far|duct)(?=$| )")

_numbers = itertools.count(1)


def inside(namespace: str, *command: str) -> list[str]:
    """The command as it is run in a namespace; it dies with the test process, even if that is
    killed and can clean up nothing."""
    return [
        "ip",
        "netns",
        "exec",
        namespace,
        "setpriv",
        "--pdeathsig",
        "KILL",
        "--",
        *command,
    ]


def _ip(*arguments: str) -> str:
    done = subprocess.run(
        ["ip", *arguments], capture_output=True, text=True, timeout=20, check=False
    )
    if done.returncode:
        raise RuntimeError(f"ip {' '.join(arguments)}: {done.stderr.strip()}")
    return done.stdout


def _shown(namespace: str, name: str) -> dict[str, Any]:
    found: list[dict[str, Any]] = json.loads(
        _ip("-n", namespace, "-j", "link", "show", "dev", name)
    )
    return found[0]


def remove_leftovers() -> None:
    """Delete the namespaces of runs that were killed: their process is gone, nothing lives in
    them. Those of a run that goes on are left alone."""
    for line in _ip("netns", "list").splitlines():
        named = _NAME.match(line)
        if named is None or Path(f"/proc/{named['run']}").exists():
            continue
        try:
            if not _ip("netns", "pids", named[0]).strip():
                _ip("netns", "del", named[0])
        except RuntimeError:  # another run has tidied it up meanwhile
            continue


class Station:
    """The namespaces; a context manager that removes all it made, also after a failure."""

    def __init__(self) -> None:
        mark = f"strand{os.getpid()}n{next(_numbers)}"
        self.desk = f"{mark}-desk"
        self.near = f"{mark}-near"
        self.far = f"{mark}-far"
        self._duct = f"{mark}-duct"
        self.ipv6 = False
        self._made: list[str] = []

    def __enter__(self) -> Self:
        remove_leftovers()
        try:
            self._build()
            until("both ports are up", self._is_up, timeout_s=20)
        except BaseException:
            self.remove()
            raise
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.remove()

    def _build(self) -> None:
        for name in (self.desk, self.near, self.far, self._duct):
            _ip("netns", "add", name)
            self._made.append(name)
            _ip("-n", name, "link", "set", "lo", "up")
        self._join("copper", (self.desk, "10.77.1.1"), (self.near, NEAR))
        self._join("oob", (self.desk, "10.77.3.1"), (self.far, FAR_OUT_OF_BAND))
        self.ipv6 = self._give_ipv6()
        _ip("-n", self._duct, "link", "add", "cable", "type", "bridge")
        _ip("-n", self._duct, "link", "set", "cable", "up")
        forward = ["sh", "-c", "echo 1 > /proc/sys/net/ipv4/ip_forward"]
        subprocess.run(inside(self.near, *forward), check=True, timeout=20)
        self._lay_fibre()
        _ip("-n", self.desk, "route", "add", "10.77.2.0/24", "via", NEAR)

    def _is_up(self) -> bool:
        """Whether the kernel has told itself that there is a carrier; an agent then reads it."""
        return all(_shown(n, FIBRE)["operstate"] == "UP" for n in (self.near, self.far))

    def _lay_fibre(self) -> None:
        for namespace, address, end in (
            (self.near, NEAR_ON_FIBRE, "near"),
            (self.far, FAR, "far"),
        ):
            peer = ["peer", "name", end, "netns", self._duct]
            _ip("link", "add", FIBRE, "netns", namespace, "type", "veth", *peer)
            _ip("-n", self._duct, "link", "set", end, "master", "cable", "up")
            self._bring_up(namespace, FIBRE, address)
        self._route_back()

    def _route_back(self) -> None:
        _ip("-n", self.far, "route", "replace", "10.77.1.0/24", "via", NEAR_ON_FIBRE)

    @staticmethod
    def _join(name: str, one: tuple[str, str], other: tuple[str, str]) -> None:
        _ip("link", "add", name, "netns", one[0], "type", "veth", "peer", name, "netns", other[0])
        for namespace, address in (one, other):
            Station._bring_up(namespace, name, address)

    @staticmethod
    def _bring_up(namespace: str, name: str, address: str) -> None:
        _ip("-n", namespace, "addr", "add", f"{address}/24", "dev", name)
        _ip("-n", namespace, "link", "set", name, "up")

    def _give_ipv6(self) -> bool:
        """Addresses for the out-of-band path; False on a machine without IPv6."""
        try:
            for namespace, address in ((self.desk, "fd77:3::1"), (self.far, FAR_IPV6)):
                _ip("-n", namespace, "addr", "add", f"{address}/64", "dev", "oob", "nodad")
        except RuntimeError:
            return False
        return True

    def cut_fibre(self) -> None:
        """Cut the cable: both ports lose their carrier, both are still switched on."""
        for end in ("near", "far"):
            _ip("-n", self._duct, "link", "set", end, "down")

    def mend_fibre(self) -> None:
        """Splice the cable."""
        for end in ("near", "far"):
            _ip("-n", self._duct, "link", "set", end, "up")

    def switch_off_far_port(self) -> None:
        """What a person does: the far port is administratively down."""
        _ip("-n", self.far, "link", "set", FIBRE, "down")

    def switch_on_far_port(self) -> None:
        """The port is up again, with the route that went with it."""
        _ip("-n", self.far, "link", "set", FIBRE, "up")
        self._route_back()

    def relay_fibre(self) -> None:
        """Remove the ports and make them anew: the same names, other ifIndex values."""
        _ip("-n", self.near, "link", "del", FIBRE)
        _ip("-n", self.far, "link", "del", FIBRE)
        self._lay_fibre()

    def if_index(self, namespace: str, name: str = FIBRE) -> int:
        """The kernel's index of an interface, which is the agent's ifIndex."""
        return int(
            json.loads(_ip("-n", namespace, "-j", "link", "show", "dev", name))[0]["ifindex"]
        )

    def send(self, *, frames: int) -> None:
        """Send `frames` small UDP frames from the near switch to the far one over the fibre."""
        script = (
            "import socket, sys\n"
            "with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sender:\n"
            "    for _ in range(int(sys.argv[2])):\n"
            "        sender.sendto(bytes(400), (sys.argv[1], 9))\n"
        )
        python = [sys.executable, "-I", "-S", "-c", script, FAR, str(frames)]
        subprocess.run(inside(self.near, *python), check=True, timeout=60)

    def remove(self) -> None:
        """Delete every namespace made; the interfaces in them go along."""
        errors = []
        while self._made:
            try:
                _ip("netns", "del", self._made.pop())
            except (RuntimeError, subprocess.TimeoutExpired) as error:
                errors.append(str(error))
        if errors:
            raise RuntimeError("; ".join(errors))
