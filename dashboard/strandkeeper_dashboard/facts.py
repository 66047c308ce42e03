"""What is behind the figures of one link: its ends as last heard of, and what was judged. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from strandkeeper.alerts import wording
from strandkeeper.alerts.wording_units import Units, in_units
from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction, End
from strandkeeper.model.verdict import DirectionVerdict, EndState, Interval, LinkVerdict
from strandkeeper_dashboard import figures

__all__ = ["Facts", "end_facts", "judged_facts"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """A heading, sentences, and pairs of a name and what it is."""

    title: str
    sentences: tuple[str, ...]
    pairs: tuple[tuple[str, str], ...]


def end_facts(link: Link, verdict: LinkVerdict, now_ms: int, units: Units) -> list[Facts]:
    """Both ends: port, module, temperature, laser current, supply, since when."""
    return [_end(link, verdict.end(end), now_ms, units) for end in End]


def _end(link: Link, state: EndState, now_ms: int, units: Units) -> Facts:
    port = link.end(state.end)
    sentence = in_units(f"{wording.end_sentence(link, state)}.", units)
    if not state.managed:
        return Facts(title=port.name, sentences=(sentence,), pairs=())
    uptime = None if state.uptime_cs is None else state.uptime_cs / 100
    since = None if state.oper_since_ms is None else (now_ms - state.oper_since_ms) / 1000
    return Facts(
        title=port.name,
        sentences=(sentence,),
        pairs=(
            ("Switch and port", f"{port.switch} {port.port}"),
            ("Last answer", figures.age(state.heard_ms, now_ms)),
            ("Port like this for", _span(since)),
            ("Switch running for", _span(uptime)),
            ("Module type", port.pmd or figures.UNKNOWN),
            ("Module says it is", state.module_id or figures.UNKNOWN),
            ("Module temperature", _warmth(state.temp_c, units)),
            ("Laser current", _unit(state.bias_ma, "mA", 1)),
            ("Module supply", _unit(state.vcc_v, "V", 2)),
        ),
    )


def _span(seconds: float | None) -> str:
    return figures.UNKNOWN if seconds is None else wording.duration(seconds)


def _warmth(value: float | None, units: Units) -> str:
    if value is None or not units.fahrenheit:
        return _unit(value, "°C", 0)
    return _unit(value * 9 / 5 + 32, "°F", 0)


def _unit(value: float | None, unit: str, digits: int) -> str:
    if value is None:
        return figures.UNKNOWN
    return f"{figures.number(value, digits)}{figures.THIN}{unit}"


def judged_facts(link: Link, verdict: LinkVerdict) -> list[Facts]:
    """Both directions: baseline, limits, forecast in words; the figures with their intervals."""
    return [_judged(link.direction_name(d), verdict.direction(d)) for d in Direction]


def _judged(title: str, v: DirectionVerdict) -> Facts:
    return Facts(
        title=title,
        sentences=(
            wording.baseline_sentence(v),
            wording.forecast_sentence(v.forecast),
            wording.limits_sentence(v),
        ),
        pairs=(
            ("Trend", wording.trend_sentence(v)),
            ("Lost since it was good", _interval(v.added_loss, "dB")),
            ("Slope", _slope(v)),
            ("Swing with the day", figures.db(v.daily_swing)),
            ("Damaged frames", wording.errors_sentence(v)),
            ("A reading may be off by", f"±{v.accuracy.value:g}{figures.THIN}dB"),
        ),
    )


def _interval(value: Interval | None, unit: str, digits: int = 1) -> str:
    """A value and, in brackets, the range that holds the truth 95 times in 100."""
    if value is None:
        return figures.UNKNOWN
    low, high = figures.number(value.low, digits), figures.number(value.high, digits)
    return f"{figures.number(value.value, digits)}{figures.THIN}{unit} ({low} to {high})"


def _slope(v: DirectionVerdict) -> str:
    if v.drift is None:
        return "too early to say"
    said = _interval(v.drift.slope, "dB a month", 2)
    told = "" if v.drift.reported else "; no more than chance does"
    return f"{said}, over {v.drift.window_days} days{told}"
