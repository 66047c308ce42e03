"""A trap makes a row, outranks cached polls, and is itself overtaken by what came later."""

from __future__ import annotations

from dataclasses import replace

from strandkeeper.jobs.handle_trap import TrapDesk
from strandkeeper.model.names import End, LinkName, PortName, SwitchName
from strandkeeper.model.poll import LinkEnd, PortIdentity, SwitchPoll
from strandkeeper.model.reading import EndRow, OperStatus
from strandkeeper.model.trap import Trap, TrapKind

HERE = LinkEnd(LinkName("shore"), End.A)
PORTS = {HERE: PortIdentity(port=PortName("Gi1"), if_index=7)}
DOWN = Trap(switch=SwitchName("lab"), kind=TrapKind.LINK_DOWN, uptime_cs=10_000, if_index=7)
UP = replace(DOWN, kind=TrapKind.LINK_UP)


def poll(at_ms: int, oper: OperStatus, *, uptime_cs: int, last_change_cs: int | None) -> SwitchPoll:
    row = EndRow(
        time_ms=at_ms, end=End.A, oper=oper, uptime_cs=uptime_cs, last_change_cs=last_change_cs
    )
    return SwitchPoll(switch=SwitchName("lab"), time_ms=at_ms, answered=True, rows=((HERE, row),))


def state(desk: TrapDesk, at: SwitchPoll) -> OperStatus | None:
    return desk.outrank(at).rows[0][1].oper


def test_a_trap_about_a_watched_port_is_a_row_of_its_state() -> None:
    taken = TrapDesk().row_of(DOWN, PORTS, 5)
    assert taken is not None
    where, row = taken
    assert (where, row.oper, row.last_change_cs) == (HERE, OperStatus.DOWN, 10_000)
    assert row.deltas.in_frames == 0


def test_other_ports_and_other_traps_are_no_rows() -> None:
    desk = TrapDesk()
    assert desk.row_of(replace(DOWN, if_index=8), PORTS, 5) is None
    assert desk.row_of(replace(DOWN, kind=TrapKind.COLD_START), PORTS, 5) is None


def test_a_poll_out_of_the_cache_does_not_undo_a_trap_until_the_cache_time_is_over() -> None:
    desk = TrapDesk(cache_s=30)
    desk.row_of(DOWN, PORTS, 0)
    stale = poll(5_000, OperStatus.UP, uptime_cs=10_500, last_change_cs=300)
    assert state(desk, stale) is OperStatus.DOWN
    assert (
        state(
            desk,
            replace(
                stale, rows=poll(30_000, OperStatus.UP, uptime_cs=13_000, last_change_cs=300).rows
            ),
        )
        is OperStatus.UP
    )


def test_a_poll_that_shows_a_later_change_is_believed() -> None:
    desk = TrapDesk()
    desk.row_of(DOWN, PORTS, 0)
    fresh = poll(5_000, OperStatus.UP, uptime_cs=10_500, last_change_cs=10_400)
    assert state(desk, fresh) is OperStatus.UP


def test_a_poll_of_another_run_of_the_switch_is_believed() -> None:
    desk = TrapDesk()
    desk.row_of(DOWN, PORTS, 0)
    again = poll(5_000, OperStatus.UP, uptime_cs=200, last_change_cs=100)
    assert state(desk, again) is OperStatus.UP


def test_order_is_that_of_the_switch_and_not_of_arrival() -> None:
    desk = TrapDesk()
    assert desk.row_of(replace(UP, uptime_cs=10_400), PORTS, 0) is not None
    assert desk.row_of(DOWN, PORTS, 1) is None


def test_a_trap_that_comes_after_a_poll_has_seen_later_is_dropped() -> None:
    desk = TrapDesk()
    desk.outrank(poll(0, OperStatus.UP, uptime_cs=12_000, last_change_cs=11_000))
    assert desk.row_of(DOWN, PORTS, 1) is None


def test_a_trap_of_a_new_run_of_the_switch_is_taken_whatever_the_old_one_said() -> None:
    desk = TrapDesk()
    desk.outrank(poll(0, OperStatus.UP, uptime_cs=9_000_000, last_change_cs=8_999_000))
    assert desk.row_of(replace(DOWN, uptime_cs=500), PORTS, 1) is not None
