"""The SFF-8472 memory map as data: where each thing is, and what its codes mean.

SFF-8472 Rev 12.2 (21 Nov 2014) unless a line says otherwise; codes kept in SFF-8024 as quoted by a
transceiver maker's application note. 'memory': from memory, unconfirmed.
"""

from __future__ import annotations

from typing import Final

__all__ = [
    "COMPLIANCE",
    "CONNECTORS",
    "ENCODINGS",
    "EXTENDED_COMPLIANCE",
    "FLAGS",
    "IDENTIFIERS",
    "LENGTHS",
    "OPTIONS",
    "QUANTITIES",
    "REVISIONS",
]

# byte 0, Table 5-1
IDENTIFIERS: Final = {
    0x00: "unknown",
    0x01: "GBIC",
    0x02: "soldered to the board",
    0x03: "SFP or SFP+",
}

# byte 2, SFF-8024
CONNECTORS: Final = {
    0x00: "unknown",
    0x01: "SC",
    0x06: "FiberJack",
    0x07: "LC",
    0x08: "MT-RJ",
    0x09: "MU",
    0x0A: "SG",
    0x0B: "optical pigtail",
    0x0C: "MPO",
    0x20: "HSSDC II",
    0x21: "copper pigtail",
    0x22: "RJ45",
}

# byte 11, SFF-8024
ENCODINGS: Final = {
    0x00: "unspecified",
    0x01: "8B/10B",
    0x02: "4B/5B",
    0x03: "NRZ",
    0x04: "Manchester",
    0x05: "SONET scrambled",
    0x06: "64B/66B",
}

# (byte, bit): name; Table 5-3. Bytes 4, 5 and the cable lengths of Fibre Channel: memory.
COMPLIANCE: Final = {
    (3, 7): "10GBASE-ER",
    (3, 6): "10GBASE-LRM",
    (3, 5): "10GBASE-LR",
    (3, 4): "10GBASE-SR",
    (4, 2): "OC-48 long reach",  # memory
    (4, 1): "OC-48 intermediate reach",  # memory
    (4, 0): "OC-48 short reach",  # memory
    (5, 2): "OC-3 long reach",  # memory
    (5, 1): "OC-3 intermediate reach",  # memory
    (5, 0): "OC-3 short reach",  # memory
    (6, 7): "BASE-PX",
    (6, 6): "BASE-BX10",
    (6, 5): "100BASE-FX",
    (6, 4): "100BASE-LX/LX10",
    (6, 3): "1000BASE-T",
    (6, 2): "1000BASE-CX",
    (6, 1): "1000BASE-LX",
    (6, 0): "1000BASE-SX",
    (8, 3): "active cable",
    (8, 2): "passive cable",
    (9, 3): "Fibre Channel, multimode 62.5 µm",
    (9, 2): "Fibre Channel, multimode 50 µm",
    (9, 0): "Fibre Channel, single-mode",
}

# byte 36, SFF-8024: memory
EXTENDED_COMPLIANCE: Final = {
    0x02: "25GBASE-SR",
    0x03: "25GBASE-LR",
    0x04: "25GBASE-ER",
}

# byte, metres a count, fibre; sections 6.1 to 6.6. Byte 18 in metres for copper.
LENGTHS: Final = (
    (14, 1000, "single-mode"),
    (15, 100, "single-mode"),
    (16, 10, "OM2"),
    (17, 10, "OM1"),
    (18, 10, "OM4"),
    (19, 10, "OM3"),
)

# (byte, bit): words; Table 8-3
OPTIONS: Final = {
    (64, 5): "power level 3",  # memory for the level's number
    (64, 4): "paged memory",
    (64, 2): "cooled laser",
    (64, 1): "power level 2",  # memory for the level's number
    (65, 5): "rate select",
    (65, 4): "transmitter disable pin",
    (65, 3): "transmitter fault pin",
    (65, 2): "loss of signal pin, inverted",
    (65, 1): "loss of signal pin",
}

# byte 94, Table 8-8
REVISIONS: Final = {
    0x00: "none stated",
    0x01: "9.3",
    0x02: "9.5",
    0x03: "10.2",
    0x04: "10.4",
    0x05: "11.0",
    0x06: "11.3",
    0x07: "11.4",
    0x08: "12.0",
}

# In the order of Tables 9-5 and 9-11: name, unit, LSB, signed. Thresholds from byte 0 (high alarm,
# low alarm, high warning, low warning, two bytes each), readings from byte 96.
QUANTITIES: Final = (
    ("temperature", "°C", 1 / 256, True),
    ("supply", "V", 100e-6, False),
    ("bias", "mA", 2e-3, False),
    ("transmit power", "µW", 0.1, False),
    ("receive power", "µW", 0.1, False),
)

# (byte from 112 for alarms or 116 for warnings, bit): quantity, side; Table 9-12
FLAGS: Final = (
    (0, 7, "temperature", "high"),
    (0, 6, "temperature", "low"),
    (0, 5, "supply", "high"),
    (0, 4, "supply", "low"),
    (0, 3, "bias", "high"),
    (0, 2, "bias", "low"),
    (0, 1, "transmit power", "high"),
    (0, 0, "transmit power", "low"),
    (1, 7, "receive power", "high"),
    (1, 6, "receive power", "low"),
    (1, 5, "laser temperature", "high"),
    (1, 4, "laser temperature", "low"),
    (1, 3, "cooler current", "high"),
    (1, 2, "cooler current", "low"),
)
