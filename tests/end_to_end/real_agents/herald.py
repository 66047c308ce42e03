"""A switch that says by itself when its port changes: Net-SNMP's snmptrap at the kernel's event.

    python herald.py INTERFACE TARGET BASE_CS

Runs in the switch's namespace. It reads the kernel's link events (rtnetlink, RTMGRP_LINK) and for
each change of the carrier sends one linkDown or linkUp. `BASE_CS` is what the agent's sysUpTime was
when this began, so that trap and agent tell one time. Prints `ready`, then one line a trap.
"""

from __future__ import annotations

import json
import socket
import subprocess
import sys
import time

RTMGRP_LINK = 1  # linux/rtnetlink.h
COMMUNITY = "look-only"
IF_INDEX = "1.3.6.1.2.1.2.2.1.1"  # IF-MIB
TRAPS = {False: "1.3.6.1.6.3.1.1.5.3", True: "1.3.6.1.6.3.1.1.5.4"}  # linkDown, linkUp


def carrier(interface: str) -> tuple[bool, int]:
    """Whether there is a carrier now, and the interface's index."""
    shown = subprocess.run(
        ["ip", "-j", "link", "show", "dev", interface], capture_output=True, text=True, check=True
    )
    found = json.loads(shown.stdout)[0]
    return "LOWER_UP" in found["flags"] and "UP" in found["flags"], int(found["ifindex"])


def main(interface: str, target: str, base_cs: int) -> None:
    began = time.monotonic()
    events = socket.socket(socket.AF_NETLINK, socket.SOCK_RAW, socket.NETLINK_ROUTE)
    events.bind((0, RTMGRP_LINK))
    up, index = carrier(interface)
    print("ready", flush=True)
    while True:
        events.recv(65536)
        now_up, index = carrier(interface)
        if now_up == up:
            continue
        up = now_up
        uptime_cs = base_cs + round((time.monotonic() - began) * 100)
        about = [f"{IF_INDEX}.{index}", "i", str(index)]
        send = ["snmptrap", "-v2c", "-c", COMMUNITY, target, str(uptime_cs), TRAPS[up], *about]
        subprocess.run(send, check=True, timeout=20)
        print("up" if up else "down", flush=True)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]))
