"""Ends that report nothing, figures that stand still, and blocks as they are built."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from strandkeeper.analysis import engine
from strandkeeper.model.block import MISSING, Block, Col, PowerCode
from strandkeeper.model.finding import FindingKind, Severity
from strandkeeper.model.link import LinkFacts
from strandkeeper.model.names import End, LinkName
from strandkeeper.model.power import NO_LIGHT, Measured
from strandkeeper.model.reading import Deltas, EndRow, OperStatus, OpticalReading
from strandkeeper.optics.units import Dbm

Build = Callable[..., Any]


def test_a_block_holds_scaled_integers_and_says_what_is_missing() -> None:
    optics = OpticalReading(rx=Measured(Dbm(-12.3456)), tx=NO_LIGHT, bias_ma=12.5, temp_c=31.27)
    full = EndRow(
        time_ms=7,
        end=End.B,
        optics=optics,
        oper=OperStatus.UP,
        module_id="x",
        deltas=Deltas(in_frames=3),
    )
    block = Block.from_rows([full, EndRow(time_ms=8, end=End.A, answered=False)])
    first, second = block.data.T
    assert (first[Col.RX], first[Col.TX], first[Col.TX_CODE]) == (
        -12346,
        MISSING,
        PowerCode.NO_LIGHT,
    )
    assert (first[Col.BIAS], first[Col.TEMP], first[Col.VCC]) == (12_500, 3127, MISSING)
    assert block.modules[first[Col.MODULE]] == "x"
    assert (first[Col.IN_FRAMES], first[Col.FCS_ERRORS]) == (3, MISSING)
    assert (second[Col.ANSWERED], second[Col.RX_CODE]) == (0, PowerCode.NOT_ASKED)


def test_an_end_that_never_reports_readings_is_noted_and_judged_no_further() -> None:
    facts = LinkFacts(name=LinkName("dumb"))
    rows = [
        EndRow(time_ms=30_000 * n, end=end, optics=OpticalReading(), oper=OperStatus.UP)
        for n in range(60)
        for end in End
    ]
    _, evaluation = engine.advance(facts, engine.initial(facts), Block.from_rows(rows))
    kinds = {(f.kind, f.severity) for f in evaluation.verdict.findings}
    assert kinds == {(FindingKind.NO_READINGS, Severity.NOTE)}
    assert evaluation.verdict.ab.margin is None


def test_a_figure_that_stands_still_while_the_temperature_moves_is_noted(watch: Build) -> None:
    link = watch(noise=0.03).run(120)
    link.noise = 0.0
    for hour in range(26):
        link.temp = [30.0 + hour / 4, 30.0 + hour / 4]
        link.run(60)
    assert link.finding(FindingKind.FROZEN_FIGURE).severity is Severity.NOTE


def test_receive_power_alone_is_judged_where_the_sender_says_nothing() -> None:
    facts = LinkFacts(name=LinkName("converter"), managed=(True, False))
    rows = [
        EndRow(
            time_ms=30_000 * n,
            end=End.A,
            oper=OperStatus.UP,
            optics=OpticalReading(rx=Measured(Dbm(-9.0 - (1.5 if n > 360 else 0.0)))),
        )
        for n in range(480)
    ]
    _, evaluation = engine.advance(facts, engine.initial(facts), Block.from_rows(rows))
    found = {f.kind: f for f in evaluation.verdict.findings}
    assert found[FindingKind.ADDED_LOSS].direction == "ba"
    assert evaluation.verdict.ba.loss is None
    assert evaluation.verdict.ba.added_loss is not None
