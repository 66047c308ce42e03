"""Cable, connectors and splices in dB/km and dB, one a line, each with its source.

`expected` is what good new work shows, `limit` what acceptance allows. Wavelengths in nm.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from strandkeeper.optics.source import Tag

__all__ = ["ALIASES", "ATTENUATION", "ITEMS", "MODAL", "Attenuation", "Item", "Modal"]


class Attenuation(NamedTuple):
    """Loss of a kind of fibre between two wavelengths."""

    fibre: str
    low_nm: int
    high_nm: int
    expected_db_km: float
    expected_tag: Tag
    limit_db_km: float
    limit_tag: Tag
    source: str


class Item(NamedTuple):
    """Loss of one mated pair or splice on one kind of fibre (SM, MM)."""

    kind: str
    medium: str
    expected_db: float
    expected_tag: Tag
    limit_db: float
    limit_tag: Tag
    source: str


class Modal(NamedTuple):
    """Modal bandwidth in MHz·km: overfilled at 850 and 1300 nm, effective for lasers at 850 nm."""

    fibre: str
    core_um: float
    ofl_850: int
    ofl_1300: int
    emb_850: int | None
    source: str


_A = Attenuation
_S, _P, _C, _M = Tag.STANDARD, Tag.PUBLISHED, Tag.PRACTICE, Tag.MEMORY
_G652 = "ITU-T G.652 table 2 (D)"
_G657 = "ITU-T G.657 table 1 (A)"
_TIA = "ANSI/TIA-568.3-D"
_ISO = "ISO/IEC 11801"

# fmt: off
ATTENUATION: Final = (
    # the limits of G.652.D are the same as G.657.A's, whose table was seen
    _A("G.652.D", 1260, 1360, 0.36, _P, 0.40, _M, _G652),
    _A("G.652.D", 1361, 1529, 0.30, _C, 0.40, _M, _G652),
    _A("G.652.D", 1530, 1565, 0.24, _P, 0.30, _M, _G652),
    _A("G.652.D", 1566, 1625, 0.26, _C, 0.40, _M, _G652),
    _A("G.657.A1", 1260, 1360, 0.36, _P, 0.40, _S, _G657),
    _A("G.657.A1", 1361, 1529, 0.30, _C, 0.40, _S, _G657),
    _A("G.657.A1", 1530, 1565, 0.24, _P, 0.30, _S, _G657),
    _A("G.657.A1", 1566, 1625, 0.26, _C, 0.40, _S, _G657),
    _A("G.657.A2", 1260, 1360, 0.36, _P, 0.40, _S, _G657),
    _A("G.657.A2", 1361, 1529, 0.30, _C, 0.40, _S, _G657),
    _A("G.657.A2", 1530, 1565, 0.24, _P, 0.30, _S, _G657),
    _A("G.657.A2", 1566, 1625, 0.26, _C, 0.40, _S, _G657),
    _A("SM-OUTDOOR", 1260, 1625, 0.40, _P, 0.50, _P, _TIA + ", outside plant"),
    _A("SM-INDOOR", 1260, 1625, 0.40, _P, 1.00, _M, _TIA + ", inside plant"),
    _A("OS2", 1260, 1625, 0.40, _P, 0.40, _M, _ISO),
    _A("OS1A", 1260, 1625, 0.40, _P, 1.00, _M, _ISO),
    _A("OS1", 1260, 1625, 0.40, _P, 1.00, _M, _ISO),
    _A("OM1", 770, 910, 3.0, _P, 3.5, _M, _TIA),
    _A("OM1", 1260, 1380, 0.8, _P, 1.5, _M, _TIA),
    _A("OM2", 770, 910, 3.0, _P, 3.5, _M, _TIA),
    _A("OM2", 1260, 1380, 0.8, _P, 1.5, _M, _TIA),
    _A("OM3", 770, 910, 3.0, _P, 3.0, _M, _TIA),
    _A("OM3", 1260, 1380, 0.8, _P, 1.5, _M, _TIA),
    _A("OM4", 770, 910, 3.0, _P, 3.0, _M, _TIA),
    _A("OM4", 1260, 1380, 0.8, _P, 1.5, _M, _TIA),
    _A("OM5", 770, 910, 3.0, _P, 3.0, _M, _TIA),
    _A("OM5", 911, 970, 2.3, _C, 2.3, _M, _TIA),
    _A("OM5", 1260, 1380, 0.8, _P, 1.5, _M, _TIA),
)

ITEMS: Final = (
    Item("mated pair", "SM", 0.5, _P, 0.75, _S, _TIA),
    Item("mated pair", "MM", 0.5, _P, 0.75, _S, _TIA),
    Item("splice", "SM", 0.15, _P, 0.30, _S, _TIA),
    Item("splice", "MM", 0.30, _P, 0.30, _S, _TIA),
)

# TIA-568.3-D, as a test-equipment maker quotes it
MODAL: Final = (
    Modal("OM1", 62.5, 200, 500, None, _TIA),
    Modal("OM2", 50, 500, 500, None, _TIA),
    Modal("OM3", 50, 1500, 500, 2000, _TIA),
    Modal("OM4", 50, 3500, 500, 4700, _TIA),
    Modal("OM5", 50, 3500, 500, 4700, _TIA),
)
# fmt: on

# what people write: the fibre it stands for
ALIASES: Final = {
    "G652": "G.652.D",
    "G657": "G.657.A1",
    "G657A": "G.657.A1",
    "SM": "G.652.D",
    "SMF": "G.652.D",
    "SINGLEMODE": "G.652.D",
    "9125": "G.652.D",
    "SMOSP": "SM-OUTDOOR",
    "SMISP": "SM-INDOOR",
}
