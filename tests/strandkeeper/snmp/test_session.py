"""Asking agents that answer late, twice, wrongly, partly, from elsewhere or not at all."""

from __future__ import annotations

import asyncio
import contextlib
import random
import socket
import threading
import time
from typing import Any

import pytest
from tests.strandkeeper.snmp import ber
from tests.strandkeeper.snmp.agents import Agent, Faults
from tests.strandkeeper.snmp.conftest import QUAY, MakeClient, target

from strandkeeper.errors import MalformedAnswerError, NoAnswerError, RefusedError
from strandkeeper.model.names import SwitchName
from strandkeeper.model.oid import Absent, Oid
from strandkeeper.snmp import exchange
from strandkeeper.snmp.credentials import Community
from strandkeeper.snmp.session import Answer
from strandkeeper.snmp.sizes import Group

UPTIME: Oid = (1, 3, 6, 1, 2, 1, 1, 3, 0)
NAMES: Oid = (1, 3, 6, 1, 2, 1, 31, 1, 1, 1, 1)
OCTETS: Oid = (1, 3, 6, 1, 2, 1, 31, 1, 1, 1, 6)
NUMBERS: Oid = (1, 3, 6, 1, 2, 1, 2, 2, 1, 8)
ENTERPRISE: Oid = (1, 3, 6, 1, 2, 1, 1, 2, 0)


def table() -> dict[Oid, ber.Cell]:
    rows = {UPTIME: ber.ticks(4_294_967_295), ENTERPRISE: ber.pointer((1, 3, 6, 1, 4, 1, 99999, 7))}
    for port in range(1, 41):
        rows[(*NAMES, port)] = ber.text(f"port {port}")
        rows[(*OCTETS, port)] = ber.counter64(2**64 - port)
        rows[(*NUMBERS, port)] = ber.integer(port % 3)
    return rows


def numbers(count: int) -> list[Oid]:
    return [(*NUMBERS, port) for port in range(1, count + 1)]


LOOK = Community(version="2c", text="look")


async def test_every_kind_of_value_comes_back_as_it_was_sent(client_of: MakeClient) -> None:
    async with Agent(table() | {(1, 3, 9, 0): ber.integer(-5)}) as agent:
        client = await client_of(agent.address)
        oids = [
            UPTIME,
            ENTERPRISE,
            (*NAMES, 3),
            (*OCTETS, 3),
            (1, 3, 9, 0),
            (*NAMES, 99),
            (1, 3, 8, 0),
        ]
        answer = await client.get(QUAY, oids)
    assert set(answer.values) == set(oids)
    assert answer.values[UPTIME] == 4_294_967_295
    assert answer.values[(*NAMES, 3)] == b"port 3"
    assert answer.values[(*OCTETS, 3)] == 2**64 - 3
    assert answer.values[(1, 3, 9, 0)] == -5
    assert answer.values[(*NAMES, 99)] is Absent.NO_SUCH_INSTANCE
    assert answer.values[(1, 3, 8, 0)] is Absent.NO_SUCH_OBJECT
    assert answer.values[ENTERPRISE] == (1, 3, 6, 1, 4, 1, 99999, 7)


async def test_only_read_requests_leave(client_of: MakeClient) -> None:
    async with Agent(table()) as agent:
        client = await client_of(agent.address)
        await client.get(QUAY, numbers(40))
        await client.walk(QUAY, NAMES)
        assert {a.kind for a in agent.asked} <= {ber.GET, ber.NEXT, ber.BULK}


async def test_no_request_number_is_used_twice(client_of: MakeClient) -> None:
    async with Agent(table(), faults=Faults(silent_over=100)) as agent:
        client = await client_of(agent.address)
        for _ in range(40):
            await client.get(QUAY, numbers(3))
        agent.faults.silent = True
        with pytest.raises(NoAnswerError):
            await client.get(QUAY, numbers(3))
        sent = [a.number for a in agent.asked]
        assert len(sent) == len(set(sent))


async def test_values_are_matched_by_what_they_are_not_where_they_stand(
    client_of: MakeClient,
) -> None:
    async with Agent(table(), faults=Faults(shuffle=True)) as agent:
        client = await client_of(agent.address)
        answer = await client.get(QUAY, numbers(9))
    assert [answer.values[oid] for oid in numbers(9)] == [1, 2, 0, 1, 2, 0, 1, 2, 0]


async def test_what_is_missing_in_an_answer_is_said_to_be_missing(client_of: MakeClient) -> None:
    gone = numbers(9)[4]
    async with Agent(table(), faults=Faults(leave_out=frozenset({gone}))) as agent:
        client = await client_of(agent.address)
        answer = await client.get(QUAY, numbers(9))
    assert answer.values[gone] is Absent.NOT_ANSWERED
    assert answer.values[numbers(9)[5]] == 0


async def test_an_answer_to_another_question_is_refused_in_words(client_of: MakeClient) -> None:
    async with Agent(table(), faults=Faults(unrelated=True)) as agent:
        client = await client_of(agent.address)
        with pytest.raises(MalformedAnswerError, match="none of the 3 objects asked for"):
            await client.get(QUAY, numbers(3))


async def test_an_answer_from_another_port_is_not_taken_and_said(client_of: MakeClient) -> None:
    async with Agent(table(), faults=Faults(from_elsewhere=True)) as agent:
        client = await client_of(agent.address)
        with pytest.raises(NoAnswerError, match=r"came from 127\.0\.0\.1 port \d+ instead"):
            await client.get(QUAY, numbers(3))
        agent.faults.from_elsewhere = False
        assert (await client.get(QUAY, numbers(3))).values[numbers(3)[0]] == 1


async def test_an_answer_with_another_number_is_not_taken(client_of: MakeClient) -> None:
    async with Agent(table(), faults=Faults(wrong_number=True)) as agent:
        client = await client_of(agent.address)
        with pytest.raises(NoAnswerError):
            await client.get(QUAY, numbers(3))
        assert client.dropped >= 2


async def test_a_doubled_answer_is_taken_once(client_of: MakeClient) -> None:
    async with Agent(table(), faults=Faults(twice=True)) as agent:
        client = await client_of(agent.address)
        for _ in range(5):
            answer = await client.get(QUAY, numbers(3))
            assert answer.values[numbers(3)[1]] == 2
        await asyncio.sleep(0.02)
        assert client.dropped == 5


async def test_a_late_answer_is_not_taken_for_the_next(client_of: MakeClient) -> None:
    async with Agent(table(), faults=Faults(late_s=0.4)) as agent:
        client = await client_of(agent.address)
        with pytest.raises(NoAnswerError):
            await client.get(QUAY, [(*NUMBERS, 1)])
        agent.faults.late_s = 0.0
        for _ in range(8):
            answer = await client.get(QUAY, [(*NAMES, 2)])
            assert answer.values[(*NAMES, 2)] == b"port 2"
            await asyncio.sleep(0.05)
        assert client.dropped >= 2


async def test_a_frozen_agent_that_thaws_does_no_harm(client_of: MakeClient) -> None:
    async with Agent(table(), faults=Faults(frozen=True)) as agent:
        client = await client_of(agent.address)
        with pytest.raises(NoAnswerError):
            await client.get(QUAY, [(*NUMBERS, 1)])
        agent.thaw()
        answer = await client.get(QUAY, [(*NAMES, 2)])
        assert answer.values == {(*NAMES, 2): b"port 2"}


async def test_a_silent_switch_is_given_up_within_its_deadlines(client_of: MakeClient) -> None:
    async with Agent(table(), faults=Faults(silent=True)) as agent:
        client = await client_of(agent.address)
        started = time.monotonic()
        with pytest.raises(NoAnswerError) as caught:
            await client.get(QUAY, numbers(3))
        assert time.monotonic() - started >= 2 * 0.15
        assert caught.value.message == (
            f'switch "quay" (127.0.0.1 port {agent.address[1]}) did not answer within 0.15 s'
        )
        assert "the community: a wrong one is answered with silence" in caught.value.hint
        assert len(agent.asked) == 0


async def test_a_suspect_is_asked_once_and_small(client_of: MakeClient) -> None:
    async with Agent(table(), community="other") as agent:
        client = await client_of(agent.address)
        with pytest.raises(NoAnswerError):
            await client.probe(QUAY)
        assert [a.oids for a in agent.asked] == [(UPTIME,)]


async def test_damaged_datagrams_do_no_harm(client_of: MakeClient) -> None:
    whole = (
        b"\x30\x1c\x02\x01\x01\x04\x04look\xa2\x11\x02\x04\x7f\xff\xff\xff\x02\x01\x00\x02\x01\x00"
    )
    junk = (b"", b"\x30", b"\x30\x84\xff\xff\xff\xff", b"\xff" * 40, b"GET / HTTP/1.1", whole)
    async with Agent(table(), faults=Faults(nonsense=junk)) as agent:
        client = await client_of(agent.address)
        for _ in range(3):
            assert (await client.get(QUAY, numbers(9))).values[numbers(9)[1]] == 2


async def test_answers_with_flipped_octets_cost_an_answer_and_nothing_else(
    client_of: MakeClient,
) -> None:
    """Whatever the decoder of the library raises on them; a value itself cannot be checked."""
    async with Agent(table(), faults=Faults(flip=random.Random(7))) as agent:
        switches = [
            (target(agent.address, name=f"s{n}", timeout_s=0.3, retries=0), LOOK)
            for n in range(300)
        ]
        client = await client_of(*switches)
        ended = await asyncio.gather(
            *(client.get(t.name, numbers(6)) for t, _ in switches), return_exceptions=True
        )
        allowed = (Answer, NoAnswerError, MalformedAnswerError, RefusedError)
        assert [e for e in ended if not isinstance(e, allowed)] == []
        assert sum(isinstance(e, NoAnswerError) for e in ended) > 30
        agent.faults.flip = None
        assert (await client.get(SwitchName("s0"), numbers(3))).complete


@pytest.mark.parametrize("length", range(0, 43, 3))
async def test_an_answer_cut_anywhere_is_no_answer(client_of: MakeClient, length: int) -> None:
    async with Agent(table(), faults=Faults(truncate_to=length)) as agent:
        client = await client_of((target(agent.address, timeout_s=0.05, retries=0), LOOK))
        with pytest.raises(NoAnswerError):
            await client.get(QUAY, numbers(1))


async def test_too_big_halves_the_request_and_is_remembered(client_of: MakeClient) -> None:
    async with Agent(table(), faults=Faults(too_big_over=6)) as agent:
        client = await client_of(agent.address)
        answer = await client.get(QUAY, numbers(20), each=(UPTIME,))
        assert [answer.values[o] for o in numbers(20)] == [p % 3 for p in range(1, 21)]
        assert all(UPTIME in part.values for part in answer.parts)
        learned = client.learned_size(QUAY)
        assert 1 < learned <= 6
        agent.asked.clear()
        await client.get(QUAY, numbers(20), each=(UPTIME,))
        assert all(len(a.oids) <= learned for a in agent.asked)


async def test_silence_to_large_requests_is_told_from_a_dead_switch(client_of: MakeClient) -> None:
    async with Agent(table(), faults=Faults(silent_over=10)) as agent:
        client = await client_of(agent.address)
        answer = await client.get(QUAY, numbers(20))
        assert answer.complete
        assert answer.values[numbers(20)[19]] == 20 % 3
        assert client.learned_size(QUAY) <= 10


async def test_an_agent_that_takes_one_object_at_a_time_is_still_read(
    client_of: MakeClient,
) -> None:
    async with Agent(table(), faults=Faults(too_big_over=1)) as agent:
        client = await client_of(agent.address)
        group = Group((*NAMES, 3), ((*NUMBERS, 3), (*OCTETS, 3)))
        answer = await client.get(QUAY, [group], each=(UPTIME,))
        assert answer.values == {
            UPTIME: 4_294_967_295,
            (*NAMES, 3): b"port 3",
            (*NUMBERS, 3): 0,
            (*OCTETS, 3): 2**64 - 3,
        }


async def test_too_big_for_a_single_object_is_an_error_in_words(client_of: MakeClient) -> None:
    async with Agent(table(), faults=Faults(too_big_over=0)) as agent:
        client = await client_of(agent.address)
        with pytest.raises(MalformedAnswerError, match="a single value is too big"):
            await client.get(QUAY, numbers(2))


@pytest.mark.parametrize("nameless", [False, True])
async def test_an_object_the_agent_fails_on_costs_itself_only(
    client_of: MakeClient, nameless: bool
) -> None:
    bad = numbers(12)[7]
    faults = Faults(gen_err_on=frozenset({bad}), nameless_error=nameless)
    async with Agent(table(), faults=faults) as agent:
        client = await client_of(agent.address)
        answer = await client.get(QUAY, numbers(12))
    assert answer.values[bad] is Absent.FAILED
    others = [o for o in numbers(12) if o != bad]
    assert [answer.values[o] for o in others] == [o[-1] % 3 for o in others]


async def test_v1_asks_again_without_what_is_not_there(client_of: MakeClient) -> None:
    async with Agent(table(), faults=Faults(only_v1=True)) as agent:
        client = await client_of(agent.address, version="1")
        answer = await client.get(QUAY, [(*NAMES, 1), (*OCTETS, 1), (*NUMBERS, 1), (*NAMES, 99)])
        assert answer.values == {
            (*NAMES, 1): b"port 1",
            (*OCTETS, 1): Absent.NO_SUCH_OBJECT,  # v1 has no 64-bit counters
            (*NUMBERS, 1): 1,
            (*NAMES, 99): Absent.NO_SUCH_OBJECT,
        }
        walk = await client.walk(QUAY, NAMES)
        assert len(walk.rows) == 40
        assert {a.kind for a in agent.asked} == {ber.GET, ber.NEXT}  # and no GETBULK


async def test_a_v1_agent_is_silent_to_v2c_and_the_hint_names_the_version(
    client_of: MakeClient,
) -> None:
    async with Agent(table(), faults=Faults(only_v1=True)) as agent:
        client = await client_of(agent.address)
        with pytest.raises(NoAnswerError) as caught:
            await client.get(QUAY, numbers(1))
    assert "that SNMP v2c is on" in caught.value.hint


async def test_a_column_is_walked_to_its_end_and_no_further(client_of: MakeClient) -> None:
    async with Agent(table()) as agent:
        client = await client_of(agent.address)
        walk = await client.walk(QUAY, NAMES)
        assert walk.remark == ""
        assert walk.rows == {(p,): f"port {p}".encode() for p in range(1, 41)}
        last = await client.walk(QUAY, OCTETS)  # the end of all the agent has
        assert len(last.rows) == 40
        assert (await client.walk(QUAY, (1, 3, 6, 1, 4, 1))).rows == {}


async def test_an_agent_that_walks_in_circles_is_left(client_of: MakeClient) -> None:
    async with Agent(table(), faults=Faults(loops=True)) as agent:
        client = await client_of(agent.address)
        walk = await client.walk(QUAY, NAMES)
        assert walk.remark == "the switch gave rows out of order, so the walk was stopped"
        assert len(agent.asked) < 5


async def test_a_walk_of_too_many_rows_is_stopped_and_said(client_of: MakeClient) -> None:
    async with Agent(table()) as agent:
        client = await client_of(agent.address)
        walk = await client.walk(QUAY, NAMES, max_rows=10)
        assert len(walk.rows) == 10
        assert walk.remark == "the walk was stopped after 10 rows"


@pytest.mark.parametrize("faults", [Faults(too_big_over=5), Faults(silent_over=5)])
async def test_a_walk_makes_its_steps_smaller_where_it_must(
    client_of: MakeClient, faults: Faults
) -> None:
    async with Agent(table(), faults=faults) as agent:
        client = await client_of(agent.address)
        assert len((await client.walk(QUAY, NAMES)).rows) == 40


async def test_the_key_of_a_row_goes_with_every_piece_of_it(client_of: MakeClient) -> None:
    async with Agent(table(), faults=Faults(too_big_over=4)) as agent:
        client = await client_of(agent.address)
        key = (*NAMES, 1)
        answer = await client.get(QUAY, [Group(key, tuple(numbers(12)))], each=(UPTIME,))
        with_rows = [p for p in answer.parts if set(p.values) & set(numbers(12))]
        assert len(with_rows) > 3
        assert all(p.values[key] == b"port 1" for p in with_rows)


async def test_a_switch_that_falls_silent_half_way_gives_what_came(client_of: MakeClient) -> None:
    async with Agent(table(), faults=Faults(too_big_over=8)) as agent:
        client = await client_of(agent.address)
        await client.get(QUAY, numbers(20))
        agent.asked.clear()

        def fall_silent() -> None:
            agent.faults.silent = True

        agent.before_each = fall_silent
        answer = await client.get(QUAY, numbers(20))
        assert not answer.complete
        assert answer.values[numbers(20)[0]] == 1
        assert answer.values[numbers(20)[19]] is Absent.NOT_ANSWERED


async def test_a_host_name_that_does_not_exist_is_said(client_of: MakeClient) -> None:
    nowhere = target(("no-such-host.invalid", 161))
    client = await client_of((nowhere, LOOK))
    with pytest.raises(NoAnswerError) as caught:
        await client.get(QUAY, numbers(1))
    assert 'the host name "no-such-host.invalid" was not found' in caught.value.message
    assert caught.value.hint == "check the spelling, or give the address in figures"


async def test_a_dead_name_server_holds_up_names_and_never_figures(
    client_of: MakeClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The name server is a mock: the machine's own cannot be killed for a test."""
    look_up, over = socket.getaddrinfo, threading.Event()

    def slow(host: str, *given: Any, flags: int = 0, **more: Any) -> list[Any]:
        if not flags & socket.AI_NUMERICHOST:
            over.wait(10)
        return look_up(host, *given, flags=flags, **more)

    monkeypatch.setattr(socket, "getaddrinfo", slow)
    monkeypatch.setattr(exchange, "_LOOK_UP_S", 0.3)
    names = [SwitchName(f"name {n}") for n in range(40)]  # more than there are threads for them
    async with Agent(table()) as agent:
        client = await client_of(
            *((target(("localhost", 161), name=name), LOOK) for name in names),
            (target(agent.address), LOOK),
        )
        asked = [asyncio.ensure_future(client.get(name, numbers(1))) for name in names]
        await asyncio.sleep(0)
        answer = await asyncio.wait_for(client.get(QUAY, numbers(1)), 0.25)
        assert answer.complete
        said = await asyncio.gather(*asked, return_exceptions=True)
        over.set()
    assert {type(error) for error in said} == {NoAnswerError}
    assert "was not looked up in time" in str(said[0])


async def test_a_name_that_moves_to_another_address_is_followed_after_silence(
    client_of: MakeClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The name server is a mock; the two addresses and what answers there are real."""
    async with Agent(table()) as old, Agent(table(), host="127.0.0.2") as new:
        where, look_up = [old.address], socket.getaddrinfo

        def moving(host: str, port: int, *given: Any, **more: Any) -> list[Any]:
            if host == "quay.example":
                host, port = where[0]
            return look_up(host, port, *given, **more)

        monkeypatch.setattr(socket, "getaddrinfo", moving)
        client = await client_of((target(("quay.example", 161)), LOOK))
        assert (await client.get(QUAY, numbers(1))).complete
        where[0], old.faults.silent = new.address, True
        for _ in range(10):
            with contextlib.suppress(NoAnswerError):
                await client.get(QUAY, numbers(1))
                break
        assert (await client.get(QUAY, numbers(1))).complete
        assert new.asked


async def test_a_switch_is_asked_over_ipv6(client_of: MakeClient) -> None:
    async with Agent(table(), host="::1") as agent:
        client = await client_of(agent.address)
        assert (await client.get(QUAY, numbers(3))).complete
        assert len((await client.walk(QUAY, NUMBERS)).rows) == 40


async def test_closing_ends_every_wait_at_once(client_of: MakeClient) -> None:
    async with Agent(table(), faults=Faults(silent=True)) as agent:
        client = await client_of((target(agent.address, timeout_s=30), LOOK))
        waiting = [asyncio.ensure_future(client.get(QUAY, numbers(n))) for n in (1, 2, 3)]
        await asyncio.sleep(0.05)
        started = time.monotonic()
        await client.close()
        ended = await asyncio.gather(*waiting, return_exceptions=True)
        assert all(isinstance(e, NoAnswerError) for e in ended)
        assert time.monotonic() - started < 5


async def test_a_cancelled_question_leaves_nothing_behind(client_of: MakeClient) -> None:
    async with Agent(table(), faults=Faults(silent=True)) as agent:
        client = await client_of((target(agent.address, timeout_s=30), LOOK))
        waiting = asyncio.ensure_future(client.get(QUAY, numbers(1)))
        await asyncio.sleep(0.05)
        assert client.under_way > 0
        waiting.cancel()
        await asyncio.gather(waiting, return_exceptions=True)
        assert client.under_way == 0


async def test_dead_switches_do_not_keep_the_living_waiting(client_of: MakeClient) -> None:
    """Thirty suspects with two places of their own; a living one is answered while they wait."""
    async with Agent(table()) as agent, Agent({}, faults=Faults(silent=True)) as dead:
        silent = [
            (target(dead.address, name=f"dead {n}", timeout_s=0.1, retries=0), LOOK)
            for n in range(30)
        ]
        client = await client_of(
            (target(agent.address), LOOK), *silent, in_flight=2, suspects_in_flight=2
        )
        probes = [
            asyncio.ensure_future(client.probe(SwitchName(t.name), suspect=True)) for t, _ in silent
        ]
        await asyncio.sleep(0.02)
        async with asyncio.timeout(0.5):  # the thirty take 1.5 s
            for _ in range(5):
                assert (await client.get(QUAY, numbers(3))).complete
        assert not all(p.done() for p in probes)
        await asyncio.gather(*probes, return_exceptions=True)


async def test_two_hundred_at_once_are_all_answered(client_of: MakeClient) -> None:
    """The usual receive buffer holds about ninety answers; what is beyond is lost in silence."""
    async with Agent(table()) as agent:
        switches = [
            (target(agent.address, name=f"s{n}", timeout_s=20, retries=0), LOOK) for n in range(200)
        ]
        client = await client_of(*switches)
        answers = await asyncio.gather(
            *(client.get(t.name, numbers(20), each=(UPTIME,)) for t, _ in switches)
        )
        assert all(a.complete for a in answers)


async def test_one_community_on_two_switches_and_two_communities_on_two(
    client_of: MakeClient,
) -> None:
    async with Agent(table()) as first, Agent(table(), community="other") as second:
        client = await client_of(
            (target(first.address, name="a"), LOOK),
            (target(first.address, name="b"), Community(version="1", text="look")),
            (target(second.address, name="c"), Community(version="2c", text="other")),
        )
        for name in ("a", "b", "c"):
            answer = await client.get(SwitchName(name), [(*NAMES, 1)])
            assert answer.values == {(*NAMES, 1): b"port 1"}


async def test_no_error_and_no_repr_shows_a_community(client_of: MakeClient) -> None:
    async with Agent(table(), community="right") as agent:
        client = await client_of(agent.address, community="s3cret-tide")
        with pytest.raises(NoAnswerError) as caught:
            await client.get(QUAY, numbers(1))
    assert "s3cret-tide" not in f"{caught.value}{caught.value!r}"
    assert "s3cret-tide" not in repr(Community(version="2c", text="s3cret-tide"))


async def test_refused_access_is_passed_on(client_of: MakeClient) -> None:
    class Refusing(Agent):
        def _get(self, asked: ber.Asked, number: int) -> bytes:
            return ber.response(asked, [], status=16, index=0, number=number)

    async with Refusing(table()) as agent:
        client = await client_of(agent.address)
        with pytest.raises(RefusedError, match="refused access"):
            await client.get(QUAY, numbers(1))


async def test_a_site_that_is_dead_does_not_hold_up_the_switches_that_answer(
    client_of: MakeClient,
) -> None:
    """Two requests may be in flight at once; four switches are silent, each for three seconds."""
    async with Agent({UPTIME: ber.ticks(5)}) as living, Agent({}) as dead:
        dead.faults.silent = True
        names = [SwitchName(f"dead {n}") for n in range(4)]
        targets = [target(dead.address, name=name, timeout_s=3) for name in names]
        client = await client_of(
            *((t, LOOK) for t in (*targets, target(living.address))), in_flight=2
        )
        waiting = [asyncio.create_task(client.get(name, [UPTIME])) for name in names]
        await asyncio.sleep(0.05)
        answer = await client.get(QUAY, [UPTIME])
        assert answer.values == {UPTIME: 5}
        assert client.under_way > 2  # more wait than may be in flight at once
        await client.close()
        ended = await asyncio.gather(*waiting, return_exceptions=True)
        assert all(isinstance(end, NoAnswerError) for end in ended)
