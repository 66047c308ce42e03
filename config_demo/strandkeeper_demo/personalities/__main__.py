"""Serve two invented switches that are joined by fibre, to try surveys and readers on by hand.

python -m strandkeeper_demo.personalities             the list
python -m strandkeeper_demo.personalities ridge fjord  both, until interrupted
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import sys

from strandkeeper_demo.personalities.personality import Personality
from strandkeeper_demo.personalities.responder import boxes_of, serve
from strandkeeper_demo.personalities.tuning import TUNING


def _listing() -> str:
    return "\n".join(f"{switch.name:8} {switch.about}" for switch in TUNING)


async def _serve(a: Personality, b: Personality, port: int, seed: int) -> None:
    addresses = [("127.0.41.1", port), ("127.0.41.2", port)]
    wires = await serve(zip(boxes_of(a, b, seed=seed), addresses, strict=True))
    for switch, (host, number) in zip((a, b), addresses, strict=True):
        version = "1" if switch.manners.versions == (0,) else "2c"
        print(f"{switch.name}: {host} UDP port {number}, v{version}, community {switch.community}")
    print("interrupt to end", flush=True)
    try:
        await asyncio.Event().wait()
    finally:
        for wire in wires:
            wire.close()


def main() -> int:
    """Run it."""
    parser = argparse.ArgumentParser(description="serve two invented switches, joined by fibre")
    parser.add_argument("near", nargs="?", help="name of a switch; without one, list them")
    parser.add_argument("far", nargs="?", help="name of its neighbour (default: ridge)")
    parser.add_argument("--snmp-port", type=int, default=16161, help="UDP port (default 16161)")
    parser.add_argument("--seed", type=int, default=1, help="which set of modules (default 1)")
    options = parser.parse_args()
    known = {switch.name: switch for switch in TUNING}
    if options.near is None:
        print(_listing())
        return 0
    unknown = [n for n in (options.near, options.far) if n is not None and n not in known]
    if unknown:
        parser.error(f"no switch is called {unknown[0]}; there are: {', '.join(known)}")
    near, far = known[options.near], known[options.far or "ridge"]
    with contextlib.suppress(KeyboardInterrupt):
        try:
            asyncio.run(_serve(near, far, options.snmp_port, options.seed))
        except OSError as error:
            print(
                f"127.0.41.1 or .2, UDP port {options.snmp_port}: {error.strerror}; "
                "choose another: --snmp-port NUMBER",
                file=sys.stderr,
            )
            return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
