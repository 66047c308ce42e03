"""The planned loss shared out along the way that the light goes: what every level diagram draws."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from strandkeeper.errors import InputError
from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction
from strandkeeper.optics.budget import loss_budget
from strandkeeper.optics.units import Db

__all__ = ["PlannedParts", "planned_parts"]

_WAVELENGTH_NM: Final = 1310  # for the drawing's proportion only, where the sender's is not known


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedParts:
    """The planned loss in the order that the light meets it."""

    sender_connectors: Db
    fibre: Db
    receiver_connectors: Db


def planned_parts(link: Link, direction: Direction, planned: Db | None) -> PlannedParts | None:
    """Split `planned` into plugs at the sender, fibre, plugs at the receiver.

    None without a planned loss. The plugs' share is that of the loss budget; they stand half at
    each end, the odd one at the receiver. What is drawn adds up to `planned` exactly.
    """
    if planned is None:
        return None
    at_plugs = planned * _share_of_plugs(link, direction)
    at_sender = at_plugs * (link.matings // 2 / link.matings) if link.matings else Db(0)
    return PlannedParts(
        sender_connectors=at_sender,
        fibre=planned - at_plugs,
        receiver_connectors=at_plugs - at_sender,
    )


def _share_of_plugs(link: Link, direction: Direction) -> float:
    try:
        with_plugs = _budget(link, direction, link.matings)
        without = _budget(link, direction, 0)
    except InputError:
        return 0.0
    return (with_plugs - without) / with_plugs if with_plugs else 0.0


def _budget(link: Link, direction: Direction, matings: int) -> float:
    return loss_budget(
        length_m=link.length_m or 0.0,
        wavelength_nm=link.end(direction.sender).wavelength_nm or _WAVELENGTH_NM,
        fibre=link.fibre,
        matings=matings,
        splices=link.splices,
        extra=link.extra,
    ).expected.value
