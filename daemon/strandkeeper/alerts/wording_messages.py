"""What a message says: plain text that fits a phone, the same facts as JSON for a command.

First line: the link, what, how much is left. Then how urgent it is at this hour, since when, why,
what speaks for it, what to do next, and the caution that belongs to it.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, replace
from typing import Any, Final

from strandkeeper.alerts.rules import kinds_of_outage
from strandkeeper.alerts.urgency import urgency_of, urgency_sentence
from strandkeeper.alerts.wording_causes import cause_sentence
from strandkeeper.alerts.wording_evidence import evidence_sentence
from strandkeeper.alerts.wording_figures import duration
from strandkeeper.alerts.wording_headlines import finding_headline
from strandkeeper.alerts.wording_statement import weaker_direction
from strandkeeper.alerts.wording_states import spare_words
from strandkeeper.alerts.wording_steps import next_step_words
from strandkeeper.alerts.wording_units import Units, in_units
from strandkeeper.model.alert import Alert
from strandkeeper.model.finding import Cause, Confidence, EvidenceKind, FindingKind, Severity
from strandkeeper.model.link import Link
from strandkeeper.model.message import Message, MessageKind
from strandkeeper.model.times import iso_utc
from strandkeeper.model.verdict import LinkVerdict
from strandkeeper.model.verdict_json import finding_to_json

__all__ = ["Setting", "alert_message", "key_of", "moment"]

_EVIDENCE: Final = 4
_STEPS: Final = 3
_SAID_ANYWAY: Final = (EvidenceKind.DURATION,)


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """When and for whom it is said: `offset_s` is local time less UTC, `night` quiet hours."""

    now_ms: int
    offset_s: int = 0
    night: bool = False
    units: Units = field(default_factory=Units)
    station: str = ""


def key_of(*parts: object) -> str:
    """A short key that is the same for the same parts."""
    return hashlib.sha256("\0".join(map(str, parts)).encode()).hexdigest()[:24]


def moment(time_ms: int, offset_s: int) -> str:
    """A time as a person here reads it, to the minute.

    >>> moment(1_700_000_000_000, 3600)
    '2023-11-14 23:13'
    """
    return iso_utc((time_ms + offset_s * 1000) // 60_000 * 60_000)[:16].replace("T", " ")


def alert_message(
    link: Link, alert: Alert, kind: MessageKind, verdict: LinkVerdict | None, setting: Setting
) -> Message:
    """The message of one step of an alert; `alert` as it is after the step."""
    finding = alert.finding
    title = _title(link, alert, kind, verdict)
    over = kind is MessageKind.CLEARED
    body = _cleared(link, _with_final_cause(alert, verdict), setting) if over else None
    lines = [title, *(_raised(link, alert, setting) if body is None else body)]
    text = in_units("\n".join(lines), setting.units)
    severity = Severity.NOTE if kind is MessageKind.CLEARED else finding.severity
    return Message(
        key=key_of(*alert.key, alert.began_ms, alert.told, kind.value),
        kind=kind,
        time_ms=setting.now_ms,
        severity=severity,
        title=text.splitlines()[0],
        text=text,
        link=finding.link,
        wakes=severity is Severity.URGENT and (alert.lasting or not _is_outage(alert)),
        facts=_facts(link, alert, setting),
    )


def _is_outage(alert: Alert) -> bool:
    return alert.finding.kind in kinds_of_outage()


def _title(link: Link, alert: Alert, kind: MessageKind, verdict: LinkVerdict | None) -> str:
    what = finding_headline(link, alert.finding)
    prefix = _PREFIX.get(kind, "")
    left = "" if kind is MessageKind.CLEARED or verdict is None else _left(link, verdict, alert)
    return f"{prefix}{link.name}: {what[:1].lower() + what[1:] if prefix else what}{left}"


_PREFIX: Final[dict[MessageKind, str]] = {
    MessageKind.CLEARED: "Over: ",
    MessageKind.WORSE: "Worse: ",
    MessageKind.LASTING: "Still: ",
}


def _left(link: Link, verdict: LinkVerdict, alert: Alert) -> str:
    """How much is left on the weaker way, unless the headline is about just that."""
    if alert.finding.kind is FindingKind.MARGIN_LOW or verdict.up is False:
        return ""
    weaker = weaker_direction(verdict)
    if weaker is None or weaker.margin is None:
        return ""
    return f"; {spare_words(weaker)} to spare {link.direction_name(weaker.direction)}"


def _raised(link: Link, alert: Alert, setting: Setting) -> list[str]:
    finding = alert.finding
    lasted = duration(max(0, setting.now_ms - finding.since_ms) / 1000)
    lines = [
        urgency_sentence(finding, night=setting.night),
        f"Since {moment(finding.since_ms, setting.offset_s)} ({lasted}).",
        cause_sentence(link, finding),
    ]
    told = [e for e in finding.evidence if e.kind not in _SAID_ANYWAY]
    lines += [evidence_sentence(link, e) for e in told[:_EVIDENCE]]
    return lines + _next(link, alert)


def _next(link: Link, alert: Alert) -> list[str]:
    """The steps in the trade's order, numbered, and each caution once."""
    words = [
        next_step_words(link, alert.finding, step) for step in alert.finding.next_steps[:_STEPS]
    ]
    if not words:
        return []
    lines = ["Next:", *(f"{n}. {w.order}" for n, w in enumerate(words, 1))]
    cautions = list(dict.fromkeys(c for w in words for c in w.cautions))
    return lines + ([f"Caution: {' '.join(cautions)}"] if cautions else [])


def _cleared(link: Link, alert: Alert, setting: Setting) -> list[str]:
    """When it ended, how long it was, and why as far as that is known by now."""
    finding = alert.finding
    ended_ms = setting.now_ms if alert.quiet_ms is None else alert.quiet_ms
    lasted = duration(max(0, ended_ms - finding.since_ms) / 1000)
    since = moment(finding.since_ms, setting.offset_s)
    lines = [f"From {since} to {moment(ended_ms, setting.offset_s)}: {lasted}."]
    if finding.cause is not Cause.UNKNOWN:
        lines.append(cause_sentence(link, finding))
    return [*lines, "Nothing to do."]


def _with_final_cause(alert: Alert, verdict: LinkVerdict | None) -> Alert:
    """The alert of an outage with its cause as judged once the far end's own record was read."""
    if alert.finding.kind is not FindingKind.LINK_DOWN or verdict is None:
        return alert
    since_ms = alert.finding.since_ms
    outage = next((o for o in verdict.outages if o.from_ms == since_ms and o.revised), None)
    if outage is None:
        return alert
    known = replace(
        alert.finding, cause=outage.cause, confidence=Confidence.LIKELY, alternatives=()
    )
    return replace(alert, finding=known)


def _facts(link: Link, alert: Alert, setting: Setting) -> dict[str, Any]:
    finding = alert.finding
    return {
        "alert": alert.number,
        "state": alert.state.value,
        "urgency": urgency_of(finding, night=setting.night).value,
        "headline": finding_headline(link, finding),
        "finding": finding_to_json(finding),
        "names": {"a": link.a.name, "b": link.b.name},
    }
