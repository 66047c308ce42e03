"""Decode of both module pages and one loss-and-power budget, beside a plain struct.unpack.

    python tests/bench/optics_decode.py

Prints microseconds and the ratio to unpacking the same 512 bytes with struct, both measured in turn
in this one run. Wanted: a decode under 200 µs, a budget under 100 µs.
"""

from __future__ import annotations

import statistics
import struct
import time
from collections.abc import Callable

from strandkeeper.optics.budget import loss_budget
from strandkeeper.optics.pmd import by_name
from strandkeeper.optics.power_budget import power_budget, receiver_of, sender_of
from strandkeeper.optics.sff8472 import decode_module
from strandkeeper_demo.plant import Counts
from strandkeeper_demo.sff_pages import Calibration, encode_pages

ROUNDS, CALLS = 15, 2000

# every field that decode_module reads, as struct would: identity, thresholds, constants, readings
PLAIN_A0 = struct.Struct(">20B16sB3s16s4sHBB2sBB16s8s3BB160x")
PLAIN_A2 = struct.Struct(">4h16H8H5fHhHhHhHh3xBhHHHH2hBB2BBB2B2B8x128s")


def microseconds(call: Callable[[], object]) -> float:
    """One round: mean of CALLS calls."""
    start = time.perf_counter()
    for _ in range(CALLS):
        call()
    return (time.perf_counter() - start) / CALLS * 1e6


def main() -> None:
    """Measure in turn and print medians."""
    counts = Counts(temp=41 * 256, vcc=33000, bias=6700, tx=3020, rx=410)
    a0, a2 = encode_pages(counts)
    x0, x2 = encode_pages(counts, external=Calibration(rx=(0, 0, 1e-6, 1.1, 2.0)))
    assert PLAIN_A0.size == PLAIN_A2.size == 256, (PLAIN_A0.size, PLAIN_A2.size)
    lx10 = by_name("1000BASE-LX10")
    sender, receiver = sender_of(lx10), receiver_of(lx10)

    def plain() -> object:
        return PLAIN_A0.unpack(a0), PLAIN_A2.unpack(a2)

    def budget() -> object:
        return power_budget(sender, receiver, loss_budget(length_m=900, wavelength_nm=1310))

    calls: dict[str, Callable[[], object]] = {
        "struct.unpack of both pages": plain,
        "decode, internal calibration": lambda: decode_module(a0, a2),
        "decode, external calibration": lambda: decode_module(x0, x2),
        "loss and power budget": budget,
    }
    taken: dict[str, list[float]] = {name: [] for name in calls}
    for _ in range(ROUNDS):
        for name, call in calls.items():
            taken[name].append(microseconds(call))
    base = statistics.median(taken["struct.unpack of both pages"])
    for name, times in taken.items():
        middle = statistics.median(times)
        print(f"{name:<32}{middle:8.2f} µs   {middle / base:7.1f} x struct.unpack")


if __name__ == "__main__":
    main()
