"""Requests packed to a size, and the size that is learned."""

from __future__ import annotations

import itertools

from hypothesis import given
from hypothesis import strategies as st

from strandkeeper.model.oid import Oid
from strandkeeper.snmp.sizes import Group, RequestSize, pack

CLOCK: Oid = (1, 3, 9)


def oids(count: int, row: int = 0) -> tuple[Oid, ...]:
    return tuple((1, 3, 1, row, n) for n in range(count))


def test_what_fits_goes_in_one_request() -> None:
    groups = [Group((1, 3, 5, row), oids(12, row)) for row in (1, 2)]
    assert [len(r) for r in pack(groups, (CLOCK,), 28)] == [27]


def test_a_group_is_not_parted_if_it_fits_into_a_request_of_its_own() -> None:
    groups = [Group((1, 3, 5, row), oids(12, row)) for row in (1, 2, 3)]
    packed = pack(groups, (CLOCK,), 28)
    assert [len(r) for r in packed] == [27, 14]


def test_a_parted_group_has_its_key_in_each_piece() -> None:
    packed = pack([Group((1, 3, 5, 1), oids(12))], (CLOCK,), 6)
    assert all(r[:2] == (CLOCK, (1, 3, 5, 1)) for r in packed)
    assert [len(r) for r in packed] == [6, 6, 6]


GROUPS = st.lists(
    st.builds(
        lambda row, n, keyed: Group((1, 3, 5, row) if keyed else None, oids(n, row)),
        st.integers(0, 5),
        st.integers(1, 15),
        st.booleans(),
    ),
    max_size=6,
)


@given(GROUPS, st.integers(0, 2), st.integers(1, 40))
def test_everything_is_asked_and_no_request_is_too_large(
    groups: list[Group], each_count: int, limit: int
) -> None:
    each = tuple((1, 3, 9, n) for n in range(each_count))
    packed = pack(groups, each, limit)
    asked = {oid for request in packed for oid in request}
    assert asked >= {oid for group in groups for oid in group.oids} | set(each)
    assert all(len(request) <= max(limit, 1) for request in packed)


def test_the_size_is_halved_and_never_below_one() -> None:
    size = RequestSize(28)
    size.shrink(28)
    assert size.limit == 14
    for _ in range(10):
        size.shrink(size.limit)
    assert size.limit == 1


def test_after_a_long_while_a_larger_request_is_tried_again_ever_more_rarely() -> None:
    size, tries = RequestSize(28), []
    for n in range(20_000):
        before = size.limit
        size.worked()
        if size.limit > before or n == 0:
            tries.append(n)
            size.shrink(28)  # and it fails again
    gaps = [b - a for a, b in itertools.pairwise(tries)]
    assert gaps == sorted(gaps)
    assert gaps[0] > 300
    assert 3 <= len(gaps) <= 6
