"""How targets, heartbeat and traps belong together and to the rest of the file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from strandkeeper.config.problem import Problem, nearest, one_of, place, value_text
from strandkeeper.config.telling_tables import HeartbeatTable, TargetTable

__all__ = ["telling_problems"]

_URLS = ("url_file", "url_env", "url_credential")


def telling_problems(
    targets: Sequence[TargetTable],
    names: Sequence[str],
    heartbeat: HeartbeatTable | None,
) -> Iterator[Problem]:
    """Names once, one way a target, a heartbeat that goes somewhere. `names` are all targets'."""
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            yield Problem(
                f'target "{name}"',
                f"{names.count(name)} of this name; every target needs a name of its own",
            )
    for target in targets:
        yield from _one_way(target)
    if heartbeat is not None:
        yield from _heartbeat(heartbeat, names)


def _one_way(target: TargetTable) -> Iterator[Problem]:
    given = [k for k in (*_URLS, "command") if getattr(target, k) is not None]
    given += ["system_log"] if target.system_log else []
    where = f'target "{target.name}"'
    if not given:
        yield Problem(
            where,
            f"missing: how to reach it; one of {one_of((*_URLS, 'command', 'system_log'))}",
            'url_file = "phone.url"',
        )
    elif len(given) > 1:
        yield Problem(where, f"{' and '.join(given)} are two ways; make a target of each")
    if target.command == [""]:
        yield Problem(place(where, "command"), "got no program", 'command = ["/usr/local/bin/x"]')


def _heartbeat(table: HeartbeatTable, names: Sequence[str]) -> Iterator[Problem]:
    given = [k for k in ("target", *_URLS) if getattr(table, k) is not None]
    if not given:
        yield Problem(
            "heartbeat",
            f"missing: where it goes; one of {one_of(('target', *_URLS))}",
            f"target = {value_text(names[0]) if names else value_text('phone')}",
        )
    elif len(given) > 1:
        yield Problem("heartbeat", f"{' and '.join(given)} are two ways; keep one")
    if table.target is not None and table.target not in names:
        close = nearest(table.target, names)
        known = ", ".join(value_text(n) for n in dict.fromkeys(names)) or "none"
        yield Problem(
            place("heartbeat", "target"),
            f"no [[target]] is called {value_text(table.target)}; there are: {known}",
            f"target = {value_text(close)}" if close else "",
        )
