"""Read requests, built once and used again, and answers turned into plain values.

Building a request costs the library more than all the rest of a poll but the decoding; a built one
is kept by what it asks. Only three kinds exist here: there is no way to build a write.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Any

from pyasn1.type import univ  # type: ignore[import-untyped]
from pysnmp.proto import rfc1905
from pysnmp.proto.api import v1, v2c

from strandkeeper.model.oid import Absent, Oid, Value

__all__ = ["READ_TAG_SETS", "Kind", "PduShelf", "Reply", "plain", "reply_of"]

_KEPT = 4096


class Kind(Enum):
    """The read requests of RFC 3416."""

    GET = "get"
    NEXT = "next"
    BULK = "bulk"


@dataclass(frozen=True, slots=True)
class Reply:
    """A response: error-status and error-index as they came, and what was named with its value."""

    error_status: int
    error_index: int
    varbinds: list[tuple[Oid, Value]]


_CLASSES = {
    (0, Kind.GET): v1.GetRequestPDU,
    (0, Kind.NEXT): v1.GetNextRequestPDU,
    (1, Kind.GET): v2c.GetRequestPDU,
    (1, Kind.NEXT): v2c.GetNextRequestPDU,
    (1, Kind.BULK): v2c.GetBulkRequestPDU,
}
READ_TAG_SETS = frozenset(pdu_class.tagSet for pdu_class in _CLASSES.values())


class PduShelf:
    """Built GET requests by PDU version and the OIDs they ask; the least used give way."""

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[int, tuple[Oid, ...]], Any] = OrderedDict()

    def get(self, pdu_version: int, oids: tuple[Oid, ...]) -> Any:
        """A GET for these OIDs; `pdu_version` 0 for v1, 1 for v2c and v3."""
        key = (pdu_version, oids)
        pdu = self._kept.get(key)
        if pdu is None:
            pdu = self._kept[key] = build(Kind.GET, pdu_version, oids)
            if len(self._kept) > _KEPT:
                self._kept.popitem(last=False)
        else:
            self._kept.move_to_end(key)
        return pdu


def build(kind: Kind, pdu_version: int, oids: Sequence[Oid], *, repetitions: int = 0) -> Any:
    """A read request of the library's making. Raises KeyError for a BULK of v1, which has none."""
    api = v2c if pdu_version else v1
    pdu = _CLASSES[pdu_version, kind]()
    if kind is Kind.BULK:
        v2c.apiBulkPDU.set_defaults(pdu)
        v2c.apiBulkPDU.set_non_repeaters(pdu, 0)
        v2c.apiBulkPDU.set_max_repetitions(pdu, repetitions)
        v2c.apiBulkPDU.set_varbinds(pdu, [(oid, v2c.Null("")) for oid in oids])
    else:
        api.apiPDU.set_defaults(pdu)
        api.apiPDU.set_varbinds(pdu, [(oid, api.Null("")) for oid in oids])
    return pdu


def reply_of(pdu: Any, pdu_version: int) -> Reply:
    """The response in plain values."""
    api = (v2c if pdu_version else v1).apiPDU
    return Reply(
        int(api.get_error_status(pdu)),
        int(api.get_error_index(pdu, muteErrors=True)),
        [(name.asTuple(), plain(value)) for name, value in api.get_varbinds(pdu)],
    )


_ABSENT = {
    rfc1905.NoSuchObject: Absent.NO_SUCH_OBJECT,
    rfc1905.NoSuchInstance: Absent.NO_SUCH_INSTANCE,
    rfc1905.EndOfMibView: Absent.END_OF_VIEW,
}


def plain(value: Any) -> Value:
    """A value of the library as a plain one."""
    if isinstance(value, univ.Integer):
        return int(value)
    if isinstance(value, univ.Null):  # before octet strings: the library derives one from the other
        return _ABSENT.get(type(value), Absent.FAILED)
    if isinstance(value, univ.OctetString):
        return bytes(value)
    if isinstance(value, univ.ObjectIdentifier):
        return tuple(value.asTuple())
    return Absent.FAILED
