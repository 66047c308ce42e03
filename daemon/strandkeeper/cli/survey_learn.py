"""`survey --learn`: what the switches' own tables may hold, in words and as commented tables."""

from __future__ import annotations

import asyncio
import sys
from collections.abc import Awaitable, Callable, Mapping, Sequence
from typing import Final

from strandkeeper.alerts.wording_identify import learned_lines, proof_sentence, proof_steps
from strandkeeper.config.tomltext import comment
from strandkeeper.errors import DeviceError
from strandkeeper.jobs.learn import Joint, Learned, learn_together, look_again
from strandkeeper.jobs.learn_text import table_text
from strandkeeper.jobs.survey import SurveyedSwitch
from strandkeeper.jobs.survey_links import found_links
from strandkeeper.model.identification import Place
from strandkeeper.model.names import SwitchName
from strandkeeper.model.reading import Quantity
from strandkeeper.readers.identify_proof import proof
from strandkeeper.snmp.session import SnmpClient

__all__ = [
    "Lessons",
    "is_the_way",
    "learn_switches",
    "lesson_summary",
    "lesson_text",
    "prove",
    "prove_at",
]

Lessons = Mapping[SwitchName, Learned | DeviceError]
Ask = Callable[[str], Awaitable[None]]
Answer = Callable[[str], Awaitable[str]]
_MOST_QUESTIONS: Final = 3
_MOST_TABLES: Final = 3  # proposals written for one switch


async def learn_switches(
    client: SnmpClient,
    surveyed: Sequence[SurveyedSwitch],
    say: Callable[[SwitchName, str], None],
    *,
    wait: Callable[[float], Awaitable[None]] = asyncio.sleep,
) -> Lessons:
    """Learn every switch that answered, together with what its surveyed neighbours send."""
    links = [
        Joint(
            a=link.a.target.name,
            a_index=link.a_port.key.if_index,
            b=link.b.target.name,
            b_index=link.b_port.key.if_index,
        )
        for link in found_links([s for s in surveyed if not s.error])
    ]
    names = [switch.target.name for switch in surveyed if not switch.error]
    return await learn_together(client, names, links, say=say, wait=wait)


def lesson_text(switch: SurveyedSwitch, lesson: Learned | DeviceError) -> str:
    """What was learned of one switch as text for the configuration, every line a comment."""
    name = switch.identity.sys_name or switch.target.host
    lines = [comment(f"---- learned of {name} ----")]
    if isinstance(lesson, DeviceError):
        return "\n".join([*lines, comment(f"nothing: {lesson.message}")]) + "\n"
    lines += [comment(line) for line in lesson.remarks]
    lines += [comment(line) for line in learned_lines(lesson.proposals)]
    tables = [
        table_text(proposal, f"{name} learned {n}")
        for n, proposal in enumerate(lesson.proposals[:_MOST_TABLES], 1)
    ]
    if tables:
        lines.append(
            comment("Prove it in two minutes: strandkeeper survey HOST --learn --prove PORT")
        )
    return "\n".join(lines) + "\n" + "".join(tables)


def lesson_summary(surveyed: Sequence[SurveyedSwitch], lessons: Lessons) -> list[str]:
    """What was learned, for the screen."""
    lines: list[str] = []
    for switch in surveyed:
        lesson = lessons.get(switch.target.name)
        if lesson is None:
            continue
        lines.append(f"{switch.identity.sys_name or switch.target.host}, its own tables:")
        told = (
            [f"not learned: {lesson.message}"]
            if isinstance(lesson, DeviceError)
            else [*lesson.remarks, *learned_lines(lesson.proposals)]
        )
        lines += [f"  {line}" for line in told]
    return lines


async def prove_at(client: SnmpClient, switch: SurveyedSwitch, lessons: Lessons, port: str) -> None:
    """Lead through the proof on the terminal."""
    lesson = lessons.get(switch.target.name)
    if lesson is None or isinstance(lesson, DeviceError):
        return
    if not any(port in (found.key.name, found.key.descr) for found in switch.ports):
        there = ", ".join(found.name for found in switch.ports)
        print(f"There is no port {port} to prove it at; there are: {there}", file=sys.stderr)
        return
    through = await is_the_way(_heard_at(switch, port), _answer, port=port)
    if through:
        print("\n".join(proof_steps(port, through_this_port=True)[:2]), file=sys.stderr)
        if not await _yes_or_no("Go on all the same, on this port?", _answer, otherwise=False):
            print("Nothing was proved. Choose a port that is not the way.", file=sys.stderr)
            return

    async def ask(text: str) -> None:
        print(text, file=sys.stderr)
        await _answer("Press Enter when the plug has been out for a minute.")

    for line in await prove(
        client, switch.target.name, lesson, ask, port=port, through_this_port=through
    ):
        print(line, file=sys.stderr)


async def is_the_way(heard: Sequence[str], answer: Answer, *, port: str) -> bool:
    """Whether the switch is reached through this very port, as the person says.

    Only a person knows where this computer stands. `heard`: the neighbours at that port, to help.
    Not answered counts as yes: then more is warned of, not less.
    """
    beyond = f" Beyond it is {', '.join(heard)}." if heard else ""
    question = (
        f"Does this computer reach the switch through its port {port}?{beyond} If so, pulling the "
        "plug cuts the way to it."
    )
    return await _yes_or_no(question, answer, otherwise=True)


async def _yes_or_no(question: str, answer: Answer, *, otherwise: bool) -> bool:
    for _ in range(_MOST_QUESTIONS):
        said = (await answer(f"{question} [y/n] ")).strip().lower()
        if said in ("y", "yes", "n", "no"):
            return said[0] == "y"
        if not said:
            break
    return otherwise


async def _answer(question: str) -> str:
    """What is typed in answer; empty at the end of input."""
    print(question, file=sys.stderr, end="", flush=True)
    return await asyncio.to_thread(sys.stdin.readline)


def _heard_at(switch: SurveyedSwitch, port: str) -> tuple[str, ...]:
    """The neighbours that LLDP names at a port."""
    names = [
        " port ".join(part for part in (heard.system, heard.port_id or heard.port_descr) if part)
        for found in switch.ports
        if port in (found.key.name, found.key.descr)
        for heard in found.heard
    ]
    return tuple(name for name in names if name)


async def prove(
    client: SnmpClient,
    switch: SwitchName,
    learned: Learned,
    ask: Ask,
    *,
    port: str,
    through_this_port: bool = False,
) -> list[str]:
    """Lead through the proof: `ask` shows a text and comes back once it was done."""
    watched = sorted(oid for oid in learned.observations.polls[-1])
    before = await look_again(client, switch, watched)
    await ask("\n".join(proof_steps(port, through_this_port=through_this_port)))
    try:
        during = await look_again(client, switch, watched)
    except DeviceError as error:
        return [f"{error.message}. Put the plug back: this link is the way to the switch."]
    return [proof_sentence(proof(before, during, _places(learned)))]


def _places(learned: Learned) -> tuple[Place, ...]:
    """Every column that is in question for anything."""
    figures = [f for p in learned.proposals for q in Quantity if (f := p.figure(q)) is not None]
    return tuple(dict.fromkeys(c.place for f in figures for c in f.ranked))
