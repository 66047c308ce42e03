"""dot3MauType arcs of optical Ethernet, one a line: 1.3.6.1.2.1.26.4.N to the name of the class.

IANA-MAU-MIB, revision 2011-08-12, which stops at 78; above that from memory, unconfirmed.
"""

from __future__ import annotations

from typing import Final

__all__ = ["MAU_TYPES", "MAU_VERIFIED_TO"]

MAU_VERIFIED_TO: Final = 78

MAU_TYPES: Final[dict[int, str]] = {
    17: "100BASE-FX",  # half duplex
    18: "100BASE-FX",  # full duplex
    44: "100BASE-BX10-D",
    45: "100BASE-BX10-U",
    46: "100BASE-LX10",
    23: "1000BASE-LX",  # half duplex
    24: "1000BASE-LX",  # full duplex
    25: "1000BASE-SX",  # half duplex
    26: "1000BASE-SX",  # full duplex
    47: "1000BASE-BX10-D",
    48: "1000BASE-BX10-U",
    49: "1000BASE-LX10",
    50: "1000BASE-PX10-D",
    51: "1000BASE-PX10-U",
    52: "1000BASE-PX20-D",
    53: "1000BASE-PX20-U",
    34: "10GBASE-ER",
    35: "10GBASE-LR",
    36: "10GBASE-SR",
    38: "10GBASE-ER",  # 10GBASE-EW: the same optic
    39: "10GBASE-LR",  # 10GBASE-LW
    40: "10GBASE-SR",  # 10GBASE-SW
    55: "10GBASE-LRM",
    93: "25GBASE-SR",
}
