"""What each switch answered, and how well it answers."""

from __future__ import annotations

from dataclasses import dataclass

from flask import Blueprint, render_template, url_for

from strandkeeper.model.health import SwitchHealth
from strandkeeper.model.link import Link
from strandkeeper.model.names import End
from strandkeeper.model.switch import CommunityRef, SwitchTarget
from strandkeeper_dashboard.context import here
from strandkeeper_dashboard.health import Standing, record_stale_after_ms

__all__ = ["page"]

page = Blueprint("switches", __name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchSheet:
    """One switch as the page shows it; `health` None: never asked."""

    target: SwitchTarget
    health: SwitchHealth | None
    standing: Standing
    word: str
    protocol: str
    watches: tuple[tuple[Link, End], ...]


@page.get("/switches")
def index() -> str:
    """Every configured switch; those that do not answer first."""
    context = here()
    known = {health.switch: health for health in context.record.switches()}
    sheets = [_sheet(target, known.get(target.name)) for target in context.settings.switches]
    sheets.sort(key=lambda sheet: list(Standing).index(sheet.standing))
    return render_template(
        "switches.html",
        sheets=sheets,
        asked=context.settings.intervals,
        page_standing=sheets[0].standing if sheets else Standing.UNKNOWN,
        live_url=url_for("api.live"),
    )


def _sheet(target: SwitchTarget, health: SwitchHealth | None) -> SwitchSheet:
    standing, word = _standing(health)
    credentials = target.credentials
    version = credentials.version if isinstance(credentials, CommunityRef) else "3"
    return SwitchSheet(
        target=target,
        health=health,
        standing=standing,
        word=word,
        protocol=f"SNMP v{version}" if version != "2c" else "SNMP v2c",
        watches=tuple(
            (link, end)
            for link in here().settings.links
            for end in End
            if link.end(end).switch == target.name
        ),
    )


def _standing(health: SwitchHealth | None) -> tuple[Standing, str]:
    context = here()
    if health is None:
        return Standing.UNKNOWN, "Not asked yet"
    if context.now_ms - health.at_ms > record_stale_after_ms(context.settings):
        return Standing.UNKNOWN, "Not asked lately"
    if not health.answered:
        return Standing.ACT, "Does not answer"
    if health.power is not None and health.power.in_need:
        return Standing.WATCH, "Answers; its supply is in need"
    if health.missing_ports:
        return Standing.WATCH, "Answers; a port is missing"
    return Standing.WELL, "Answers"
