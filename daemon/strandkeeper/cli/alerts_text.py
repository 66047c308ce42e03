"""The list of alerts in words and as JSON."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from strandkeeper.alerts.calm import Calm
from strandkeeper.alerts.quiet_hours import is_quiet_now
from strandkeeper.alerts.urgency import urgency_sentence
from strandkeeper.alerts.wording import (
    alert_state_words,
    calm_sentence,
    finding_headline,
    severity_word,
)
from strandkeeper.alerts.wording_figures import duration
from strandkeeper.model.alert import Alert, AlertState
from strandkeeper.model.link import Link, PortEnd
from strandkeeper.model.message import Outgoing
from strandkeeper.model.names import LinkName
from strandkeeper.model.settings import Settings
from strandkeeper.model.silence import Silence
from strandkeeper.model.times import iso_utc
from strandkeeper.model.verdict_json import finding_to_json

__all__ = ["Known", "alerts_json", "alerts_text"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What is on record of alerts: `waiting` are messages not yet sent."""

    alerts: Sequence[Alert] = ()
    waiting: Sequence[Outgoing] = ()
    silences: Sequence[Silence] = ()
    calm: Mapping[LinkName, Calm] = field(default_factory=dict)


def alerts_text(settings: Settings, known: Known, now_ms: int, *, offset_s: int = 0) -> str:
    """One paragraph an alert, what is muted or not sent yet, which links went down lately.

    How urgent it is is said for this hour; `offset_s` is local time less UTC.
    """
    night = is_quiet_now(settings.telling, now_ms, offset_s)
    lines = [
        line for alert in known.alerts for line in _alert(settings, alert, now_ms, night=night)
    ]
    if not known.alerts:
        lines = ["No open alert."]
    lines += [
        f"{s.link}: muted for {duration(max(0, s.until_ms - now_ms) / 1000)} more"
        f"{f' by {s.who}' if s.who else ''} ({s.why})"
        for s in known.silences
    ]
    for target in dict.fromkeys(item.target for item in known.waiting):
        mine = [item for item in known.waiting if item.target == target]
        why = next((item.error for item in mine if item.error), "held back for the quiet hours")
        lines.append(f"{target}: {len(mine)} not sent yet: {why}")
    lines += [
        f"{name}: {calm_sentence(calm)}"
        for name, calm in sorted(known.calm.items(), key=lambda pair: pair[0])
        if calm.downs_14d or calm.penalty.held_back
    ]
    if not settings.telling.targets:
        lines.append("No target is configured: nobody is told. See [[target]] in the starter file.")
    return "\n".join(lines)


def _alert(settings: Settings, alert: Alert, now_ms: int, *, night: bool) -> list[str]:
    finding = alert.finding
    link = _link(settings, finding.link)
    end_ms = alert.changed_ms if alert.state is AlertState.CLEARED else now_ms
    lasted = duration(max(0, end_ms - finding.since_ms) / 1000)
    state = alert_state_words(alert.state, alert.who)
    return [
        f"{alert.number}  {link.name}: {finding_headline(link, finding)}",
        f"    {severity_word(finding.severity)}, {state}, since {iso_utc(finding.since_ms)[:16]}Z "
        f"({lasted})",
        *(
            [f"    {urgency_sentence(finding, night=night)}"]
            if alert.state is not AlertState.CLEARED
            else []
        ),
    ]


def _link(settings: Settings, name: LinkName) -> Link:
    """The link, or what stands for one no longer configured and for the watch itself."""
    known = next((link for link in settings.links if link.name == name), None)
    title = name or settings.station
    return known or Link(name=LinkName(title), a=PortEnd(name="A"), b=PortEnd(name="B"))


def alerts_json(settings: Settings, known: Known) -> dict[str, Any]:
    """{schema, station, alerts, silences, waiting, flapping}; a finding as in `status --json`."""
    return {
        "schema": 1,
        "station": settings.station,
        "alerts": [
            {
                "number": a.number,
                "link": a.finding.link,
                "state": a.state.value,
                "began": iso_utc(a.began_ms),
                "changed": iso_utc(a.changed_ms),
                "told": a.told,
                "until": None if a.until_ms is None else iso_utc(a.until_ms),
                "who": a.who,
                "finding": finding_to_json(a.finding),
            }
            for a in known.alerts
        ],
        "silences": [
            {"link": s.link, "from": iso_utc(s.from_ms), "until": iso_utc(s.until_ms), "who": s.who}
            for s in known.silences
        ],
        "waiting": [
            {
                "target": m.target,
                "key": m.message.key,
                "title": m.message.title,
                "attempts": m.attempts,
                "error": m.error,
            }
            for m in known.waiting
        ],
        "flapping": [
            {
                "link": name,
                "penalty": round(calm.penalty.merit, 3),
                "held_back": calm.penalty.held_back,
                "released_in_s": calm.released_in_s,
                "downs_24h": calm.downs_24h,
                "downs_14d": calm.downs_14d,
            }
            for name, calm in sorted(known.calm.items(), key=lambda pair: pair[0])
        ],
    }
