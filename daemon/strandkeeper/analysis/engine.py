"""One `advance` for the daemon (a row or two at a time) and for whole histories (by blocks).

Rows are taken in the order they were recorded. Conclusions are drawn at two kinds of moments
only: at a row in which something changed (analysis.link_state), and at the first row after a
window of five minutes is over (analysis.windows). Both are fixed by the record itself and all
sums are integers, so any split of a history into blocks gives identical output.
"""

from __future__ import annotations

from operator import le
from typing import Final

import numpy as np

from strandkeeper.analysis import baseline, link_state, marks, rounds, verdicts, windows
from strandkeeper.analysis.run import Run
from strandkeeper.analysis.state import LinkState
from strandkeeper.analysis.state_codec import STATE_VERSION, decode, encode
from strandkeeper.model.block import Block, Col, Ints
from strandkeeper.model.link import LinkFacts
from strandkeeper.model.mark import Mark
from strandkeeper.model.power import NotReported
from strandkeeper.model.verdict import Evaluation, LinkVerdict

__all__ = ["STATE_VERSION", "LinkState", "advance", "decode", "encode", "initial"]

SMALL: Final = 8  # rows; up to here plain loops beat arrays


def initial(facts: LinkFacts, was: LinkVerdict | None = None, from_ms: int = 0) -> LinkState:
    """The state of a link of which nothing is known yet, or only its verdict of before.

    Parameters
    ----------
    facts : LinkFacts
        What is known of the link apart from its rows [-].
    was : LinkVerdict or None
        The last verdict, where the state that it came from is lost [-].
    from_ms : int
        When the rows that are left begin [ms since the epoch]: a baseline of `was` from before is
        taken over, a later one comes again from the rows.

    Returns
    -------
    LinkState
        [-] To be given to `advance` with the first block.

    Raises
    ------
    Nothing.

    Source
    ------
    Own design, no source.

    Example
    -------
    >>> from strandkeeper.model.names import LinkName
    >>> initial(LinkFacts(name=LinkName("pump house"))).live.up is None
    True
    """
    del facts
    state = LinkState()
    if was is None:
        return state
    for slow, way in zip(state.slow.directions, (was.ab, was.ba), strict=True):
        if way.baseline is not None and way.baseline.since_ms < from_ms:
            by_loss = not isinstance(way.tx, NotReported)
            baseline.take_over(slow, way.baseline, by_loss=by_loss)
    return state


def advance(facts: LinkFacts, state: LinkState, block: Block) -> tuple[LinkState, Evaluation]:
    """Judge the rows of a block, continuing from a state.

    Parameters
    ----------
    facts : LinkFacts
        What is known of the link apart from its rows [-].
    state : LinkState
        What the call before returned, or `initial` [-]; never altered.
    block : Block
        Rows in recorded order [integers in the units of model.block.Col], and what a person
        did meanwhile. May be empty.

    Returns
    -------
    tuple of LinkState and Evaluation
        [-] The state to go on from; the verdict after the last row, the events and the closed hours
        and days on the way.

    Raises
    ------
    Nothing.

    Notes
    -----
    A time that runs back counts as standing still. Without a row the verdict's `at_ms` is that of
    the newest row before, 0 without any.

    Source
    ------
    Own design, no source.

    Example
    -------
    >>> from strandkeeper.model.names import LinkName
    >>> facts = LinkFacts(name=LinkName("pump house"))
    >>> _, evaluation = advance(facts, initial(facts), Block.from_rows([]))
    >>> evaluation.verdict.up is None
    True
    """
    run = Run.start(facts, state)
    data = _forward(block.data, state.live.last_ms)
    waiting = sorted(block.marks, key=lambda mark: mark.time_ms, reverse=True)
    if data.shape[1] <= SMALL:
        _by_rows(run, data, block.modules, waiting)
    else:
        _in_bulk(run, data, block.modules, waiting)
    _act(run, waiting, None)
    after = run.state()
    return after, Evaluation(
        verdict=verdicts.build(run.facts, after), events=tuple(run.events), stats=tuple(run.stats)
    )


def _forward(data: Ints, last_ms: int) -> Ints:
    """The rows with their times never running back."""
    time = data[Col.TIME]
    if len(time) <= SMALL and _run_on(time.tolist(), last_ms):
        return data
    onward = np.maximum(np.maximum.accumulate(time), last_ms)
    if np.array_equal(onward, time):
        return data
    data = data.copy()
    data[Col.TIME] = onward
    return data


def _run_on(times: list[int], last_ms: int) -> bool:
    return all(map(le, [last_ms, *times], times))


def _act(run: Run, waiting: list[Mark], before_ms: int | None) -> None:
    """Let the acts of a person from before that time take effect (None: all of them).

    An act is a moment of the record like a row: a window that ended before it is closed first.
    """
    while waiting and (before_ms is None or waiting[-1].time_ms < before_ms):
        mark = waiting.pop()
        if before_ms is None:
            _close_before(run, mark.time_ms)
            run.live.last_ms = max(run.live.last_ms, mark.time_ms)
        marks.apply(run, mark)


def _close_before(run: Run, time_ms: int) -> None:
    """Close the window whose rows are pending if it ended by then."""
    if run.open_window is None or time_ms // windows.WINDOW_MS <= run.open_window:
        return
    whole = run.take_pending()
    for closed in rounds.close(whole, run.carried):
        rounds.play(run, closed)
    run.carry_from(whole)


def _by_rows(run: Run, data: Ints, modules: tuple[str, ...], waiting: list[Mark]) -> None:
    for number, row in enumerate(data.T.tolist()):
        time = row[Col.TIME]
        if run.open_window is not None:
            _act(run, waiting, min(time, (run.open_window + 1) * windows.WINDOW_MS))
        _close_before(run, time)
        _act(run, waiting, time)
        end = run.live.ends[row[Col.END]]
        run.take_row(row, modules, link_state.moved_by(end, row))
        run.keep(data[:, number : number + 1])


def _in_bulk(run: Run, data: Ints, modules: tuple[str, ...], waiting: list[Mark]) -> None:
    moved = link_state.optics_moved(data, run.live)
    window = data[Col.TIME] // windows.WINDOW_MS
    closing = _closings(run, data, window)
    latest = _latest_rows(data[Col.END])
    size = data.shape[1]
    cursor = 0
    for number in [*link_state.eventful(data).tolist(), size]:
        while cursor < len(closing) and closing[cursor][0] <= number:
            closed = closing[cursor][1]
            _act(run, waiting, (closed.index + 1) * windows.WINDOW_MS)
            rounds.play(run, closed)
            cursor += 1
        _catch_up(run, data, moved, latest, number)
        if number < size:
            row = data[:, number].tolist()
            _act(run, waiting, row[Col.TIME])
            run.take_row(row, modules, int(moved[number]))
    _act(run, waiting, run.live.last_ms)


def _closings(run: Run, data: Ints, window: Ints) -> list[tuple[int, windows.Closed]]:
    """Every window that these rows close, with the number of the row that closes it."""
    cut = int(np.searchsorted(window, window[-1]))
    closed: list[windows.Closed] = []
    if cut or run.open_window not in (None, int(window[-1])):
        whole = np.concatenate([run.take_pending(), data[:, :cut]], axis=1)
        closed = rounds.close(whole, run.carried)
        run.carry_from(whole)
    run.keep(data[:, cut:].copy())  # a part of the block would keep the whole of it in memory
    at = np.searchsorted(window, [item.index for item in closed], side="right")
    return list(zip(at.tolist(), closed, strict=True))


def _latest_rows(ends: Ints) -> Ints:
    """For each end and row: the number of that end's newest row before it, -1 if there is none."""
    numbers = np.arange(len(ends))
    latest = np.full((2, len(ends) + 1), -1, dtype=np.int64)
    for end in (0, 1):
        latest[end, 1:] = np.maximum.accumulate(np.where(ends == end, numbers, -1))
    return latest


def _catch_up(run: Run, data: Ints, moved: Ints, latest: Ints, number: int) -> None:
    """Take over the plain values of the rows before row `number`."""
    for end in (0, 1):
        newest = int(latest[end, number])
        if newest >= 0:
            link_state.touch(run.live.ends[end], data[:, newest].tolist(), int(moved[newest]))
    if number:
        run.live.last_ms = int(data[Col.TIME, number - 1])
