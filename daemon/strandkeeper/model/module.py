"""What a module says of itself beside its figures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

__all__ = ["NOTHING_SAID", "ModuleFacts", "another_module"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ModuleFacts:
    """Serial number, maker, part number and wavelength [nm]; empty or None: it does not say."""

    serial: str = ""
    maker: str = ""
    part: str = ""
    wavelength_nm: float | None = None

    @property
    def module_id(self) -> str | None:
        """What tells this module from another, None if nothing does.

        The serial number with part number and wavelength: a module of another kind under the same
        number, as cloned ones have, is another module.

        >>> ModuleFacts(serial="AB12", part="LX-10", wavelength_nm=1310.0).module_id
        'AB12, LX-10, 1310 nm'
        """
        parts = [self.serial or self.maker, self.part, self.wavelength]
        return ", ".join(part for part in parts if part) or None

    @property
    def wavelength(self) -> str:
        """The wavelength with its unit, empty if it is not known."""
        return "" if self.wavelength_nm is None else f"{self.wavelength_nm:.7g} nm"


def another_module(before: str | None, now: str | None) -> bool:
    """Whether two identities are those of two modules.

    They are not if one is unknown, or says more of the same: part number and wavelength may be read
    later than the serial number, or be lost again.

    >>> another_module("AB12", "AB12, LX-10"), another_module("AB12, LX-10", "AB12, SX")
    (False, True)
    """
    if not before or not now or before == now:
        return False
    shorter, longer = sorted((before, now), key=len)
    return not longer.startswith(f"{shorter}, ")


NOTHING_SAID: Final = ModuleFacts()
