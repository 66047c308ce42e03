"""Message forms for the library in which the list of varbinds is octets, both ways.

The library's message processing models are told by their SNMP_MSG_SPEC what a message looks like.
In these forms everything is as in RFC 1901, 3412 and 3416 but for the varbinds of a response and
of our requests, which are ANY: the library then neither makes an object of each element of an
answer nor walks through the same request anew each time. Headers, security and reports stay its
own affair.
"""

from __future__ import annotations

from typing import Any

from pyasn1.codec.ber import encoder  # type: ignore[import-untyped]
from pyasn1.type import namedtype, univ  # type: ignore[import-untyped]
from pysnmp.entity.engine import SnmpEngine
from pysnmp.proto import rfc1901, rfc1905
from pysnmp.proto.mpmod.rfc2576 import SnmpV2cMessageProcessingModel
from pysnmp.proto.mpmod.rfc3412 import (
    ScopedPDU,
    ScopedPduData,
    SNMPv3Message,
    SnmpV3MessageProcessingModel,
)

__all__ = ["LightBulk", "LightGet", "LightNext", "LightResponse", "bindings", "lighten"]


def _with(form: Any, **replaced: Any) -> Any:
    """The components of a form, some of them in another type."""
    return namedtype.NamedTypes(
        *(
            namedtype.NamedType(c.name, replaced.get(c.name.replace("-", "_"), c.asn1Object))
            for c in form.componentType.namedTypes
        )
    )


_OCTETS = {"variable_bindings": univ.Any()}


class LightResponse(rfc1905.ResponsePDU):  # type: ignore[misc]  # the library is untyped
    """A response whose varbinds are octets."""

    componentType = _with(rfc1905.ResponsePDU, **_OCTETS)


class LightGet(rfc1905.GetRequestPDU):  # type: ignore[misc]  # the library is untyped
    """A GET whose varbinds are encoded already."""

    componentType = _with(rfc1905.GetRequestPDU, **_OCTETS)

    def clone(self, *_: Any, **__: Any) -> rfc1905.GetRequestPDU:
        """A blank of the library's own form: it empties one to meet an SNMPv3 engine."""
        return rfc1905.GetRequestPDU()


class LightNext(rfc1905.GetNextRequestPDU):  # type: ignore[misc]  # the library is untyped
    """A GETNEXT whose varbinds are encoded already."""

    componentType = _with(rfc1905.GetNextRequestPDU, **_OCTETS)

    def clone(self, *_: Any, **__: Any) -> rfc1905.GetNextRequestPDU:
        """As that of LightGet."""
        return rfc1905.GetNextRequestPDU()


class LightBulk(rfc1905.GetBulkRequestPDU):  # type: ignore[misc]  # the library is untyped
    """A GETBULK whose varbinds are encoded already."""

    componentType = _with(rfc1905.GetBulkRequestPDU, **_OCTETS)

    def clone(self, *_: Any, **__: Any) -> rfc1905.GetBulkRequestPDU:
        """As that of LightGet."""
        return rfc1905.GetBulkRequestPDU()


class _Pdus(rfc1905.PDUs):  # type: ignore[misc]  # the library is untyped
    componentType = _with(rfc1905.PDUs, response=LightResponse())


class _Message(rfc1901.Message):  # type: ignore[misc]  # the library is untyped
    componentType = _with(rfc1901.Message, data=_Pdus())


class _Scoped(ScopedPDU):  # type: ignore[misc]  # the library is untyped
    componentType = _with(ScopedPDU, data=_Pdus())


class _ScopedData(ScopedPduData):  # type: ignore[misc]  # the library is untyped
    componentType = _with(ScopedPduData, plaintext=_Scoped())


class _Message3(SNMPv3Message):  # type: ignore[misc]  # the library is untyped
    componentType = _with(SNMPv3Message, msgData=_ScopedData())


class _Model2c(SnmpV2cMessageProcessingModel):  # type: ignore[misc]  # the library is untyped
    SNMP_MSG_SPEC = _Message


class _Model3(SnmpV3MessageProcessingModel):  # type: ignore[misc]  # the library is untyped
    SNMP_MSG_SPEC = _Message3


def lighten(engine: SnmpEngine) -> None:
    """Let an engine that has sent nothing yet use these forms; v1 stays as it is."""
    for model in (_Model2c(), _Model3()):
        engine.message_processing_subsystems[model.MESSAGE_PROCESSING_MODEL_ID] = model


def bindings(listed: Any) -> univ.Any:
    """A VarBindList of the library, encoded once for all the requests that carry it."""
    return univ.Any(encoder.encode(listed))
