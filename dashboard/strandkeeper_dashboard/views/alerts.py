"""What people are to hear of: open alerts, what is muted, and what could not be sent."""

from __future__ import annotations

import time
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from flask import Blueprint, abort, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from strandkeeper.alerts.calm import calm_of
from strandkeeper.alerts.quiet_hours import is_quiet_now
from strandkeeper.alerts.urgency import urgency_sentence
from strandkeeper.alerts.wording import (
    StepWords,
    alert_state_words,
    calm_sentence,
    finding_headline,
    next_steps_words,
    severity_word,
)
from strandkeeper.model.alert import Alert, AlertState
from strandkeeper.model.entry import Entry, EntryKind
from strandkeeper.model.link import Link, PortEnd
from strandkeeper.model.message import Outgoing
from strandkeeper.model.names import LinkName
from strandkeeper.model.verdict import LinkVerdict
from strandkeeper_dashboard.access import person
from strandkeeper_dashboard.context import here

__all__ = ["page"]

page = Blueprint("alerts", __name__)

_RECENT: Final = 60
_MUTES: Final = {"1": "an hour", "8": "8 hours", "24": "a day", "168": "a week"}


@dataclass(frozen=True, slots=True, kw_only=True)
class AlertSheet:
    """One alert as the page shows it."""

    alert: Alert
    link: Link
    slug: str | None
    headline: str
    severity: str
    state: str
    urgency: str
    steps: tuple[StepWords, ...]
    may_acknowledge: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class WaySheet:
    """One target: what waits for it, and why."""

    name: str
    waiting: int
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CalmSheet:
    """One link that went down lately."""

    name: str
    slug: str
    sentence: str


@page.get("/alerts")
def index() -> str:
    """Open alerts first, then what is muted, what waits to be sent, and what is over."""
    record = here().record
    alerts = record.alerts(_RECENT)
    waiting = [e.entry.payload for e in record.waiting_entries()]
    return render_template(
        "alerts.html",
        open_alerts=[_sheet(a) for a in alerts if a.state is not AlertState.CLEARED],
        over=[_sheet(a) for a in alerts if a.state is AlertState.CLEARED],
        silences=record.silences(),
        ways=_ways(record.waiting_messages()),
        targets=here().settings.telling.targets,
        asked={payload.get("alert") for payload in waiting},
        asked_links={payload.get("link") for payload in waiting},
        links=here().settings.links,
        mutes=_MUTES,
        restless=_restless(record.verdicts(), here().now_ms),
    )


@page.post("/alerts/acknowledge")
def acknowledge() -> Response:
    """Append what the person asked for; the watching program does it."""
    return _ask(Entry(kind=EntryKind.ACKNOWLEDGE, who=person(), payload={"alert": _number()}))


@page.post("/alerts/mute")
def mute() -> Response:
    """The same for a mute, of one alert, for one of the offered spans."""
    hours = request.form.get("hours", "")
    if hours not in _MUTES:
        abort(400, "Choose how long to mute it.")
    payload: dict[str, object] = {"alert": _number(), "for_s": int(hours) * 3600}
    return _ask(Entry(kind=EntryKind.MUTE, who=person(), payload=payload))


@page.post("/alerts/silence")
def silence() -> Response:
    """Mute a whole link for one of the offered spans; with `0` the mute there is ends now."""
    hours = request.form.get("hours", "")
    name = request.form.get("link", "")
    if hours not in {*_MUTES, "0"}:
        abort(400, "Choose how long to mute it.")
    if name not in {link.name for link in here().settings.links}:
        abort(400, "The form does not name a link of this station.")
    payload: dict[str, object] = {"link": name, "for_s": int(hours) * 3600}
    return _ask(Entry(kind=EntryKind.MUTE, who=person(), payload=payload))


def _number() -> int:
    text = request.form.get("alert", "")
    if not text.isdecimal() or len(text) > 9:
        abort(400, "The form does not say which alert.")
    return int(text)


def _ask(entry: Entry) -> Response:
    here().record.append_entry(entry)
    return redirect(url_for("alerts.index"), 303)


def _sheet(alert: Alert) -> AlertSheet:
    context, name = here(), alert.finding.link
    known = next((link for link in context.settings.links if link.name == name), None)
    link = known or _stand_in(name or context.settings.station)
    return AlertSheet(
        alert=alert,
        link=link,
        slug=None if known is None else context.slugs[known.name],
        headline=finding_headline(link, alert.finding),
        severity=severity_word(alert.finding.severity),
        state=alert_state_words(alert.state, alert.who),
        urgency=urgency_sentence(alert.finding, night=_is_night()),
        steps=next_steps_words(link, alert.finding),
        may_acknowledge=alert.state is AlertState.FIRING,
    )


def _restless(verdicts: Iterable[LinkVerdict], now_ms: int) -> list[CalmSheet]:
    """How often each link went down that did so in two weeks, the most restless first."""
    context = here()
    links = {link.name: link for link in context.settings.links}
    found = [
        (verdict.link, calm_of(verdict, context.settings.thresholds, now_ms))
        for verdict in verdicts
        if verdict.link in links
    ]
    found.sort(key=lambda pair: (-pair[1].penalty.merit, -pair[1].downs_14d, pair[0]))
    return [
        CalmSheet(name=name, slug=context.slugs[name], sentence=calm_sentence(calm))
        for name, calm in found
        if calm.downs_14d or calm.penalty.held_back
    ]


def _is_night() -> bool:
    """Whether it is a quiet hour where this computer is."""
    context = here()
    offset_s = time.localtime(context.now_ms / 1000).tm_gmtoff
    return is_quiet_now(context.settings.telling, context.now_ms, offset_s)


def _stand_in(name: str) -> Link:
    """For what is about no link, or about one that is no longer configured."""
    return Link(name=LinkName(name), a=PortEnd(name="A"), b=PortEnd(name="B"))


def _ways(waiting: list[Outgoing]) -> list[WaySheet]:
    names = dict.fromkeys(item.target for item in waiting)
    return [
        WaySheet(
            name=name,
            waiting=sum(item.target == name for item in waiting),
            why=next((i.error for i in waiting if i.target == name and i.error), ""),
        )
        for name in names
    ]
