"""A state as bytes with its version, and back. Another version is refused: replay rebuilds it.

Layout: one byte version, four bytes length of the live part, the live part, the slow part; each is
zlib of JSON with dataclasses as lists of their fields in order. A field that is added stands at the
end and has a default, which older bytes then get. Any other change of a field in state.py, slow.py
or model.block.Col needs a new version, and costs every link what the raw rows cannot give back.
"""

from __future__ import annotations

import dataclasses
import json
import types
import typing
import zlib
from functools import cache
from typing import Any, Final, cast

import numpy as np

from strandkeeper.analysis.slow import DirectionSlow, EndSlow, LinkSlow
from strandkeeper.analysis.state import LinkLive, LinkState
from strandkeeper.errors import DecodeError
from strandkeeper.model.block import MISSING, Col, Ints

__all__ = ["STATE_VERSION", "StateVersionError", "decode", "encode"]

STATE_VERSION: Final = 11


class StateVersionError(DecodeError):
    """The state was written by another version of the analysis; it is rebuilt by replay."""


def encode(state: LinkState) -> bytes:
    """The state as bytes.

    Parameters
    ----------
    state : LinkState
        What `advance` returned [-].

    Returns
    -------
    bytes
        [-] Version byte and content; a few kilobytes.

    Raises
    ------
    Nothing.

    Source
    ------
    Own design, no source.

    Example
    -------
    >>> encode(LinkState())[0] == STATE_VERSION
    True
    """
    slow = state.slow
    if not slow.packed:
        slow.packed = _pack([slow.directions, slow.ends])
    live = _pack([state.live, _tidy(state.pending), state.carry])
    return bytes([STATE_VERSION]) + len(live).to_bytes(4, "big") + live + slow.packed


def decode(data: bytes) -> LinkState:
    """The state that `encode` wrote.

    Parameters
    ----------
    data : bytes
        From the record [-].

    Returns
    -------
    LinkState
        [-] Equal in effect to the one encoded.

    Raises
    ------
    StateVersionError
        Written by another version: rebuild by replay.
    DecodeError
        Damaged.

    Source
    ------
    Own design, no source.

    Example
    -------
    >>> decode(encode(LinkState())).live.up is None
    True
    """
    if not data or data[0] != STATE_VERSION:
        got = data[0] if data else "nothing"
        raise StateVersionError(
            f"the analysis state is of version {got}, this release needs {STATE_VERSION}",
            hint="It is rebuilt from the record's rows.",
        )
    try:
        edge = 5 + int.from_bytes(data[1:5], "big")
        live, pending, carry = _unpack(data[5:edge])
        directions, ends = _unpack(data[edge:])
        return LinkState(
            live=_typed(LinkLive, live),
            slow=LinkSlow(
                directions=_typed(list[DirectionSlow], directions), ends=_typed(list[EndSlow], ends)
            ),
            pending=_typed(tuple[Ints, ...], pending),
            carry=_typed(Ints, carry),
        )
    except (zlib.error, ValueError, TypeError, IndexError, KeyError) as error:
        raise DecodeError(
            f"the analysis state is damaged: {error}", hint="It is rebuilt from the record's rows."
        ) from error


def _pack(value: Any) -> bytes:
    return zlib.compress(json.dumps(_plain(value), separators=(",", ":")).encode(), 1)


def _unpack(data: bytes) -> Any:
    return json.loads(zlib.decompress(data))


def _tidy(pending: tuple[Ints, ...]) -> tuple[Ints, ...]:
    """The pending rows in one piece; module numbers mean nothing outside their block."""
    if not pending:
        return ()
    whole = np.concatenate(pending, axis=1)
    whole[Col.MODULE] = MISSING
    return (whole,)


@cache
def _names(kind: type) -> tuple[str, ...]:
    return tuple(field.name for field in dataclasses.fields(kind))


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if dataclasses.is_dataclass(value):
        return [_plain(getattr(value, name)) for name in _names(cast("Any", type(value)))]
    return value


@cache
def _hints(kind: type) -> tuple[Any, ...]:
    hints = typing.get_type_hints(kind)
    return tuple(hints[name] for name in _names(kind))


def _typed(kind: Any, value: Any) -> Any:
    """Build a value of that type out of plain JSON."""
    origin, arguments = typing.get_origin(kind), typing.get_args(kind)
    if kind == Ints:
        return np.array(value, dtype=np.int64).reshape(len(value), -1)
    if origin in (types.UnionType, typing.Union):
        return None if value is None else _typed(arguments[0], value)
    if origin is list:
        return [_typed(arguments[0], item) for item in value]
    if origin is tuple:
        return _tuple(arguments, value)
    if origin is dict:
        return {key: _typed(arguments[1], item) for key, item in value.items()}
    if dataclasses.is_dataclass(kind):
        hints = _hints(cast("type", kind))
        if len(value) > len(hints):
            raise ValueError(f"{kind} has {len(hints)} fields, not {len(value)}")
        return cast("type", kind)(*map(_typed, hints, value))
    return value


def _tuple(arguments: tuple[Any, ...], value: list[Any]) -> tuple[Any, ...]:
    if arguments[-1] is Ellipsis:
        return tuple(_typed(arguments[0], item) for item in value)
    return tuple(map(_typed, arguments, value))
