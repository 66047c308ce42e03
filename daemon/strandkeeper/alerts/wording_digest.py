"""Messages about messages: a digest after the way out was down, a trial, a sign of life, a week."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from strandkeeper.alerts.wording_figures import counted, duration
from strandkeeper.alerts.wording_messages import Setting, key_of, moment
from strandkeeper.alerts.wording_statement import link_statement
from strandkeeper.alerts.wording_units import in_units
from strandkeeper.model.finding import Severity
from strandkeeper.model.link import Link
from strandkeeper.model.message import Message, MessageKind
from strandkeeper.model.names import LinkName
from strandkeeper.model.silence import Silence
from strandkeeper.model.times import iso_utc
from strandkeeper.model.verdict import LinkVerdict

__all__ = [
    "after_silence_message",
    "digest_message",
    "heartbeat_message",
    "trial_message",
    "weekly_message",
]

_END_OF_SILENCE: Final = {
    "mute": "the mute is over;",
    "rework": "is the work on the link done?",
    "rework-finished": "the work on the link is over;",
}
_ASKED: Final = (
    "It was begun, not finished, and alerts go out again. If it is done, finish it (rework "
    "finish); if it goes on, mute the link for as long."
)
_WHOLE: Final = 20  # beyond so many, a digest gives only their first lines


def digest_message(messages: Sequence[Message], setting: Setting, *, failed: bool) -> Message:
    """Everything that waited, as one message; the keys of the parts are in its facts.

    The key is made of the parts': the same parts give the same digest.
    """
    why = "While the way out was down" if failed else "In the quiet hours"
    worst = max(m.severity for m in messages)
    title = f"{why}: {counted(len(messages), 'message')}"
    lines = [title, *(_entry(m, setting) for m in messages)]
    newest = [m for m in messages if m.severity is worst][-1]
    if len(messages) <= _WHOLE:
        lines += ["", "The newest of the most urgent in full:", newest.text]
    return Message(
        key=key_of("digest", *(m.key for m in messages)),
        kind=MessageKind.DIGEST,
        time_ms=setting.now_ms,
        severity=worst,
        title=title,
        text="\n".join(lines),
        wakes=any(m.wakes for m in messages),
        facts={
            "keys": [m.key for m in messages],
            "messages": [
                {"key": m.key, "kind": m.kind.value, "time": iso_utc(m.time_ms), "title": m.title}
                for m in messages
            ],
        },
    )


def _entry(message: Message, setting: Setting) -> str:
    return f"- {moment(message.time_ms, setting.offset_s)} {message.title}"


def after_silence_message(
    link: Link, silence: Silence, ended: Sequence[str], still: Sequence[str], setting: Setting
) -> Message:
    """What happened while nothing was told of a link; `ended`, `still`: headlines.

    A silence of open work that ran out asks what became of the work: nobody said that it is done.
    """
    total = len(ended) + len(still)
    asks = silence.why == "rework"
    title = f"{link.name}: {_END_OF_SILENCE[silence.why]} {counted(total, 'alert')} meanwhile"
    lines = [
        title,
        *([_ASKED] if asks else []),
        f"Silenced from {moment(silence.from_ms, setting.offset_s)} to "
        f"{moment(setting.now_ms, setting.offset_s)}"
        + (f" by {silence.who}." if silence.who else "."),
        *(f"- over again: {line}" for line in ended),
        *(f"- still so: {line}" for line in still),
    ]
    text = in_units("\n".join(lines), setting.units)
    return Message(
        key=key_of("after-silence", link.name, silence.from_ms, setting.now_ms),
        kind=MessageKind.AFTER_SILENCE,
        time_ms=setting.now_ms,
        severity=Severity.WARNING,
        title=title,
        text=text,
        link=link.name,
    )


def trial_message(target: str, setting: Setting) -> Message:
    """What `alerts --trial` sends."""
    title = f"{setting.station}: a trial message to {target}"
    text = f"{title}\nThis is how alerts will reach you. Nothing has happened; nothing to do."
    return _own(MessageKind.TRIAL, title, text, setting, key_of("trial", target, setting.now_ms))


def heartbeat_message(verdicts: Iterable[LinkVerdict], setting: Setting, every_s: float) -> Message:
    """A sign of life: that it does not come is the news."""
    known = list(verdicts)
    up = sum(v.up is True for v in known)
    title = f"{setting.station}: the watch is running; {up} of {counted(len(known), 'link')} up"
    text = f"{title}\nThe next sign of life comes in {duration(every_s)}; worry if it does not."
    return _own(MessageKind.HEARTBEAT, title, text, setting, key_of("heartbeat", setting.now_ms))


def weekly_message(
    links: Sequence[Link],
    verdicts: dict[LinkName, LinkVerdict],
    counts: dict[LinkName, str],
    setting: Setting,
) -> Message:
    """One paragraph a link: how it stands, and what the week brought (`counts`, a sentence)."""
    title = f"{setting.station}: the week until {moment(setting.now_ms, setting.offset_s)}"
    parts = [
        f"{link.name}. {link_statement(link, verdicts.get(link.name))} "
        f"{counts.get(link.name, '')}".rstrip()
        for link in links
    ]
    text = in_units("\n\n".join([title, *parts]), setting.units)
    return _own(MessageKind.WEEKLY, title, text, setting, key_of("weekly", setting.now_ms))


def _own(kind: MessageKind, title: str, text: str, setting: Setting, key: str) -> Message:
    return Message(
        key=key,
        kind=kind,
        time_ms=setting.now_ms,
        severity=Severity.NOTE,
        title=title,
        text=text,
    )
