"""Read requests, built once and used again, and answers turned into plain values.

Building a request costs the library more than all the rest of a poll but the decoding; a built one
is kept by what it asks, its varbinds encoded. Only three kinds exist here: there is no way to build
a write.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Any

from pyasn1.codec.ber import decoder  # type: ignore[import-untyped]
from pyasn1.error import PyAsn1Error  # type: ignore[import-untyped]
from pyasn1.type import univ  # type: ignore[import-untyped]
from pysnmp.proto import rfc1905
from pysnmp.proto.api import v1, v2c

from strandkeeper.model.oid import Absent, Oid, Value
from strandkeeper.snmp.messages import LightBulk, LightGet, LightNext, LightResponse, bindings
from strandkeeper.snmp.varbinds import read_varbinds

__all__ = ["LARGEST_ODD", "READ_TAG_SETS", "Kind", "PduShelf", "Reply", "plain", "reply_of"]

_KEPT = 4096
LARGEST_ODD = 4096  # octets that the library may make objects of: 64 kB keep it for two seconds


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
    (1, Kind.GET): LightGet,
    (1, Kind.NEXT): LightNext,
    (1, Kind.BULK): LightBulk,
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
    pdu = _CLASSES[pdu_version, kind]()
    if not pdu_version:
        v1.apiPDU.set_defaults(pdu)
        v1.apiPDU.set_varbinds(pdu, [(oid, v1.Null("")) for oid in oids])
        return pdu
    listed = rfc1905.VarBindList()
    for oid in oids:
        bound = rfc1905.VarBind()
        v2c.apiVarBind.set_oid_value(bound, (oid, v2c.Null("")))
        listed.append(bound)
    # GETBULK has non-repeaters and max-repetitions where the others have an error's status and
    # index (RFC 3416, section 3).
    figures = (v2c.getNextRequestID(), 0, repetitions if kind is Kind.BULK else 0)
    for place, figure in enumerate(figures):
        pdu.setComponentByPosition(place, figure)
    pdu.setComponentByPosition(3, bindings(listed))
    return pdu


def reply_of(pdu: Any, pdu_version: int) -> Reply:
    """The response in plain values. Raises PyAsn1Error for octets that are no list of varbinds."""
    api = (v2c if pdu_version else v1).apiPDU
    return Reply(
        int(api.get_error_status(pdu)),
        int(pdu.getComponentByPosition(2)),
        _varbinds(pdu.getComponentByPosition(3).asOctets())
        if isinstance(pdu, LightResponse)
        else [(name.asTuple(), plain(value)) for name, value in api.get_varbinds(pdu)],
    )


def _varbinds(data: bytes) -> list[tuple[Oid, Value]]:
    """The varbinds of an answer; what is unusual about their encoding is left to the library."""
    try:
        return read_varbinds(data)
    except (ValueError, IndexError):
        if len(data) > LARGEST_ODD:  # as if it had not come: then less is asked at once
            raise PyAsn1Error(f"an unusual encoding of {len(data)} octets") from None
        listed, _ = decoder.decode(data, asn1Spec=rfc1905.VarBindList())
        return [
            (name.asTuple(), plain(value))
            for name, value in map(v2c.apiVarBind.get_oid_value, listed)
        ]


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
