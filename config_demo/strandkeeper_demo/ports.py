"""Which ports of this computer the demo may use."""

from __future__ import annotations

import socket

from strandkeeper.errors import OperatorError
from strandkeeper_demo.agent import free_udp_port
from strandkeeper_demo.config_text import Ports
from strandkeeper_demo.scenario import Scenario

__all__ = ["HOST", "choose_ports", "is_free"]

HOST = "127.0.0.1"


def is_free(port: int) -> bool:
    """Whether a server could listen on that TCP port of this computer."""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HOST, port))
            probe.listen()
        except OSError:
            return False
    return True


def choose_ports(scenario: Scenario, *, dashboard: int, snmp: int) -> Ports:
    """The ports for one start. Raises OperatorError when the dashboard's is taken."""
    if not is_free(dashboard):
        other = next((p for p in range(dashboard + 1, dashboard + 50) if is_free(p)), None)
        raise OperatorError(
            f"port {dashboard} on {HOST} is taken by another program",
            hint=f"choose another port for the dashboard: --port {other or 'NUMBER'}",
        )
    beside = dashboard + 1
    return Ports(
        dashboard=dashboard,
        metrics=beside if beside < 65536 and is_free(beside) else 0,
        snmp=free_udp_port([switch.address for switch in scenario.switches], snmp),
    )
