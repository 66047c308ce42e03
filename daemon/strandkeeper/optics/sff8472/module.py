"""A whole module: both pages together, with what each says of the other."""

from __future__ import annotations

from dataclasses import dataclass

from strandkeeper.errors import DecodeError
from strandkeeper.optics.sff8472.diagnostics import Diagnostics, decode_diagnostics
from strandkeeper.optics.sff8472.identity import Identity, decode_identity

__all__ = ["Module", "decode_module"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Module:
    """What is known of a module. `no_diagnostics` says why there are none, empty if there are."""

    identity: Identity | None
    diagnostics: Diagnostics | None
    no_diagnostics: str
    problems: tuple[str, ...]


def decode_module(a0: bytes | None, a2: bytes | None = None) -> Module:
    """Decode both pages; whatever is sound is shown, whatever is not is said.

    Parameters
    ----------
    a0 : bytes | None [-, shape (1 to 256,)]
        The serial ID page.
    a2 : bytes | None [-, shape (1 to 256,)]
        The diagnostics page.

    Returns
    -------
    Module [°C, V, mA, µW, nm, m]
        Problems of both pages together.

    Raises
    ------
    DecodeError
        When neither page can be used.

    Source
    ------
    SFF-8472 Rev 12.2; see `decode_identity` and `decode_diagnostics`.

    Example
    -------
    >>> decode_module(bytes([3, 4, 7])).no_diagnostics
    'the diagnostics page (A2h) was not given'
    """
    if a0 is None and a2 is None:
        raise DecodeError("no page was given", hint="give at least the A0h page")
    identity, problems = _identity(a0)
    if a2 is None:
        why = _why_no_page(identity)
        return Module(
            identity=identity, diagnostics=None, no_diagnostics=why, problems=tuple(problems)
        )
    try:
        diagnostics = decode_diagnostics(a2, identity.diagnostics if identity else None)
    except DecodeError as error:
        if identity is None:
            raise
        return Module(
            identity=identity,
            diagnostics=None,
            no_diagnostics=error.message,
            problems=tuple(problems),
        )
    return Module(
        identity=identity,
        diagnostics=diagnostics,
        no_diagnostics="",
        problems=(*problems, *diagnostics.problems),
    )


def _identity(a0: bytes | None) -> tuple[Identity | None, list[str]]:
    if a0 is None:
        return None, []
    try:
        identity = decode_identity(a0)
    except DecodeError as error:
        return None, [error.message]
    return identity, list(identity.problems)


def _why_no_page(identity: Identity | None) -> str:
    if identity is None:
        raise DecodeError("no page could be used", hint="was the right port read?")
    if identity.diagnostics is not None and not identity.diagnostics.implemented:
        return "the module says that it has no diagnostics (A0h byte 92 bit 6 is 0)"
    return "the diagnostics page (A2h) was not given"
