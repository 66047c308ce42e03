"""A made history as the analysis takes it: blocks of rows, both ends in turn."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
from tests.bench.proving_plant import START_S, History

from strandkeeper.analysis import engine
from strandkeeper.model.block import MISSING, Block, Col, PowerCode
from strandkeeper.model.link import DirectionFacts, LinkFacts, ReceiverLimits
from strandkeeper.model.names import End, LinkName
from strandkeeper.model.stats import PeriodStat
from strandkeeper.model.verdict import Event, LinkVerdict
from strandkeeper.optics.units import Dbm

SENSITIVITY = -19.0


def facts_for(
    *,
    strands: int = 2,
    sensitivity: float = SENSITIVITY,
    wavelengths: tuple[int, int] | None = None,
) -> LinkFacts:
    """A gigabit link whose limits are known, watched from end A."""
    limits = ReceiverLimits(sensitivity=Dbm(sensitivity), overload=Dbm(-3.0))
    ab, ba = wavelengths or (None, None)
    return LinkFacts(
        name=LinkName("bench"),
        ab=DirectionFacts(limits=limits, wavelength_nm=ab, line_rate_bd=1.25e9),
        ba=DirectionFacts(limits=limits, wavelength_nm=ba, line_rate_bd=1.25e9),
        strands=strands,
        near=End.A,
    )


def _milli(values: np.ndarray, factor: int) -> np.ndarray:
    return np.rint(np.nan_to_num(values) * factor).astype(np.int64)


def _fill(data: np.ndarray, h: History, end: int, cut: slice) -> None:
    time = h.time[cut]
    answered = h.answered[end, cut]
    dark = np.isnan(h.rx[end, cut])
    data[Col.TIME] = _milli(time + START_S, 1000)
    data[Col.END] = end
    data[Col.ANSWERED] = answered
    data[Col.RX_CODE] = np.where(dark, PowerCode.NO_LIGHT, PowerCode.MEASURED)
    data[Col.RX] = np.where(dark, MISSING, _milli(h.rx[end, cut], 1000))
    data[Col.TX_CODE] = PowerCode.MEASURED
    data[Col.TX] = _milli(h.tx[end, cut], 1000)
    data[Col.BIAS] = _milli(h.bias[end, cut], 1000)
    data[Col.TEMP] = _milli(h.temp[end, cut], 100)
    data[Col.VCC] = 33_000
    data[Col.OPER] = np.where(h.up[end, cut], 1, 2)
    data[Col.ADMIN] = 1
    if h.admin is not None:
        data[Col.ADMIN] = np.where(h.admin[end, cut], 1, 2)
    data[Col.UPTIME] = _milli(time - h.boot[end, cut], 100)
    data[Col.IN_FRAMES] = h.frames[end, cut]
    data[Col.FCS_ERRORS] = h.errors[end, cut]
    if h.module is not None:
        data[Col.MODULE] = h.module[end, cut]
    blank = slice(Col.RX_CODE, Col.SYMBOL_ERRORS + 1)
    data[blank, ~answered] = MISSING
    data[Col.RX_CODE, ~answered] = PowerCode.NOT_ASKED
    data[Col.TX_CODE, ~answered] = PowerCode.NOT_ASKED
    if h.reports_optics is not None:
        mute = answered & ~h.reports_optics[end, cut]
        data[Col.RX : Col.VCC + 1, mute] = MISSING
        data[Col.RX_CODE, mute] = PowerCode.NOT_REPORTED
        data[Col.TX_CODE, mute] = PowerCode.NOT_REPORTED


def blocks(h: History, rows: int = 200_000) -> Iterator[Block]:
    """The history in pieces of about that many rows."""
    size = rows // 2
    for start in range(0, len(h.time), size):
        cut = slice(start, min(start + size, len(h.time)))
        block = Block.empty(2 * (cut.stop - cut.start))
        for end in (0, 1):
            _fill(block.data[:, end::2], h, end, cut)
        yield Block(data=block.data, modules=("first", "second", "third"))


def judge(
    h: History,
    facts: LinkFacts | None = None,
    rows: int = 200_000,
    look: Callable[[LinkVerdict], None] = lambda verdict: None,
) -> tuple[list[Event], list[PeriodStat], LinkVerdict]:
    """The whole analysis of one history; `look` sees the verdict after every piece."""
    facts = facts or facts_for()
    state = engine.initial(facts)
    events: list[Event] = []
    stats: list[PeriodStat] = []
    verdict = None
    for block in blocks(h, rows):
        state, evaluation = engine.advance(facts, state, block)
        events += evaluation.events
        stats += evaluation.stats
        verdict = evaluation.verdict
        look(verdict)
    assert verdict is not None
    return events, stats, verdict
