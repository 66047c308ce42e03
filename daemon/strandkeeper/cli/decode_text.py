"""A decoded module in words, the important things first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from strandkeeper.cli.figure import figure
from strandkeeper.cli.paragraph import paragraph
from strandkeeper.optics.receiver import receiver_limits
from strandkeeper.optics.recognise import Recognition, from_module
from strandkeeper.optics.resolution import count_resolution
from strandkeeper.optics.sff8472.diagnostics import Diagnostics, Limits
from strandkeeper.optics.sff8472.flags import Status
from strandkeeper.optics.sff8472.identity import Identity, Length
from strandkeeper.optics.sff8472.module import Module
from strandkeeper.optics.sff8472.words import Calibration, Flag, PowerKind
from strandkeeper.optics.units import Microwatt

__all__ = ["module_text"]


def module_text(module: Module, remarks: Iterable[str] = ()) -> str:
    """The whole answer."""
    lines: list[str] = []
    problems = [*remarks, *module.problems]
    if problems:
        lines += ["Note", *(paragraph(f"- {p}", indent=2, hang=2) for p in problems), ""]
    found = None
    if module.identity is not None:
        found = from_module(module.identity)
        lines += [*_identity(module.identity), "", *_kind(found), ""]
    if module.diagnostics is None:
        lines += ["Readings", paragraph(f"none: {module.no_diagnostics}", indent=2, hang=2)]
    else:
        lines += _diagnostics(module.diagnostics, found)
    return "\n".join(lines)


def _identity(identity: Identity) -> list[str]:
    lengths = ", ".join(_length(fibre, far) for fibre, far in identity.lengths.items())
    rate = f"{identity.rate_mbd:g} MBd" if identity.rate_mbd else None
    rows = (
        ("form, connector", _joined(identity.identifier, identity.connector)),
        ("maker", identity.vendor),
        ("part", _joined(identity.part, identity.revision and f"revision {identity.revision}")),
        ("serial number", identity.serial),
        ("made", _joined(identity.made, identity.lot and f"lot {identity.lot}")),
        ("code of its class", ", ".join(identity.compliance) or None),
        ("sends", f"{identity.wavelength_nm} nm" if identity.wavelength_nm else None),
        ("line rate", _joined(rate, identity.encoding)),
        ("reach by its maker", lengths or None),
        ("pins and options", ", ".join(identity.options) or None),
        ("follows SFF-8472", identity.sff_revision),
        ("reading page A2h", _address_change(identity)),
    )
    return ["Module", *(_wide(name, value or "not stated") for name, value in rows)]


def _address_change(identity: Identity) -> str | None:
    kind = identity.diagnostics
    if kind is None:
        return "not known"
    return "needs the address change of section 8.9" if kind.address_change else "directly"


def _wide(name: str, value: str) -> str:
    return paragraph(f"{name:<22}{value}", indent=2, hang=22)


def _joined(*parts: str | None) -> str | None:
    return ", ".join(part for part in parts if part) or None


def _length(fibre: str, length: Length) -> str:
    far = f"{length.metres / 1000:g} km" if length.metres >= 1000 else f"{length.metres} m"
    return f"{'more than ' if length.or_more else ''}{far} on {fibre}"


def _kind(found: Recognition) -> list[str]:
    if found.spec is None:
        return ["What it is", paragraph(f"cannot tell: {found.why}", indent=2, hang=2)]
    limits = receiver_limits(found.spec)
    weak = "unknown" if limits.sensitivity is None else f"{figure(limits.sensitivity.value)} dBm"
    strong = "unknown" if limits.overload is None else f"{figure(limits.overload.value)} dBm"
    return [
        "What it is",
        paragraph(f"{found.spec.name} ({found.sure}: {found.why})", indent=2, hang=2),
        f"  by its class it can use light from {weak} (weakest) to {strong} (strongest)",
        paragraph(f"{limits.source}; the maker's data sheet outranks it", indent=2, hang=2),
    ]


def _diagnostics(page: Diagnostics, found: Recognition | None) -> list[str]:
    lines = ["Readings"]
    lines += _live(page, found)
    lines += ["", *_limits(page), "", *_states(page.status), *_flags(page)]
    lines += ["", f"Calibration: {_calibration(page)}"]
    return lines


def _live(page: Diagnostics, found: Recognition | None) -> list[str]:
    if page.temp_c is None and page.tx is None and page.rx is None:
        return ["  not known: the page does not hold them, or not in usable form"]
    rows = [f"  {name:<22}{value}" for name, value in _readings(page)]
    off = "  (allowed to be off: temperature 3 °C, supply 3 %, bias 10 %, light 3 dB either way)"
    return [*rows, *_spare(page, found), off]


def _readings(page: Diagnostics) -> tuple[tuple[str, str], ...]:
    kind = "" if page.power_kind is None else f", {page.power_kind.value}"
    rows = [
        ("temperature", _figure(page.temp_c, "°C", 1)),
        ("supply", _figure(page.vcc_v, "V", 2)),
        ("laser bias", _figure(page.bias_ma, "mA", 1)),
        ("sends", _light(page.tx)),
        ("receives", _light(page.rx) + (kind if page.rx and page.rx.value else "")),
    ]
    if page.laser_temp_c is not None:
        rows.append(("laser temperature", _figure(page.laser_temp_c, "°C", 1)))
        rows.append(("cooler current", _figure(page.cooler_ma, "mA", 1)))
    return tuple(rows)


def _figure(value: float | None, unit: str, digits: int) -> str:
    return "not known" if value is None else f"{figure(value, digits)} {unit}"


def _light(power: Microwatt | None) -> str:
    if power is None:
        return "not known"
    if power.value == 0:
        return "no light (less than 0.1 µW, or less than it can measure)"
    return f"{figure(power.to_milliwatt().to_dbm().value)} dBm ({power.value:.1f} µW)"


def _spare(page: Diagnostics, found: Recognition | None) -> list[str]:
    """Margin and headroom by the recognised class, like with like: average against average."""
    spec = None if found is None else found.spec
    if spec is None or not page.rx or not page.rx.value or "receive power" in page.saturated:
        return []
    power = page.rx.to_milliwatt().to_dbm()
    limits = receiver_limits(spec)
    average = page.power_kind is PowerKind.AVERAGE
    weakest = limits.sensitivity if average else spec.sensitivity_oma
    sides = [] if weakest is None else [_side((power - weakest).value, "weak")]
    if average and limits.overload is not None:
        sides.append(_side((limits.overload - power).value, "strong"))
    if not sides or page.power_kind is None or found is None:
        return []
    step = count_resolution(power).up
    coarse = f"; one count is {figure(step.value)} dB here" if step.value >= 0.1 else ""
    text = f"{', '.join(sides)} (as {spec.name}, {found.sure}){coarse}"
    return [_wide("to spare", text)]


def _side(spare_db: float, side: str) -> str:
    whole = round(spare_db)
    return f"{whole} dB before too {side}" if whole >= 0 else f"{-whole} dB TOO {side.upper()}"


def _limits(page: Diagnostics) -> list[str]:
    rows = (
        ("temperature °C", _plain(page.temp_limits, 0)),
        ("supply V", _plain(page.vcc_limits, 2)),
        ("laser bias mA", _plain(page.bias_limits, 1)),
        ("sends dBm", _powers(page.tx_limits)),
        ("receives dBm", _powers(page.rx_limits)),
    )
    if not any(cells for _, cells in rows):
        return ["Maker's warning levels: not known"]
    head = f"  {'':<22}" + "".join(
        f"{w:>12}" for w in ("low alarm", "low warn", "high warn", "high alarm")
    )
    shown = [f"  {name:<22}" + "".join(f"{cell:>12}" for cell in cells) for name, cells in rows]
    return ["Maker's warning levels (not what the receiver can use)", head, *shown]


def _plain(limits: Limits[float] | None, digits: int) -> tuple[str, ...]:
    if limits is None:
        return ()
    cells = (limits.low_alarm, limits.low_warning, limits.high_warning, limits.high_alarm)
    return tuple(figure(cell, digits) for cell in cells)


def _powers(limits: Limits[Microwatt] | None) -> tuple[str, ...]:
    if limits is None:
        return ()
    cells = (limits.low_alarm, limits.low_warning, limits.high_warning, limits.high_alarm)
    return tuple("none" if not c.value else figure(c.to_milliwatt().to_dbm().value) for c in cells)


def _states(status: Status | None) -> list[str]:
    if status is None:
        return ["State: not known, the page ends before it"]
    rows = (
        ("laser off, by pin", status.tx_disabled_by_pin),
        ("laser off, by software", status.tx_disabled_by_software),
        ("transmitter fault", status.tx_fault),
        ("loss of signal", status.rx_los),
        ("readings not ready", status.not_ready),
    )
    words = {Flag.SET: "YES", Flag.CLEAR: "no"}
    lines = [f"  {name:<26}{words.get(flag, flag.value)}" for name, flag in rows]
    silent = any(flag is Flag.NOT_IMPLEMENTED for _, flag in rows)
    remark = ["  'not implemented': the module does not keep that bit, so it says nothing"]
    return ["State", *lines, *(remark if silent else [])]


def _flags(page: Diagnostics) -> list[str]:
    return [
        f"  {'alarm flags':<26}{_set_flags(page.alarms)}",
        f"  {'warning flags':<26}{_set_flags(page.warnings)}",
    ]


def _set_flags(flags: Mapping[tuple[str, str], Flag]) -> str:
    if not flags:
        return "not known, the page ends before them"
    raised = [f"{quantity} {side}" for (quantity, side), flag in flags.items() if flag is Flag.SET]
    if raised:
        return ", ".join(raised) + " (may be latched: read again after 0.1 s)"
    main: Sequence[Flag] = [flag for (quantity, _), flag in flags.items() if quantity == "bias"]
    if Flag.NOT_IMPLEMENTED in main:
        return "not implemented: their silence says nothing"
    return "none set" if Flag.CLEAR in main else "unknown: the A0h page says whether they are kept"


def _calibration(page: Diagnostics) -> str:
    match page.calibration:
        case Calibration.INTERNAL:
            return "internal (the module gives units)"
        case Calibration.EXTERNAL:
            return "external (counts turned into units by the constants of the page)"
        case Calibration.UNSTATED:
            return "not stated by the module"
