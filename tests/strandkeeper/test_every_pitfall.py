"""Every known pitfall of asking switches, and the tests in which an agent misbehaves so.

The numbers are those of the project's own list of facts about SNMP; the words are short for them.
"""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
LAST = 37

_SESSION = "tests/strandkeeper/snmp/test_session.py"
_WALKS = "tests/strandkeeper/snmp/test_walks.py"
_V3 = "tests/strandkeeper/snmp/test_version_3.py"
_TRAPS = "tests/strandkeeper/snmp/test_traps.py"
_POLL = "tests/strandkeeper/jobs/test_poll_switch.py"
_PITFALLS = "tests/strandkeeper/jobs/test_pitfalls.py"
_TABLES = "tests/strandkeeper/jobs/test_described_tables.py"
_TOLD = "tests/end_to_end/test_told.py"

PITFALLS: dict[int, tuple[str, tuple[str, ...]]] = {
    1: ("a 32-bit counter turns over", (
        f"{_POLL}::test_an_agent_with_32_bits_only_is_counted_all_the_same",
    )),
    2: ("counters begin anew at a restart", (
        f"{_POLL}::test_a_restart_is_told_and_makes_no_counts",
        f"{_POLL}::test_a_restart_between_two_parts_of_one_answer_is_seen",
    )),
    3: ("counters begin anew, or leap, without a restart", (
        f"{_PITFALLS}::test_a_jump_of_two_to_the_32_without_a_restart_is_no_traffic_and_no_errors",
        f"{_PITFALLS}::test_a_switch_that_owns_up_to_an_interruption_is_not_counted_across_it",
    )),
    4: ("sysUpTime turns over after 497 days", (
        f"{_POLL}::test_the_turn_of_the_clock_at_497_days_is_no_restart",
    )),
    5: ("counters come out of a cache", (
        f"{_PITFALLS}::test_counters_that_stand_still_and_then_leap_are_counted_once_and_whole",
    )),
    6: ("two counters of one answer are of different ages", (
        f"{_PITFALLS}::test_errors_that_come_later_than_their_frames_are_kept",
    )),
    7: ("a link flaps between two polls", (
        f"{_PITFALLS}::test_a_flap_between_two_polls_shows_by_the_time_of_the_last_change",
    )),
    8: ("a trap comes before the cache knows of it", (
        f"{_TOLD}::test_a_trap_is_told_within_a_second_and_a_cached_poll_does_not_undo_it",
    )),
    9: ("ifIndex is numbered anew", (
        f"{_POLL}::test_rows_that_are_renumbered_at_a_restart_are_found_by_name",
        f"{_POLL}::test_rows_that_swap_their_names_silently_are_never_mixed_up",
    )),
    10: ("rows of ports that are gone stay", (
        f"{_POLL}::test_of_two_rows_with_one_name_the_living_one_is_taken",
    )),
    11: ("entPhysicalIndex is numbered anew", (
        f"{_POLL}::test_sensors_at_new_numbers_are_found_when_the_switch_says_so",
        f"{_POLL}::test_another_module_in_the_port_is_tied_anew_with_its_own_units",
    )),
    12: ("answers come from another address", (
        f"{_SESSION}::test_an_answer_from_another_port_is_not_taken_and_said",
    )),
    13: ("two agents have one engine ID", (
        f"{_V3}::test_two_switches_with_one_engine_id_are_both_read_and_that_is_said",
    )),
    14: ("objects are missing from a good answer", (
        f"{_SESSION}::test_every_kind_of_value_comes_back_as_it_was_sent",
        f"{_SESSION}::test_what_is_missing_in_an_answer_is_said_to_be_missing",
        f"{_POLL}::test_a_module_that_is_gone_is_told_from_sensors_that_are_gone",
    )),
    15: ("the agent speaks v1 alone", (
        f"{_SESSION}::test_v1_asks_again_without_what_is_not_there",
        f"{_POLL}::test_v1_agents_are_polled_with_what_they_have",
    )),
    16: ("zero milliwatts are no light", (
        f"{_POLL}::test_no_light_and_a_sensor_out_of_order_are_two_things",
    )),
    17: ("a floor stands for no light, zeros for no diagnostics", (
        f"{_PITFALLS}::test_a_floor_that_the_owner_names_is_no_light",
        f"{_PITFALLS}::test_zeros_in_every_figure_are_a_module_without_diagnostics",
        f"{_TABLES}::test_a_described_table_gives_the_true_figures",
    )),
    18: ("a module has no diagnostics", (
        f"{_POLL}::test_a_switch_without_sensors_is_watched_for_state_and_errors",
    )),
    19: ("state and light are two facts", (
        f"{_PITFALLS}::test_a_link_that_is_down_with_good_light_keeps_its_light",
        f"{_PITFALLS}::test_a_link_that_is_up_without_readings_is_up",
    )),
    20: ("tooBig, or silence instead of it", (
        f"{_SESSION}::test_too_big_halves_the_request_and_is_remembered",
        f"{_SESSION}::test_silence_to_large_requests_is_told_from_a_dead_switch",
    )),
    21: ("few objects at a time; a part of what was asked, or in another order", (
        f"{_SESSION}::test_an_agent_that_takes_one_object_at_a_time_is_still_read",
        f"{_SESSION}::test_values_are_matched_by_what_they_are_not_where_they_stand",
        f"{_SESSION}::test_what_is_missing_in_an_answer_is_said_to_be_missing",
    )),
    22: ("walks that give little, go in circles or never end", (
        f"{_SESSION}::test_an_agent_that_walks_in_circles_is_left",
        f"{_WALKS}::test_a_row_that_comes_again_or_lies_behind_ends_the_walk",
        f"{_WALKS}::test_a_column_without_an_end_is_left_after_so_many_rows",
        f"{_WALKS}::test_an_agent_that_gives_little_at_a_time_and_never_ends_is_left_too",
        f"{_WALKS}::test_a_slow_column_is_left_after_so_long_with_what_came",
    )),
    23: ("slow agents and limits to a rate", (
        f"{_PITFALLS}::test_a_slow_switch_has_one_request_under_way_and_no_more",
        f"{_POLL}::test_a_silent_switch_costs_one_small_request_a_poll",
        f"{_WALKS}::test_a_walk_is_no_faster_than_it_was_told_to_be",
    )),
    24: ("answers come late", (
        f"{_SESSION}::test_a_late_answer_is_not_taken_for_the_next",
        f"{_POLL}::test_a_frozen_agent_that_thaws_mixes_nothing_up",
    )),
    25: ("an SNMPv3 agent restarts", (
        f"{_V3}::test_a_rebooted_engine_is_followed_without_a_word",
    )),
    26: ("an SNMPv3 agent counts its boots anew", (
        f"{_V3}::test_boots_that_go_back_are_followed",
        f"{_TRAPS}::test_a_switch_that_lost_its_boots_is_still_heard",
    )),
    27: ("another device at the same address", (
        f"{_V3}::test_a_replaced_switch_is_met_anew",
    )),
    28: ("the poller slept through the time window", (
        f"{_V3}::test_who_slept_through_the_time_window_asks_the_time_anew",
    )),
    29: ("privacy needs a cipher library", (
        f"{_V3}::test_privacy_without_a_cipher_library_is_said_before_anything_is_asked",
    )),
    30: ("the sensors are another agent's, which hangs or dies", (
        f"{_POLL}::test_a_sensor_service_that_hangs_spoils_only_the_light",
        f"{_POLL}::test_a_dead_sensor_service_takes_no_module_out",
        f"{_PITFALLS}::test_a_sensor_part_that_hangs_does_not_hold_the_interfaces_up",
        f"{_PITFALLS}::"
        "test_a_sensor_part_that_swallows_requests_teaches_nothing_about_the_others",
        f"{_PITFALLS}::test_sensors_that_failed_for_long_are_left_alone_for_a_while",
    )),
    31: ("the credential may see a part of the tree", (
        f"{_PITFALLS}::test_what_a_credential_may_not_see_is_not_said_to_be_absent",
        f"{_TABLES}::test_a_table_that_the_switch_does_not_have_is_said",
    )),
    32: ("informs want an answer and are sent again", (
        f"{_TRAPS}::test_an_inform_is_answered_and_counted_once",
        f"{_TRAPS}::test_an_inform_that_is_sent_again_is_answered_again_and_counted_once",
        f"{_TRAPS}::test_a_v3_inform_is_answered",
    )),
    33: ("a trap comes by way of a relay", (
        f"{_TRAPS}::test_of_two_switches_behind_one_relay_the_trap_says_which",
        f"{_TRAPS}::test_a_stranger_is_dropped_whatever_it_knows",
    )),
    34: ("v1 traps have a form of their own", (
        f"{_TRAPS}::test_a_v1_trap_means_the_same",
        f"{_TRAPS}::test_the_generic_numbers_of_v1_traps_are_those_of_rfc_3584",
        f"{_TRAPS}::test_a_trap_is_read_by_its_objects_however_many_come_with_them",
    )),
    35: ("the sender of a v3 trap is the authority on itself", (
        f"{_TRAPS}::test_a_v3_trap_is_proven_by_the_keys_of_its_sender",
    )),
    36: ("a flapping port sends storms", (
        f"{_TRAPS}::test_of_a_storm_the_last_state_of_each_port_is_taken",
        f"{_TRAPS}::test_a_storm_is_cut_to_the_rate",
    )),
    37: ("a start is told, perhaps before polls are answered", (
        f"{_TRAPS}::test_a_start_and_the_links_that_come_up_after_it_are_all_heard",
        f"{_PITFALLS}::"
        "test_a_switch_that_restarts_while_it_is_silent_is_known_to_have_restarted",
    )),
}  # fmt: skip


@cache
def names_in(path: str) -> frozenset[str]:
    """The names of the test functions of a file."""
    tree = ast.parse((ROOT / path).read_text(encoding="utf-8"))
    kinds = (ast.FunctionDef, ast.AsyncFunctionDef)
    return frozenset(n.name for n in tree.body if isinstance(n, kinds))


def test_no_pitfall_is_left_out() -> None:
    assert list(PITFALLS) == list(range(1, LAST + 1))


@pytest.mark.parametrize("number", list(PITFALLS))
def test_each_has_tests_that_exist(number: int) -> None:
    words, nodes = PITFALLS[number]
    assert words
    assert nodes
    for node in nodes:
        path, _, name = node.partition("::")
        assert name in names_in(path), f"pitfall {number} ({words}): there is no {node}"
