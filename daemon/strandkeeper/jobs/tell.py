"""From what is true now to what people are told: alerts, their steps, and messages for targets.

No I/O: what `look` returns is written in one transaction, then given to the delivery.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Final

from strandkeeper.alerts.book import Sight, Turn, act, look
from strandkeeper.alerts.calm import calm_of
from strandkeeper.alerts.lifecycle import may
from strandkeeper.alerts.quiet_hours import QuietHours, is_quiet, quiet_until_ms
from strandkeeper.alerts.rules import kinds_of_outage, rule_of
from strandkeeper.alerts.topology import Covered, coverage
from strandkeeper.alerts.wording_digest import after_silence_message
from strandkeeper.alerts.wording_headlines import finding_headline
from strandkeeper.alerts.wording_messages import Setting, alert_message
from strandkeeper.alerts.wording_units import Units
from strandkeeper.jobs.watch_over import STATION
from strandkeeper.model.alert import Alert, AlertEvent, AlertKey, AlertState
from strandkeeper.model.finding import Finding, Severity
from strandkeeper.model.link import Link, PortEnd
from strandkeeper.model.message import Message, MessageKind, Outgoing, Target
from strandkeeper.model.names import LinkName
from strandkeeper.model.settings import Settings
from strandkeeper.model.silence import Silence
from strandkeeper.model.verdict import LinkVerdict
from strandkeeper.store.telling import TellingBatch, TellingState

__all__ = ["Teller"]


class Teller:
    """Holds every open alert. Times are record time [ms], `offset_s` is local time less UTC."""

    def __init__(self, settings: Settings, state: TellingState) -> None:
        self._settings = settings
        self._telling = settings.telling
        self._links: dict[LinkName, Link] = {link.name: link for link in settings.links}
        self._alerts: dict[AlertKey, Alert] = {a.key: a for a in state.alerts}
        self._silences = {s.link: s for s in state.silences}
        self._number = max([state.last_number, *(a.number for a in state.alerts)])
        self._order = state.last_order
        self._hours = QuietHours(
            from_min=self._telling.quiet_from_min, to_min=self._telling.quiet_to_min
        )
        self._station = _station_link(settings.station)
        self._ended = {
            name: [finding_headline(self._link(name), finding) for finding in ended]
            for name, ended in state.ended.items()
        }

    @property
    def alerts(self) -> tuple[Alert, ...]:
        """Every open alert."""
        return tuple(self._alerts.values())

    @property
    def silences(self) -> tuple[Silence, ...]:
        """The links silenced now."""
        return tuple(self._silences.values())

    def setting(self, now_ms: int, offset_s: int) -> Setting:
        """When and for whom it is said."""
        return Setting(
            now_ms=now_ms,
            offset_s=offset_s,
            night=is_quiet(self._hours, now_ms, offset_s),
            units=Units(feet=self._telling.feet, fahrenheit=self._telling.fahrenheit),
            station=self._settings.station,
        )

    def look(
        self,
        now_ms: int,
        offset_s: int,
        verdicts: Sequence[LinkVerdict],
        others: Iterable[Finding] = (),
    ) -> TellingBatch:
        """One look at everything that is true now; `others` are findings of no verdict."""
        by_link = {v.link: v for v in verdicts}
        findings = {f.key: f for v in verdicts for f in v.findings}
        findings |= {f.key: f for f in others}
        covered = coverage(self._links, findings.values())
        setting = self.setting(now_ms, offset_s)
        batches = [self._end_silences(by_link, setting)]
        for key in list(dict.fromkeys((*self._alerts, *findings))):
            if self._judged(key, by_link):
                verdict = by_link.get(LinkName(key[0]))
                batches.append(self._look(key, findings.get(key), covered, verdict, setting))
        return _joined(batches)

    def _judged(self, key: AlertKey, by_link: Mapping[LinkName, LinkVerdict]) -> bool:
        """Whether its subject can be seen: a link not yet judged since the start cannot."""
        name = LinkName(key[0])
        return name == STATION or name in by_link or name not in self._links

    def _look(
        self,
        key: AlertKey,
        finding: Finding | None,
        covered: Covered,
        verdict: LinkVerdict | None,
        setting: Setting,
    ) -> TellingBatch:
        before = self._alerts.get(key)
        subject = finding if before is None else before.finding
        if subject is None:
            return TellingBatch()
        sight = Sight(
            finding=finding,
            covered=covered(subject),
            held_back=self._held_back(subject, verdict, setting.now_ms),
            silent_until_ms=self._silent_until(subject),
        )
        rule = rule_of(subject.kind, self._settings.thresholds)
        alert, turns = look(before, sight, rule, setting.now_ms, self._number + 1)
        if alert is not None:
            self._keep(alert, is_new=before is None)
        return self._batch(turns, verdict, setting)

    def _keep(self, alert: Alert, *, is_new: bool) -> None:
        self._number += is_new
        if alert.state is AlertState.CLEARED:
            self._alerts.pop(alert.key, None)
        else:
            self._alerts[alert.key] = alert

    def _held_back(self, subject: Finding, verdict: LinkVerdict | None, now_ms: int) -> bool:
        if verdict is None or subject.kind not in kinds_of_outage():
            return False
        return calm_of(verdict, self._settings.thresholds, now_ms).penalty.held_back

    def _silent_until(self, subject: Finding) -> int | None:
        silence = self._silences.get(subject.link)
        return None if silence is None else silence.until_ms

    def _batch(
        self, turns: Sequence[Turn], verdict: LinkVerdict | None, setting: Setting
    ) -> TellingBatch:
        if not turns:
            return TellingBatch()
        messages: list[Outgoing] = []
        for turn in turns:
            self._note_silent_end(turn)
            if turn.tells is not None:
                messages += self._messages(turn, verdict, setting)
        return TellingBatch(
            alerts=(turns[-1].alert,),
            steps=tuple(t.transition for t in turns),
            messages=messages,
        )

    def _messages(
        self, turn: Turn, verdict: LinkVerdict | None, setting: Setting
    ) -> list[Outgoing]:
        """One for each target that takes it; what quiet hours hold back speaks of the morning."""
        alert, kind = turn.alert, turn.tells
        if kind is None:
            return []
        link = self._link(alert.finding.link)
        now = alert_message(link, alert, kind, verdict, setting)
        later = alert_message(link, alert, kind, verdict, replace(setting, night=False))
        worst = max(alert.finding.severity, alert.told_severity or Severity.NOTE)
        sent = []
        for target in self._telling.targets:
            waits = target.quiet and setting.night and not now.wakes
            if worst < target.least or (kind is MessageKind.LASTING and not _news(target, setting)):
                continue
            sent.append(self._outgoing(target, later if waits else now, setting, waits=waits))
        return sent

    def _link(self, name: LinkName) -> Link:
        return self._links.get(name) or (
            self._station if name == STATION else replace(self._station, name=name)
        )

    def _outgoing(
        self, target: Target, message: Message, setting: Setting, *, waits: bool
    ) -> Outgoing:
        self._order += 1
        until = quiet_until_ms(self._hours, setting.now_ms, setting.offset_s)
        return Outgoing(
            order=self._order,
            target=target.name,
            message=message,
            not_before_ms=until if waits else setting.now_ms,
        )

    def to_targets(self, message: Message, setting: Setting, *, weekly: bool) -> list[Outgoing]:
        """A message for every target that takes it (`weekly`: those that want the summary)."""
        return [
            self._outgoing(target, message, setting, waits=target.quiet and setting.night)
            for target in self._telling.targets
            if (target.weekly if weekly else message.severity >= target.least)
        ]

    def acknowledge(self, number: int, who: str, now_ms: int) -> TellingBatch | str:
        """A person has seen alert `number`; a sentence says why not."""
        return self._act(number, AlertEvent.ACKNOWLEDGE, who, now_ms, None)

    def mute(self, number: int, who: str, now_ms: int, until_ms: int) -> TellingBatch | str:
        """No more of alert `number` until then; a sentence says why not."""
        return self._act(number, AlertEvent.MUTE, who, now_ms, until_ms)

    def _act(
        self, number: int, event: AlertEvent, who: str, now_ms: int, until_ms: int | None
    ) -> TellingBatch | str:
        alert = next((a for a in self._alerts.values() if a.number == number), None)
        if alert is None:
            return f"there is no open alert {number}"
        if not may(alert.state, event):
            return f"alert {number} is {alert.state.value}: it cannot be {_DONE[event]}"
        turn = act(alert, event, now_ms, who, until_ms)
        self._keep(turn.alert, is_new=False)
        return TellingBatch(alerts=(turn.alert,), steps=(turn.transition,))

    def silence(
        self, link: LinkName, who: str, now_ms: int, until_ms: int, why: str = "mute"
    ) -> TellingBatch:
        """Tell nothing of a link until then; what is told already is muted at the next look.

        A silence that goes on already is only given another end: its summary tells of all of it,
        and what it muted stays so until then.
        """
        before = self._silences.get(link)
        from_ms = now_ms if before is None else before.from_ms
        silence = Silence(link=link, from_ms=from_ms, until_ms=until_ms, who=who, why=why)
        self._silences[link] = silence
        muted = [] if before is None else self._muted_by(before)
        longer = [replace(alert, until_ms=until_ms) for alert in muted]
        for alert in longer:
            self._keep(alert, is_new=False)
        return TellingBatch(silences=(silence,), alerts=longer)

    def speak(self, link: LinkName, now_ms: int) -> TellingBatch:
        """End the silence of a link now; the next look tells what happened meanwhile."""
        silence = self._silences.get(link)
        if silence is None:
            return TellingBatch()
        why = "rework-finished" if silence.why == "rework" else silence.why
        ended = replace(silence, until_ms=min(silence.until_ms, now_ms), why=why)
        self._silences[link] = ended
        muted = [replace(a, until_ms=ended.until_ms) for a in self._muted_by(silence)]
        for alert in muted:
            self._keep(alert, is_new=False)
        return TellingBatch(silences=(ended,), alerts=muted)

    def _muted_by(self, silence: Silence) -> list[Alert]:
        """The alerts that a silence has muted; one that a person muted has an end of its own."""
        return [
            alert
            for alert in self._alerts.values()
            if alert.finding.link == silence.link
            and alert.state is AlertState.MUTED
            and alert.until_ms == silence.until_ms
        ]

    def _end_silences(
        self, by_link: Mapping[LinkName, LinkVerdict], setting: Setting
    ) -> TellingBatch:
        over = [s for s in self._silences.values() if s.until_ms <= setting.now_ms]
        return _joined([self._end_silence(s, setting) for s in over])

    def _end_silence(self, silence: Silence, setting: Setting) -> TellingBatch:
        """One summary; what is still so goes on as told, so that its end is told too."""
        still = self._muted_by(silence)
        del self._silences[silence.link]
        turns = [act(alert, AlertEvent.MUTE_OVER, setting.now_ms, "") for alert in still]
        for turn in turns:
            self._keep(turn.alert, is_new=False)
        return TellingBatch(
            alerts=[t.alert for t in turns],
            steps=[t.transition for t in turns],
            messages=self._summary(silence, still, setting),
            unsilenced=(silence.link,),
        )

    def _summary(
        self, silence: Silence, still: Sequence[Alert], setting: Setting
    ) -> list[Outgoing]:
        ended = self._ended.pop(silence.link, [])
        if not (still or ended or silence.why == "rework"):
            return []
        link = self._link(silence.link)
        heads = [finding_headline(link, a.finding) for a in still]
        message = after_silence_message(link, silence, ended, heads, setting)
        return self.to_targets(message, setting, weekly=False)

    def _note_silent_end(self, turn: Turn) -> None:
        """Remember, for the summary, what began and ended while nothing was told."""
        step, finding = turn.transition, turn.alert.finding
        if step.event is AlertEvent.STEADY and step.before is AlertState.MUTED:
            headline = finding_headline(self._link(finding.link), finding)
            self._ended.setdefault(finding.link, []).append(headline)


_DONE: Final = {AlertEvent.ACKNOWLEDGE: "acknowledged", AlertEvent.MUTE: "muted"}


def _news(target: Target, setting: Setting) -> bool:
    """Whether a lasting outage is news: only where its beginning was held back for the night."""
    return target.quiet and setting.night


def _station_link(station: str) -> Link:
    """What the words need where something is about no link."""
    return Link(name=LinkName(station), a=PortEnd(name=station), b=PortEnd(name=station))


def _joined(batches: Sequence[TellingBatch]) -> TellingBatch:
    return TellingBatch(
        alerts=[a for b in batches for a in b.alerts],
        steps=[s for b in batches for s in b.steps],
        messages=[m for b in batches for m in b.messages],
        silences=[s for b in batches for s in b.silences],
        unsilenced=[u for b in batches for u in b.unsilenced],
    )
