"""One screen of a live view, from what is known; a pure function of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from strandkeeper.alerts.wording_figures import dbm, duration, number
from strandkeeper.alerts.wording_rework import handwork_sentence
from strandkeeper.analysis.live_track import Track
from strandkeeper.cli.big_figures import bars, big
from strandkeeper.cli.paragraph import paragraph
from strandkeeper.model.rework import Handwork

__all__ = ["Pane", "line_of", "screen"]


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


def screen(title: str, rate: str, panes: Sequence[Pane], cautions: Sequence[str]) -> str:
    """The whole screen as text."""
    lines = [title, rate, ""]
    for pane in panes:
        lines += [*_pane(pane), ""]
    lines += [paragraph(f"! {caution}", hang=2) for caution in cautions]
    return "\n".join(lines)


def _pane(pane: Pane) -> list[str]:
    track = pane.track
    lines = [pane.name, f"  {pane.sees}"]
    if track.now is not None:
        lines += [f"  {line}" for line in big(number(track.now))]
        lines.append(f"  dBm {_figures(pane)}")
    elif track.dark:
        lines += ["", "  NO LIGHT", "", f"  {_figures(pane)}"]
    else:
        lines += ["", "  not reported", ""]
    lines.append(f"  {bars([v for _, v in track.readings])}")
    if pane.state:
        lines.append(paragraph(pane.state, indent=2))
    lines += [paragraph(handwork_sentence(sign), indent=2, hang=2) for sign in pane.signs]
    return lines


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
