"""What `check` says without asking anybody: the record's place, secrets, what was left out."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from strandkeeper.app.secrets import open_to_others
from strandkeeper.model.link import Link
from strandkeeper.model.settings import Settings
from strandkeeper.model.switch import CommunityRef, SecretRef, SwitchTarget

__all__ = ["Notes", "offline_notes", "secrets_of"]


@dataclass(slots=True)
class Notes:
    """Sentences for the end of the answer: what can be mended, and what is only worth knowing."""

    problems: list[str] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)


def offline_notes(settings: Settings) -> Notes:
    """Everything that the file and this computer alone show. Secrets are read and let go again."""
    notes = Notes()
    notes.problems += _record(Path(settings.store.path))
    for target in settings.switches:
        notes.remarks += _secret_remarks(target)
    if not settings.links:
        notes.problems.append("no link is configured, so nothing is watched: add a [[link]]")
    for link in settings.links:
        notes.remarks += _link_remarks(link, settings)
    return notes


def secrets_of(target: SwitchTarget) -> tuple[SecretRef, ...]:
    """Every secret that a switch needs."""
    held = target.credentials
    refs = (held.community,) if isinstance(held, CommunityRef) else (held.auth_key, held.priv_key)
    return tuple(ref for ref in refs if ref is not None)


def _record(path: Path) -> Iterator[str]:
    """Whether the record can be written where it shall be, without writing there."""
    folder = path.parent
    who = f"by the user that runs this check (uid {os.geteuid()})"
    if path.is_dir():
        yield f"store › path: {path} is a directory; name a file in it"
    elif path.exists():
        if not os.access(path, os.W_OK):
            yield f"store › path: {path} cannot be written {who}"
    elif not folder.is_dir():
        if not (folder.parent.is_dir() and os.access(folder.parent, os.W_OK)):
            yield f"store › path: there is no directory {folder}; make it: mkdir -p {folder}"
    elif not os.access(folder, os.W_OK):
        yield f"store › path: no file can be made in {folder} {who}"


def _secret_remarks(target: SwitchTarget) -> Iterator[str]:
    for ref in secrets_of(target):
        if open_to_others(ref):
            yield (
                f'switch "{target.name}": everyone on this computer can read the secret in '
                f"{ref.where}; shut it: chmod o= {ref.where}"
            )


def _link_remarks(link: Link, settings: Settings) -> Iterator[str]:
    where = f'link "{link.name}"'
    if link.length_m is None:
        yield f"{where}: without a length there is no planned loss to compare with"
    if link.near is None and link.behind is None and len(settings.switches) > 1:
        yield (
            f"{where}: if one of its switches is reached through it, say which end this computer "
            'is at (near = "a" or "b"); else its silence is told as a second fault'
        )
