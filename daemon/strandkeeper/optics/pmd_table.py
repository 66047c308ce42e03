"""Optical Ethernet interfaces, one a line, in dBm, dB, nm, MBd and m as IEEE 802.3 prints them.

Clauses are of IEEE 802.3. Figures are per class, worst case, end of life. The last column of
POWERS names the figures that are from memory and unconfirmed, by these letters:

    w wavelength window   r reach            e BER objective     n launch min    x launch max
    s sensitivity         a sensitivity OMA  t stressed          o overload      d damage
    b power budget        i insertion loss   m minimum path loss g extinction ratio

A row without a clause is no standard: common practice, no source.
"""

from __future__ import annotations

from typing import Final, NamedTuple

__all__ = ["IDENTITIES", "MULTIMODE_REACH", "POWERS", "Identity", "MultimodeReach", "Powers"]


class Identity(NamedTuple):
    """What it is: medium SM, MM; wavelengths in nm; rate in MBd (line rate); reach in m."""

    name: str
    clause: str
    medium: str
    rate_mbd: float
    low_nm: int | None
    high_nm: int | None
    nominal_nm: int | None
    reach_m: int
    ber: float
    aliases: str


class Powers(NamedTuple):
    """How strong: dBm average, but `oma` dBm OMA and `stressed` as the class states it."""

    name: str
    tx_min: float | None
    tx_max: float | None
    sens: float | None
    oma: float | None
    stressed: float | None
    over: float | None
    damage: float | None
    budget: float | None
    il: float | None
    min_loss: float
    er: float | None
    memory: str


class MultimodeReach(NamedTuple):
    """How far on which multimode fibre; modal bandwidth in MHz·km, reach in m, losses in dB."""

    name: str
    core_um: float
    bandwidth: int
    reach_m: int
    il: float | None
    penalties: float | None
    memory: bool


_I = Identity
_P = Powers
_R = MultimodeReach
NA: Final = None

# fmt: off
IDENTITIES: Final = (
    # name, clause, medium, MBd, low, high, nominal nm, reach m, BER objective, aliases
    _I("100BASE-FX", "26, ISO/IEC 9314-3", "MM", 125, 1270, 1380, 1300, 2000, 2.5e-10, ""),
    _I("100BASE-LX10", "58.3", "SM", 125, 1260, 1360, 1310, 10000, 1e-12, "100BASE-LX"),
    _I("100BASE-BX10-D", "58.4", "SM1", 125, 1480, 1580, 1550, 10000, 1e-12, ""),
    _I("100BASE-BX10-U", "58.4", "SM1", 125, 1260, 1360, 1310, 10000, 1e-12, ""),
    _I("1000BASE-SX", "38, tables 38-2 to 38-5", "MM", 1250, 770, 860, 850, 550, 1e-12, ""),
    _I("1000BASE-LX", "38, tables 38-6 to 38-9", "SM", 1250, 1270, 1355, 1310, 5000, 1e-12, ""),
    _I("1000BASE-LX-MMF", "38, tables 38-6 to 38-9", "MM", 1250, 1270, 1355, 1310, 550, 1e-12, ""),
    _I("1000BASE-LX10", "59.3", "SM", 1250, 1260, 1360, 1310, 10000, 1e-12, ""),
    _I("1000BASE-BX10-D", "59.4", "SM1", 1250, 1480, 1500, 1490, 10000, 1e-12, "1000BASE-BX-D"),
    _I("1000BASE-BX10-U", "59.4", "SM1", 1250, 1260, 1360, 1310, 10000, 1e-12, "1000BASE-BX-U"),
    _I("1000BASE-PX10-D", "60", "SM1", 1250, 1480, 1500, 1490, 10000, 1e-12, ""),
    _I("1000BASE-PX10-U", "60", "SM1", 1250, 1260, 1360, 1310, 10000, 1e-12, ""),
    _I("1000BASE-PX20-D", "60", "SM1", 1250, 1480, 1500, 1490, 20000, 1e-12, ""),
    _I("1000BASE-PX20-U", "60", "SM1", 1250, 1260, 1360, 1310, 20000, 1e-12, ""),
    _I("10GBASE-SR", "52, tables 52-6 to 52-10", "MM", 10312.5, 840, 860, 850, 300, 1e-12,
       "10GBASE-SW"),
    _I("10GBASE-LR", "52, tables 52-11 to 52-14", "SM", 10312.5, 1260, 1355, 1310, 10000, 1e-12,
       "10GBASE-LW"),
    # 40 km only on engineered links, whose loss is kept below that of the class's fibre
    _I("10GBASE-ER", "52, tables 52-15 to 52-18", "SM", 10312.5, 1530, 1565, 1550, 30000, 1e-12,
       "10GBASE-EW"),
    _I("10GBASE-LRM", "68, tables 68-3, 68-5", "MM", 10312.5, 1260, 1355, 1310, 220, 1e-12, ""),
    _I("10GBASE-BR10-D", "158", "SM1", 10312.5, 1320, 1340, 1330, 10000, 1e-12, "10GBASE-BX10-D"),
    _I("10GBASE-BR10-U", "158", "SM1", 10312.5, 1260, 1280, 1270, 10000, 1e-12, "10GBASE-BX10-U"),
    _I("10GBASE-BR20-D", "158", "SM1", 10312.5, 1320, 1340, 1330, 20000, 1e-12, "10GBASE-BX20-D"),
    _I("10GBASE-BR20-U", "158", "SM1", 10312.5, 1260, 1280, 1270, 20000, 1e-12, "10GBASE-BX20-U"),
    _I("10GBASE-BR40-D", "158", "SM1", 10312.5, 1320, 1340, 1330, 40000, 1e-12, "10GBASE-BX40-D"),
    _I("10GBASE-BR40-U", "158", "SM1", 10312.5, 1260, 1280, 1270, 40000, 1e-12, "10GBASE-BX40-U"),
    _I("25GBASE-SR", "112", "MM", 25781.25, NA, NA, 850, 100, 5e-5, ""),
    _I("25GBASE-LR", "114", "SM", 25781.25, 1295, 1325, 1310, 10000, 5e-5, ""),
    _I("25GBASE-ER", "114", "SM", 25781.25, 1295, 1310, 1300, 40000, 5e-5, ""),
    # no standard: common practice, no source; powers differ from maker to maker
    _I("1000BASE-EX", "", "SM", 1250, NA, NA, 1310, 40000, 1e-12, ""),
    _I("1000BASE-ZX", "", "SM", 1250, NA, NA, 1550, 70000, 1e-12, ""),
    _I("1000BASE-LX70", "", "SM", 1250, 1540, 1560, 1550, 70000, 1e-12, ""),
    _I("10GBASE-ZR", "", "SM", 10312.5, NA, NA, 1550, 80000, 1e-12, ""),
    _I("1000BASE-BX20-D", "", "SM1", 1250, NA, NA, 1490, 20000, 1e-12, ""),
    _I("1000BASE-BX20-U", "", "SM1", 1250, NA, NA, 1310, 20000, 1e-12, ""),
    _I("1000BASE-BX40-D", "", "SM1", 1250, NA, NA, 1550, 40000, 1e-12, ""),
    _I("1000BASE-BX40-U", "", "SM1", 1250, NA, NA, 1310, 40000, 1e-12, ""),
    _I("1000BASE-BX60-D", "", "SM1", 1250, NA, NA, 1550, 60000, 1e-12, ""),
    _I("1000BASE-BX60-U", "", "SM1", 1250, NA, NA, 1310, 60000, 1e-12, ""),
    _I("1000BASE-BX80-D", "", "SM1", 1250, NA, NA, 1550, 80000, 1e-12, ""),
    _I("1000BASE-BX80-U", "", "SM1", 1250, NA, NA, 1490, 80000, 1e-12, ""),
)

POWERS: Final = (
    # name, launch min, max, sens avg, sens OMA, stressed, overload, damage, budget, IL,
    #   minimum path loss, extinction ratio min, from memory
    _P("100BASE-FX", -20, -14, -31, NA, NA, -14, NA, 11, NA, 0, NA, "wrnxso"),
    _P("100BASE-LX10", -15, -8, -25, NA, -20.1, -8, NA, 10, 6.0, 0, NA, "it"),
    _P("100BASE-BX10-D", -14, -8, -28.2, NA, -23.3, -8, NA, 14.2, 5.5, 0, NA, "wrnxsotbi"),
    _P("100BASE-BX10-U", -14, -8, -28.2, NA, -23.3, -8, NA, 14.2, 6.0, 0, NA, "wrnxsotbi"),
    # launch max is 'the lesser of the class 1 limit and the receiver's maximum': at most 0 dBm
    _P("1000BASE-SX", -9.5, 0, -17, NA, -12.5, 0, NA, 7.5, 3.56, 0, 9, ""),
    _P("1000BASE-LX", -11, -3, -19, NA, -14.4, -3, NA, 8.0, 4.57, 0, 9, "itg"),
    _P("1000BASE-LX-MMF", -11.5, -3, -19, NA, -14.4, -3, NA, 7.5, 2.35, 0, 9, "wnxsotbig"),
    _P("1000BASE-LX10", -9, -3, -19.5, NA, -15.4, -3, NA, 10.5, 6.0, 0, 6, "wrnxsotbig"),
    _P("1000BASE-BX10-D", -9, -3, -20, NA, NA, -3, NA, 11.0, 5.5, 0, 6, "wsoig"),
    _P("1000BASE-BX10-U", -9, -3, -20, NA, NA, -3, NA, 11.0, 6.0, 0, 6, "wsoig"),
    _P("1000BASE-PX10-D", -3, 2, -24, NA, NA, -1, NA, NA, 19.5, 5, NA, "wnxsoim"),
    _P("1000BASE-PX10-U", -1, 4, -24, NA, NA, -3, NA, NA, 20, 5, NA, "wnxsom"),
    _P("1000BASE-PX20-D", 2, 7, -27, NA, NA, -6, NA, NA, 23.5, 10, NA, "wnxsoim"),
    _P("1000BASE-PX20-U", -1, 4, -24, NA, NA, -3, NA, NA, 24, 10, NA, "wnxsom"),
    _P("10GBASE-SR", -7.3, -1.0, NA, -11.1, -7.5, -1.0, 0.0, 7.3, 2.6, 0, 3, "abidg"),
    _P("10GBASE-LR", -8.2, 0.5, NA, -12.6, -10.3, 0.5, 1.5, 9.4, 6.2, 0, 3.5, "btidg"),
    _P("10GBASE-ER", -4.7, 4.0, NA, -14.1, -11.3, -1.0, 4.0, 15, 10.9, 5, 3, "ig"),
    # its receiver is specified in OMA and stressed only: no average limit can be derived
    _P("10GBASE-LRM", -6.5, 0.5, NA, NA, -6.5, NA, 1.5, NA, 1.9, 0, 3.5, "nxt"),
    _P("10GBASE-BR10-D", NA, NA, NA, NA, NA, NA, NA, NA, NA, 0, NA, "wre"),
    _P("10GBASE-BR10-U", NA, NA, NA, NA, NA, NA, NA, NA, NA, 0, NA, "wre"),
    _P("10GBASE-BR20-D", NA, NA, NA, NA, NA, NA, NA, NA, NA, 0, NA, "wre"),
    _P("10GBASE-BR20-U", NA, NA, NA, NA, NA, NA, NA, NA, NA, 0, NA, "wre"),
    _P("10GBASE-BR40-D", NA, NA, NA, NA, NA, NA, NA, NA, NA, 0, NA, "wre"),
    _P("10GBASE-BR40-U", NA, NA, NA, NA, NA, NA, NA, NA, NA, 0, NA, "wre"),
    _P("25GBASE-SR", -8.4, 2.4, NA, NA, -5.2, 2.4, NA, NA, 1.9, 0, NA, "nxtoe"),
    _P("25GBASE-LR", NA, NA, NA, NA, NA, NA, NA, NA, 6.3, 0, NA, "wrei"),
    _P("25GBASE-ER", NA, NA, NA, NA, NA, NA, NA, NA, NA, 0, NA, "wre"),
    _P("1000BASE-EX", -5, 3, -22, NA, NA, -3, NA, NA, NA, 6, NA, ""),
    _P("1000BASE-ZX", 0, 5, -23, NA, NA, -3, NA, NA, NA, 8, NA, ""),
    _P("1000BASE-LX70", 0, 4, -24, NA, NA, -3, NA, NA, NA, 7, NA, ""),
    _P("10GBASE-ZR", 0, 4, -24, NA, NA, -7, NA, NA, NA, 11, NA, ""),
    _P("1000BASE-BX20-D", NA, NA, NA, NA, NA, NA, NA, NA, NA, 0, NA, ""),
    _P("1000BASE-BX20-U", NA, NA, NA, NA, NA, NA, NA, NA, NA, 0, NA, ""),
    _P("1000BASE-BX40-D", NA, NA, NA, NA, NA, NA, NA, NA, NA, 0, NA, ""),
    _P("1000BASE-BX40-U", NA, NA, NA, NA, NA, NA, NA, NA, NA, 0, NA, ""),
    _P("1000BASE-BX60-D", NA, NA, NA, NA, NA, NA, NA, NA, NA, 0, NA, ""),
    _P("1000BASE-BX60-U", NA, NA, NA, NA, NA, NA, NA, NA, NA, 0, NA, ""),
    _P("1000BASE-BX80-D", NA, NA, NA, NA, NA, NA, NA, NA, NA, 0, NA, ""),
    _P("1000BASE-BX80-U", NA, NA, NA, NA, NA, NA, NA, NA, NA, 0, NA, ""),
)

MULTIMODE_REACH: Final = (
    # name, core µm, modal bandwidth MHz·km at the class's wavelength, reach m, IL, penalties
    _R("1000BASE-SX", 62.5, 160, 220, 2.38, 4.27, False),
    _R("1000BASE-SX", 62.5, 200, 275, 2.60, 4.29, False),
    _R("1000BASE-SX", 50, 400, 500, 3.37, 4.07, False),
    _R("1000BASE-SX", 50, 500, 550, 3.56, 3.57, False),
    _R("1000BASE-LX-MMF", 62.5, 500, 550, 2.35, 3.48, True),
    _R("1000BASE-LX-MMF", 50, 400, 550, 2.35, 5.08, True),
    _R("1000BASE-LX-MMF", 50, 500, 550, 2.35, 3.96, True),
    _R("10GBASE-SR", 62.5, 160, 26, NA, NA, False),
    _R("10GBASE-SR", 62.5, 200, 33, NA, NA, False),
    _R("10GBASE-SR", 50, 400, 66, NA, NA, False),
    _R("10GBASE-SR", 50, 500, 82, NA, NA, False),
    _R("10GBASE-SR", 50, 2000, 300, 2.6, 4.7, True),
    _R("10GBASE-SR", 50, 4700, 400, NA, NA, False),
    _R("10GBASE-LRM", 50, 400, 100, 1.7, NA, False),
    _R("10GBASE-LRM", 50, 500, 220, 1.9, NA, False),
    _R("10GBASE-LRM", 62.5, 500, 220, 1.9, NA, False),
    _R("25GBASE-SR", 50, 2000, 70, 1.8, NA, False),
    _R("25GBASE-SR", 50, 4700, 100, 1.9, NA, False),
)
# fmt: on
