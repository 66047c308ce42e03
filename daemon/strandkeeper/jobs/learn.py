"""Learning what an unknown switch publishes: walk its own subtree, watch it, and rank what it is.

For `survey --learn`, and for whoever else has a started client:

    learned = await learn(client, switch)                  # one switch alone
    learned = await learn_together(client, [a, b], links)  # switches that are each other's far ends

`learned.proposals` are best first (readers/identify.py); `alerts.wording_identify` says them in
words, `jobs.learn_text` writes the commented table. The walk is bounded in rows, requests and
time, goes slowly, goes round what the switch fails on, and says what it did not read.
"""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Final

from strandkeeper.errors import DeviceError
from strandkeeper.model.identification import Proposal
from strandkeeper.model.names import SwitchName
from strandkeeper.model.oid import Absent, Oid, Value, as_int, as_oid, dotted
from strandkeeper.model.reading import OperStatus, Quantity
from strandkeeper.optics.mau_table import MAU_TYPES
from strandkeeper.optics.pmd import by_mau_type
from strandkeeper.optics.units import Dbm
from strandkeeper.readers import entity_tree, interfaces
from strandkeeper.readers.base import Column, PortKey
from strandkeeper.readers.identify import Observations, PortSeen, rank, watch_list
from strandkeeper.readers.ports import port_keys
from strandkeeper.snmp.session import SnmpClient

__all__ = [
    "ENTERPRISES",
    "Joint",
    "Learned",
    "learn",
    "learn_together",
    "look_again",
    "observe",
    "sent_by",
]

ENTERPRISES: Final = (1, 3, 6, 1, 4, 1)
POLLS: Final = 6
EVERY_S: Final = 12.0  # agents read modules every 10 to 30 s, as a rule
MAX_ROWS: Final = 12_000
MAX_WALK_S: Final = 180.0
MAX_WATCHED: Final = 800
_CHUNK: Final = 250
_PAUSE_S: Final = 0.1
_MOST_DETOURS: Final = 40

Wait = Callable[[float], Awaitable[None]]
Say = Callable[[str], None]

_IF_TYPE: Final = (1, 3, 6, 1, 2, 1, 2, 2, 1, 3)
_ETHERNET: Final = (6, 62, 69, 117)  # IANAifType: csmacd and the names it had before
_DOT3_MAU_TYPE: Final = (1, 3, 6, 1, 2, 1, 26, 4)
# IANA-MAU-MIB: twisted pair, twinaxial and backplane; light of a class that is not named
_COPPER: Final = frozenset(
    (5, 10, 11, 14, 15, 16, 19, 20, 27, 28, 29, 30, 41, 54, 56, 57, 58, 70, 71, 75)
)
_SOME_LIGHT: Final = frozenset((21, 22, 31, 33, 37))


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """A link between two switches that are learned together: the ifIndex at both ends."""

    a: SwitchName
    a_index: int
    b: SwitchName
    b_index: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """What was found; `remarks` are sentences on what was not read; `walked` objects."""

    observations: Observations
    proposals: tuple[Proposal, ...]
    walked: int
    remarks: tuple[str, ...] = field(default=())


async def learn(
    client: SnmpClient, switch: SwitchName, *, wait: Wait = asyncio.sleep, say: Say = lambda _: None
) -> Learned:
    """Walk, watch and rank. Takes about a minute. Raises DeviceError when nothing is answered."""
    seen, remarks = await observe(client, switch, wait=wait, say=say)
    return await asyncio.to_thread(_learned, seen, remarks)


async def learn_together(
    client: SnmpClient,
    switches: Sequence[SwitchName],
    links: Sequence[Joint] = (),
    *,
    wait: Wait = asyncio.sleep,
    say: Callable[[SwitchName, str], None] = lambda _, __: None,
) -> dict[SwitchName, Learned | DeviceError]:
    """Learn several at once; what one surely sends helps to find what another receives."""

    async def one(switch: SwitchName) -> tuple[Observations, tuple[str, ...]] | DeviceError:
        try:
            return await observe(client, switch, wait=wait, say=partial(say, switch))
        except DeviceError as error:
            return error

    found = dict(zip(switches, await asyncio.gather(*map(one, switches)), strict=True))
    sent = await asyncio.to_thread(
        lambda: {s: {} if isinstance(f, DeviceError) else sent_by(f[0]) for s, f in found.items()}
    )
    learned: dict[SwitchName, Learned | DeviceError] = {}
    for switch, one_found in found.items():
        if isinstance(one_found, DeviceError):
            learned[switch] = one_found
            continue
        seen, remarks = one_found
        far = {
            here: sent[there][index]
            for here, there, index in _far_ends(switch, links)
            if index in sent.get(there, {})
        }
        learned[switch] = await asyncio.to_thread(_learned, replace(seen, far_sent=far), remarks)
    return learned


def _learned(seen: Observations, remarks: tuple[str, ...]) -> Learned:
    walked = len(seen.polls[0])
    return Learned(observations=seen, proposals=rank(seen), walked=walked, remarks=remarks)


def _far_ends(switch: SwitchName, links: Sequence[Joint]) -> Iterator[tuple[int, SwitchName, int]]:
    for link in links:
        if link.a == switch:
            yield link.a_index, link.b, link.b_index
        if link.b == switch:
            yield link.b_index, link.a, link.a_index


def sent_by(seen: Observations) -> dict[int, Dbm]:
    """What a switch sends by ifIndex, if its transmit power is beyond doubt."""
    by_label = {port.label: port.if_index for port in seen.ports}
    for proposal in rank(seen):
        figure = proposal.figure(Quantity.TX)
        if figure is not None and figure.confident:
            return {
                by_label[s.port]: Dbm(s.figure)
                for s in figure.ranked[0].samples
                if s.port in by_label and isinstance(s.figure, float)
            }
    return {}


async def observe(
    client: SnmpClient, switch: SwitchName, *, wait: Wait = asyncio.sleep, say: Say = lambda _: None
) -> tuple[Observations, tuple[str, ...]]:
    """Walk the enterprise subtree once, then ask again what could be readings, some times."""
    ports, entities = await _ports(client, switch)
    say("walking the switch's own tables")
    leaves, remarks = await _walk(client, switch, wait)
    seen = Observations(polls=(leaves,), ports=ports, entities=entities)
    # in a thread: other switches must not wait for it beyond their deadlines
    watched = await asyncio.to_thread(watch_list, seen)
    if len(watched) > MAX_WATCHED:
        remarks.append(f"{len(watched) - MAX_WATCHED} objects that could be readings not watched")
    polls: list[Mapping[Oid, Value]] = [leaves]
    for turn in range(1, POLLS if watched else 1):
        say(f"watching {len(watched)} objects, {turn} of {POLLS - 1}")
        await wait(EVERY_S)
        try:
            polls.append(await look_again(client, switch, watched[:MAX_WATCHED]))
        except DeviceError as error:
            remarks.append(f"one look at the readings failed: {error.message}")
    return replace(seen, polls=tuple(polls)), tuple(dict.fromkeys(remarks))


async def look_again(
    client: SnmpClient, switch: SwitchName, oids: Sequence[Oid]
) -> dict[Oid, Value]:
    """The objects that are there now. Raises DeviceError."""
    answer = await client.get(switch, oids)
    return {o: v for o, v in answer.values.items() if not isinstance(v, Absent)}


async def _walk(
    client: SnmpClient, switch: SwitchName, wait: Wait
) -> tuple[dict[Oid, Value], list[str]]:
    """The enterprise subtree in small portions, round what the switch fails on."""
    leaves: dict[Oid, Value] = {}
    remarks: list[str] = []
    after: Oid = ENTERPRISES
    detours = 0
    ends = asyncio.get_running_loop().time() + MAX_WALK_S
    while len(leaves) < MAX_ROWS:
        walk = await client.walk(switch, ENTERPRISES, after=after, max_rows=_CHUNK)
        found = {(*ENTERPRISES, *tail): value for tail, value in walk.rows.items()}
        leaves.update(found)
        last = max(found, default=after)
        if walk.remark and len(found) < _CHUNK:
            turns = _detours(last)
            aside, rest = await _past(client, switch, turns[: _MOST_DETOURS - detours], wait)
            detours += aside
            remarks.append(f"objects behind {dotted(last)} were not read: {walk.remark}")
            if rest is None:
                return leaves, remarks
            after = rest
        elif len(found) < _CHUNK:
            return leaves, remarks
        else:
            after = last
        if asyncio.get_running_loop().time() > ends:
            break
        await wait(_PAUSE_S)
    return leaves, [*remarks, f"the walk was stopped after {len(leaves)} objects"]


async def _past(
    client: SnmpClient, switch: SwitchName, turns: Sequence[Oid], wait: Wait
) -> tuple[int, Oid | None]:
    """How many turns it took to find a way on, and the object behind which to go on."""
    for tried, turn in enumerate(turns, 1):
        await wait(_PAUSE_S)
        walk = await client.walk(switch, ENTERPRISES, after=turn, max_rows=1)
        if walk.rows or not walk.remark:
            return tried, turn
    return len(turns), None


def _detours(last: Oid) -> list[Oid]:
    """Where to try again: the next columns, then the next tables, then what is beyond them."""
    found: list[Oid] = []
    for at in range(len(last) - 2, len(ENTERPRISES), -1):
        reach = 8 if at >= len(last) - 3 else 2
        found += [(*last[:at], last[at] + step) for step in range(1, reach + 1)]
    return found


async def _ports(
    client: SnmpClient, switch: SwitchName
) -> tuple[tuple[PortSeen, ...], dict[int, int]]:
    """The ports with what is known of their light, and the modules that belong to them."""

    async def column(oid: Oid) -> Column:
        return (await client.walk(switch, oid, max_rows=2048)).rows

    names, descrs = await column(interfaces.IF_NAME), await column(interfaces.IF_DESCR)
    kinds, opers = await column(_IF_TYPE), await column(interfaces.IF_OPER_STATUS)
    maus, fast = await column(interfaces.IF_MAU_TYPE), await column(interfaces.IF_HIGH_SPEED)
    slow = {} if fast else await column(interfaces.IF_SPEED)
    keys = port_keys(names, descrs, {})
    with_mau = {index[0] for index in maus}
    physical = [
        k.if_index
        for k in keys
        if as_int(kinds.get((k.if_index,))) in (*_ETHERNET, None) or k.if_index in with_mau
    ]
    ports = tuple(
        _port(
            key,
            physical.index(key.if_index) + 1 if key.if_index in physical else 0,
            as_int(opers.get((key.if_index,))),
            next((as_oid(v) for i, v in maus.items() if i[0] == key.if_index), None),
            as_int(fast.get((key.if_index,)))
            or (as_int(slow.get((key.if_index,))) or 0) // 1_000_000,
        )
        for key in keys
    )
    return ports, await _entities(client, switch, keys)


def _port(
    key: PortKey, position: int, oper: int | None, mau: Oid | None, speed_mbps: int
) -> PortSeen:
    arc = mau[-1] if mau is not None and mau[:-1] == _DOT3_MAU_TYPE else None
    optical = None
    if arc is not None:
        light = arc in MAU_TYPES or arc in _SOME_LIGHT
        optical = True if light else False if arc in _COPPER else None
    return PortSeen(
        if_index=key.if_index,
        name=key.name,
        descr=key.descr,
        position=position,
        up=None if oper is None else oper == OperStatus.UP,
        optical=optical,
        spec=None if arc is None else by_mau_type(arc),
        speed_mbps=speed_mbps or None,
    )


async def _entities(
    client: SnmpClient, switch: SwitchName, keys: Sequence[PortKey]
) -> dict[int, int]:
    first = await client.walk(switch, entity_tree.COLUMNS[0], max_rows=4096)
    if not first.rows:
        return {}
    tables: dict[Oid, Column] = {entity_tree.COLUMNS[0]: first.rows}
    for oid in entity_tree.COLUMNS[1:]:
        tables[oid] = (await client.walk(switch, oid, max_rows=4096)).rows
    tree = entity_tree.EntityTree(tables, keys)
    tied = {index[0]: tree.tie(index[0]) for index in first.rows if len(index) == 1}
    return {entity: found[0] for entity, found in tied.items() if len(found) == 1}
