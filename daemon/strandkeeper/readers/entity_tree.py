"""The physical tree of ENTITY-MIB, and the way from a sensor up to its port.

In this order (RFC 6933 for the tables; the order is common practice, no source):
1. climb entPhysicalContainedIn until an entity with an alias mapping to an interface is met;
2. else, at each step of that climb, the port among the children of the entity: the only one, or
   of several the one that the sensor's lane counts to;
3. else a name of the sensor or of an ancestor that holds a port's name as a whole word; the longest
   name wins.
Chassis and stack prove nothing. A number that merely agrees is not taken: it would be a guess.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from strandkeeper.model.oid import Oid, as_int, as_oid, as_text
from strandkeeper.readers.base import Column, PortKey

__all__ = ["COLUMNS", "MAY_BE_MODULES", "Entity", "EntityTree"]

_ENTITY = (1, 3, 6, 1, 2, 1, 47, 1, 1, 1, 1)
DESCR, CONTAINED_IN, CLASS = (*_ENTITY, 2), (*_ENTITY, 4), (*_ENTITY, 5)
NAME, SERIAL = (*_ENTITY, 7), (*_ENTITY, 11)
MFG_NAME, MODEL_NAME = (*_ENTITY, 12), (*_ENTITY, 13)
ALIAS_MAPPING = (1, 3, 6, 1, 2, 1, 47, 1, 3, 2, 1, 2)
COLUMNS = (DESCR, CONTAINED_IN, CLASS, NAME, SERIAL, MFG_NAME, MODEL_NAME, ALIAS_MAPPING)

_IF_ENTRY = (1, 3, 6, 1, 2, 1, 2, 2, 1)
_IF_X_ENTRY = (1, 3, 6, 1, 2, 1, 31, 1, 1, 1)
_OTHER, _UNKNOWN, _CHASSIS, _SENSOR, _MODULE, _PORT, _STACK = 1, 2, 3, 8, 9, 10, 11
MAY_BE_MODULES = (_OTHER, _UNKNOWN, _MODULE, _PORT)  # what agents call a pluggable optic
_LONGEST_CLIMB = 32
_MOST_LANES = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Entity:
    """One row of entPhysicalTable."""

    index: int
    descr: str = ""
    name: str = ""
    contained_in: int = 0
    kind: int = 0
    serial: str = ""
    maker: str = ""
    part: str = ""


class EntityTree:
    """The rows, and questions to them. Loops, missing parents and holes are survived."""

    def __init__(self, tables: Mapping[Oid, Column], ports: Sequence[PortKey]) -> None:
        self._entities = _entities(tables)
        self._children: dict[int, list[Entity]] = {}
        for entity in self._entities.values():
            self._children.setdefault(entity.contained_in, []).append(entity)
        self._mapped = _alias_mappings(tables.get(ALIAS_MAPPING, {}))
        self._ports = ports

    def entity(self, index: int) -> Entity:
        """The row of that index; an empty one if the table has none."""
        return self._entities.get(index, Entity(index=index))

    def climb(self, index: int) -> Iterator[Entity]:
        """The entity and its ancestors below chassis and stack, at most 32, each once."""
        seen: set[int] = set()
        while index in self._entities and index not in seen and len(seen) < _LONGEST_CLIMB:
            entity = self._entities[index]
            if entity.kind in (_CHASSIS, _STACK):
                return
            seen.add(index)
            yield entity
            index = entity.contained_in

    def tie(self, sensor: int, lane: int | None = None) -> tuple[int, ...]:
        """The interfaces of a sensor; several if its port is split, none if nothing is certain."""
        return (
            self._by_mapping(sensor, lane)
            or self._by_child_port(sensor, lane)
            or self._by_name(sensor)
        )

    def _by_mapping(self, sensor: int, lane: int | None) -> tuple[int, ...]:
        for entity in self.climb(sensor):
            mapped = tuple(sorted(self._mapped.get(entity.index, ())))
            if mapped:
                return _of_lane(mapped, lane) or mapped
        return ()

    def _by_child_port(self, sensor: int, lane: int | None) -> tuple[int, ...]:
        for entity in self.climb(sensor):
            ports = [c for c in self._children.get(entity.index, ()) if c.kind == _PORT]
            found = tuple(sorted({i for p in ports for i in self._of_port(p)}))
            if len(ports) == 1:
                return found
            if ports:
                return _of_lane(found, lane)
        return ()

    def _of_port(self, port: Entity) -> set[int]:
        return self._mapped.get(port.index) or set(self._named_in(port))

    def _by_name(self, sensor: int) -> tuple[int, ...]:
        for entity in self.climb(sensor):
            found = self._named_in(entity)
            if found:
                return found
        return ()

    def _named_in(self, entity: Entity) -> tuple[int, ...]:
        """The one port whose name stands in the entity's texts, the longest name winning."""
        best: dict[int, set[int]] = {}
        for port in self._ports:
            for text in {port.name, port.descr} - {""}:
                if _holds(entity.name, text) or _holds(entity.descr, text):
                    best.setdefault(len(text), set()).add(port.if_index)
        longest = best[max(best)] if best else set()
        return tuple(longest) if len(longest) == 1 else ()

    def module(self, sensor: int) -> Entity | None:
        """The nearest ancestor with a serial number, else with a part number, below the chassis."""
        above = [e for e in self.climb(sensor) if e.kind != _SENSOR]
        numbered = next((e for e in above if e.serial), None)
        return numbered or next((e for e in above if e.part and e.kind in MAY_BE_MODULES), None)


def _of_lane(if_indexes: tuple[int, ...], lane: int | None) -> tuple[int, ...]:
    """The interface that a lane of a split port has become, if lanes and interfaces agree."""
    if lane is None or not 1 <= lane <= len(if_indexes) <= _MOST_LANES:
        return ()
    return (if_indexes[lane - 1],)


def _holds(text: str, word: str) -> bool:
    """Whether `word` stands in `text` by itself: "port 1" is not in "port 11".

    A bare number is a port's name only where "port" stands before it.
    """
    lead = r"(?:port|interface)[ #-]*" if word.isdigit() else r"(?<![A-Za-z0-9/.:])"
    found = re.search(rf"{lead}{re.escape(word)}(?![A-Za-z0-9/:]|\.[0-9])", text, re.IGNORECASE)
    return found is not None


def _entities(tables: Mapping[Oid, Column]) -> dict[int, Entity]:
    indexes = {i for c in (DESCR, CONTAINED_IN, CLASS, NAME) for i in tables.get(c, {})}
    return {
        index[0]: Entity(
            index=index[0],
            descr=as_text(tables.get(DESCR, {}).get(index)),
            name=as_text(tables.get(NAME, {}).get(index)),
            contained_in=as_int(tables.get(CONTAINED_IN, {}).get(index)) or 0,
            kind=as_int(tables.get(CLASS, {}).get(index)) or 0,
            serial=as_text(tables.get(SERIAL, {}).get(index)),
            maker=as_text(tables.get(MFG_NAME, {}).get(index)),
            part=as_text(tables.get(MODEL_NAME, {}).get(index)),
        )
        for index in indexes
        if len(index) == 1
    }


def _alias_mappings(column: Column) -> dict[int, set[int]]:
    """entAliasMappingTable: physical index to interfaces; pointers elsewhere are left out."""
    found: dict[int, set[int]] = {}
    for index, value in column.items():
        pointer = as_oid(value)
        if_index = None if pointer is None else _interface(pointer)
        if len(index) == 2 and if_index is not None:
            found.setdefault(index[0], set()).add(if_index)
    return found


def _interface(pointer: Oid) -> int | None:
    """The ifIndex in a pointer to any column of an interface's row, or to the row itself."""
    for entry in (_IF_ENTRY, _IF_X_ENTRY):
        if pointer[: len(entry)] == entry and len(pointer) - len(entry) in (1, 2):
            return pointer[-1]
    return None
