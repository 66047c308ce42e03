"""One screen of a live view, from what is known and the room there is; a pure function of it."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from strandkeeper.alerts.wording_figures import dbm, duration, number
from strandkeeper.alerts.wording_rework import handwork_sentence
from strandkeeper.analysis.live_track import Track
from strandkeeper.cli.big_figures import bars, big
from strandkeeper.cli.paragraph import WIDTH, paragraph
from strandkeeper.model.rework import Handwork

__all__ = ["Pane", "Room", "line_of", "room_of_terminal", "screen"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pane:
    """One direction: its name, which strand its end sees, what is known of the end.

    `state` is a sentence where the end is out of reach or the port is down.
    """

    name: str
    sees: str
    track: Track
    spare_db: float | None = None
    state: str = ""
    signs: tuple[Handwork, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """What a terminal has room for. `turn` counts on while cautions take turns in little room."""

    columns: int = WIDTH
    rows: int = 1000
    turn: int = 0


ALL: Final = Room()


def room_of_terminal(turn: int) -> Room:
    """The room that there is now."""
    size = shutil.get_terminal_size((80, 24))
    return Room(columns=min(WIDTH, size.columns), rows=size.lines, turn=turn)


def screen(
    title: str, rate: str, panes: Sequence[Pane], cautions: Sequence[str], room: Room = ALL
) -> str:
    """The whole screen as text. Figures stay in view: in little room cautions take turns."""
    said = [paragraph(f"! {caution}", hang=2, width=room.columns) for caution in cautions]
    lines = _panes(title, rate, panes, room.columns, short=False)
    if _height([*lines, *said]) <= room.rows:
        return "\n".join([*lines, *said])
    lines = _panes(title, rate, panes, room.columns, short=True)
    return "\n".join([*lines, *_in_turn(said, room.rows - _height(lines), room.turn)])


def _height(lines: Sequence[str]) -> int:
    return 1 + sum(1 + line.count("\n") for line in lines)  # and the line that ends the output


def _in_turn(said: Sequence[str], rows: int, turn: int) -> list[str]:
    """As many whole cautions as there is room for, one at least, from another one each turn."""
    first = turn % max(1, len(said))
    kept: list[str] = []
    for caution in [*said[first:], *said[:first]]:
        if kept and _height([*kept, caution]) > rows + 1:
            break
        kept.append(caution)
    return kept


def _panes(title: str, rate: str, panes: Sequence[Pane], columns: int, *, short: bool) -> list[str]:
    head = [paragraph(f"{title}. {rate}." if short else title, width=columns)]
    lines = head if short else [*head, paragraph(rate, width=columns), ""]
    for pane in panes:
        lines += [*_pane(pane, columns, short=short), *([] if short else [""])]
    return lines


def _pane(pane: Pane, columns: int, *, short: bool) -> list[str]:
    def said(text: str, hang: int = 0) -> str:
        return paragraph(text, indent=2, hang=hang, width=columns)

    track = pane.track
    lines = [pane.name, *([] if short else [said(pane.sees)])]
    if track.now is not None:
        lines += [f"  {line}" for line in big(number(track.now))]
        lines.append(said(f"dBm {_figures(pane)}"))
    else:
        gap = [] if short else [""]
        lines += [*gap, "  NO LIGHT" if track.dark else "  not reported", *gap]
        if figures := _figures(pane):
            lines.append(said(figures))
    if known := bars([v for _, v in track.readings][-(columns - 2) :]):
        lines.append(f"  {known}")
    if pane.state:
        lines.append(said(pane.state))
    return [*lines, *(said(handwork_sentence(sign), hang=2) for sign in pane.signs)]


def _figures(pane: Pane) -> str:
    track, words = pane.track, []
    if track.change is not None:
        sign = "+" if round(track.change, 1) > 0 else ""
        words.append(f"{sign}{number(track.change)} dB since start")
    if track.best is not None:
        words.append(f"best {dbm(track.best)}")
    if track.peak is not None:
        words.append(f"moves by {number(track.peak)} dB")
    if pane.spare_db is not None:
        words.append(f"{number(pane.spare_db, 0)} dB to spare")
    return ", ".join(words)


def line_of(time_s: float, panes: Sequence[Pane]) -> str:
    """The same as one line, for a pipe."""
    return f"{duration(time_s)}: " + "; ".join(f"{p.name} {_short(p)}" for p in panes)


def _short(pane: Pane) -> str:
    track = pane.track
    if track.now is None:
        return "no light" if track.dark else "not reported"
    return f"{dbm(track.now)}, {_figures(pane)}"
