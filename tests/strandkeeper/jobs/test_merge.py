from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from strandkeeper.jobs.merge import RowFolder, add_deltas
from strandkeeper.model.names import End
from strandkeeper.model.reading import AdminStatus, Deltas, EndRow, OperStatus

UP = EndRow(
    time_ms=0,
    end=End.A,
    oper=OperStatus.UP,
    admin=AdminStatus.UP,
    uptime_cs=100,
    last_change_cs=50,
    deltas=Deltas(in_octets=1, out_octets=1, in_frames=1, fcs_errors=0, symbol_errors=0),
)


def _later(row: EndRow, **changes: object) -> EndRow:
    base = replace(row, time_ms=row.time_ms + 10_000, uptime_cs=(row.uptime_cs or 0) + 1000)
    return replace(base, **changes)  # type: ignore[arg-type]


def test_a_quiet_status_poll_is_folded_and_its_counts_reach_the_next_row() -> None:
    folder = RowFolder()
    first = folder.fold(UP, optics_due=True)
    assert first == UP
    second = _later(UP)
    assert folder.fold(second, optics_due=False) is None
    third = _later(second)
    kept = folder.fold(third, optics_due=True)
    assert kept is not None
    assert kept.deltas.in_octets == 2


def test_a_change_of_state_is_a_row_of_its_own_at_once() -> None:
    for change in (
        {"oper": OperStatus.DOWN},
        {"answered": False},
        {"last_change_cs": 900},
        {"uptime_cs": 5},
        {"deltas": Deltas(fcs_errors=1)},
    ):
        folder = RowFolder()
        folder.fold(UP, optics_due=True)
        assert folder.fold(_later(UP, **change), optics_due=False) is not None, change


def test_an_unknown_count_stays_unknown_when_carried() -> None:
    total = add_deltas(Deltas(in_octets=5, in_frames=None), Deltas(in_octets=6, in_frames=2))
    assert total == Deltas(in_octets=11)


@given(st.lists(st.tuples(st.integers(0, 10**6), st.booleans()), min_size=1, max_size=40))
def test_no_count_is_lost_or_doubled_whatever_is_folded(polls: list[tuple[int, bool]]) -> None:
    folder, kept, row = RowFolder(), 0, UP
    polls = [*polls, (0, True)]
    for octets, optics in polls:
        row = _later(row, deltas=Deltas(in_octets=octets))
        out = folder.fold(row, optics_due=optics)
        kept += (out.deltas.in_octets or 0) if out else 0
    assert kept == sum(octets for octets, _ in polls)


def test_a_poll_without_answer_takes_no_counts_away() -> None:
    folder = RowFolder()
    folder.fold(UP, optics_due=True)
    assert folder.fold(_later(UP, deltas=Deltas(in_octets=7)), optics_due=False) is None
    silent = EndRow(time_ms=20_000, end=End.A, answered=False)
    assert folder.fold(silent, optics_due=False) == silent
    assert folder.fold(replace(silent, time_ms=30_000), optics_due=False) is None
    back = folder.fold(_later(UP, deltas=Deltas(in_octets=5)), optics_due=True)
    assert back is not None
    assert back.deltas.in_octets == 12
