"""Keys, types and ranges: by the name of the thing, what was got, what to write."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.strandkeeper.config.texts import BASE, SWITCHES, VALID, problems, without

from strandkeeper.config.load import loads
from strandkeeper.config.problem import nearest, one_of
from strandkeeper.config.schema import FileTable, SwitchTable
from strandkeeper.errors import ConfigError

V3 = 'snmp = { version = "3", user = "watcher", auth = "SHA-256", auth_key_env = "PUMP_AUTH" }'
V2 = 'snmp = { version = "2c", community_file = "lab.community" }'


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        pytest.param(
            'auth = "SHA-256"',
            'auth = "SHA256"',
            'switch "pump-switch" › snmp › auth: got "SHA256", expected "MD5", "SHA", "SHA-224", '
            '"SHA-256", "SHA-384" or "SHA-512"; write: auth = "SHA-256"',
            id="a protocol misspelt",
        ),
        pytest.param(
            'version = "2c"',
            "version = 2",
            'switch "lab-switch" › snmp › version: got 2, expected "1", "2c" or "3" in quotes; '
            'write: version = "2c"',
            id="a version as a number",
        ),
        pytest.param(
            'version = "3"',
            "version = 3",
            'switch "pump-switch" › snmp › version: got 3, expected "1", "2c" or "3" in quotes; '
            'write: version = "3"',
            id="version 3 as a number",
        ),
        pytest.param(
            'version = "2c", ',
            "",
            'switch "lab-switch" › snmp › version: missing (SNMP version: "1", "2c" or "3"); '
            'write: version = "3"',
            id="no version",
        ),
        pytest.param(
            'host = "192.0.2.10"',
            'hots = "192.0.2.10"\nhost = "192.0.2.10"',
            'switch "lab-switch" › hots: no such key; nearest: host; write: host = "192.0.2.10"',
            id="an unknown key with a near one",
        ),
        pytest.param(
            'host = "192.0.2.10"',
            'zzz = 1\nhost = "192.0.2.10"',
            'switch "lab-switch" › zzz: no such key; there are: '
            f"{', '.join(SwitchTable.model_fields)}",
            id="an unknown key without one",
        ),
        pytest.param(
            'host = "192.0.2.10"',
            "host = 10",
            'switch "lab-switch" › host: got 10, expected text in double quotes; '
            'write: host = "192.0.2.10"',
            id="a number for text",
        ),
        pytest.param(
            'host = "192.0.2.10"',
            'port = "161"\nhost = "192.0.2.10"',
            'switch "lab-switch" › port: got "161", expected a whole number; write: port = 161',
            id="text for a number",
        ),
        pytest.param(
            'host = "192.0.2.10"',
            'port = 70000\nhost = "192.0.2.10"',
            'switch "lab-switch" › port: got 70000, expected at most 65535; write: port = 161',
            id="a port out of range",
        ),
        pytest.param(
            'name = "lab-switch"\n',
            "",
            "the 1st [[switch]] › name: missing (your name for it, used in [[link]]); "
            'write: name = "lab-switch"',
            id="a nameless switch by its place",
        ),
        pytest.param(
            V2,
            'snmp = "public"',
            'switch "lab-switch" › snmp: got something else, expected a table; write: snmp = '
            '{ version = "3", user = "watcher", auth = "SHA-256", auth_key_file = '
            '"lab-switch.auth", priv = "AES-128", priv_key_file = "lab-switch.priv" }',
            id="a community where the table belongs",
        ),
        pytest.param(
            "length_m = 900",
            "length_m = true",
            'link "Shore" › length_m: got true, expected a number; write: length_m = 900',
            id="a truth for a length",
        ),
        pytest.param(
            "length_m = 900",
            'near = "A"',
            'link "Shore" › near: got "A", expected "a" or "b"; write: near = "a"',
            id="an end in capitals",
        ),
        pytest.param(
            "length_m = 900",
            "strands = 3",
            'link "Shore" › strands: got 3, expected 1 or 2; write: strands = 2',
            id="three strands",
        ),
        pytest.param(
            'port = "Gi1", pmd',
            'port = "Gi1", overload_dbm = 99, pmd',
            'link "Shore" › a › overload_dbm: got 99, expected at most 30; '
            "write: overload_dbm = -3.0",
            id="a power that no module has",
        ),
    ],
)
def test_one_mistake_is_one_sentence(old: str, new: str, sentence: str) -> None:
    assert [p for p in problems(without(VALID, old, new)) if "[[switch]] is called" not in p] == [
        sentence
    ]


@pytest.mark.parametrize(
    ("section", "sentence"),
    [
        (
            "[intervals]\nstatus_s = 0\n",
            "intervals › status_s: got 0, expected at least 1; write: status_s = 10",
        ),
        (
            "[intervals]\noptics_s = 12.5\n",
            "intervals › optics_s: got 12.5, expected a whole number; write: optics_s = 30",
        ),
        ("[metrics]\nenabled = 1\n", "metrics › enabled: got 1, expected true or false; "
         "write: enabled = true"),
        ("[thresholds]\nreserve_warn = 3\n", "thresholds › reserve_warn: no such key; nearest: "
         "reserve_warn_db; write: reserve_warn_db = 6.0"),
        ("[thresholds]\nflicker_ratio = nan\n", "thresholds › flicker_ratio: got nan, expected a "
         "finite number; write: flicker_ratio = 3.0"),
        ("[dashbord]\nport = 1\n", "dashbord: no such key; nearest: dashboard; "
         "write: [dashboard]"),
        ("[store]\npath = ''\n", 'store › path: got "", expected some text; '
         'write: path = "strandkeeper.db"'),
    ],
)  # fmt: skip
def test_one_mistake_in_a_section_is_one_sentence(section: str, sentence: str) -> None:
    assert problems(VALID + section) == (sentence,)


def test_single_brackets_where_double_ones_belong() -> None:
    text = without(without(SWITCHES, "[[switch]]", "[switch]"), "[[switch]]", "[other]")
    assert problems(text) == (
        "switch: got a table, expected tables in double brackets, one a thing; write: [[switch]]",
        f"other: no such key; there are: {', '.join(FileTable.model_fields)}",
    )


IN_THE_CLEAR = (
    "a secret in this file could be read by whatever reads the file; put it alone into a file "
    "that only the service can read"
)


@pytest.mark.parametrize("key", ["community", "community_string", "password"])
def test_a_community_in_the_clear_is_refused_and_not_repeated(key: str) -> None:
    text = without(VALID, 'community_file = "lab.community"', f'{key} = "geheim"')
    first, *rest = problems(text)
    assert first == (
        f'switch "lab-switch" › snmp › {key}: {IN_THE_CLEAR}; '
        'write: community_file = "lab-switch.community" '
        "(or community_env or community_credential)"
    )
    assert rest == []


@pytest.mark.parametrize(
    ("key", "line"),
    [
        ("auth_key", 'auth_key_file = "lab-switch.auth" (or auth_key_env or auth_key_credential)'),
        ("priv_password", 'priv_key_file = "lab-switch.priv" (or priv_key_env or '
         "priv_key_credential)"),
    ],
)  # fmt: skip
def test_a_key_in_the_clear_is_refused_and_not_repeated(key: str, line: str) -> None:
    text = without(VALID, 'auth_key_env = "PUMP_AUTH"', f'auth_key_env = "X", {key} = "geheim"')
    assert problems(text) == (
        f'switch "pump-switch" › snmp › {key}: {IN_THE_CLEAR}; write: {line}',
    )


@pytest.mark.parametrize(
    "spoilt",
    [
        'community = "geheim"',
        'comunity = "geheim"',
        'community_file = ["geheim"]',
        'communty_file = "x", kommunity = "geheim"',
        'pass = "geheim"',
        'community = { text = "geheim" }',
    ],
)
def test_no_error_ever_repeats_what_may_be_a_secret(spoilt: str) -> None:
    text = without(VALID, 'community_file = "lab.community"', spoilt)
    assert "geheim" not in " ".join(problems(text))


@pytest.mark.parametrize("where", ["public geheim", 'community = geheim"', "snmp = { x = geheim"])
def test_no_syntax_error_repeats_what_stands_behind_the_equals_sign(where: str) -> None:
    with pytest.raises(ConfigError) as caught:
        loads(f"[[switch]]\n{where}\n", base=BASE)
    assert "geheim" not in str(caught.value) or "=" not in where


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("station Lab", "line 1 (station Lab ...): a key needs `= value` after it"),
        ('station = "Lab\nx = 1\n', "line 1 (station ...): a text is not closed on its line; a "
         "double quote is missing"),
        ("station = Lab\n", "line 1 (station ...): this is not a value; text stands in double "
         "quotes, numbers and true/false do not"),
        ("a = 1\na = 2\n", "line 2 (a ...): this key is there twice; keep one of them"),
        ("[store]\n[store]\n", "line 2 ([store] ...): this table is there twice; a list of things "
         "has [[double]] brackets"),
        ('path = "C:\\data"\n', "line 1 (path ...): a backslash inside double quotes must be "
         "doubled"),
        ("a = 1 b = 2\n", "line 1 (a ...): something follows the value; one `key = value` a line"),
        ("x = {a = 1, ", "at the end: a key starts with a letter, a digit, _ or -"),
        ("x = " + "[" * 5_000, "lists or tables stand in one another, deeper than any key needs"),
    ],
)  # fmt: skip
def test_a_toml_mistake_is_told_in_plain_words_with_its_line(text: str, sentence: str) -> None:
    with pytest.raises(ConfigError) as caught:
        loads(text, base=BASE, name="station.toml")
    message = str(caught.value)
    assert message.startswith("station.toml: cannot be read as TOML\n  - ")
    # the parser counts the end of the text as a place of its own
    assert message.removeprefix("station.toml: cannot be read as TOML\n  - ") == sentence


@given(st.text(max_size=60))
def test_no_text_at_all_ends_in_anything_but_a_configuration_error(text: str) -> None:
    with pytest.raises(ConfigError):
        loads(text, base=BASE)


@given(
    st.recursive(
        st.one_of(st.integers(), st.booleans(), st.floats(allow_nan=False), st.text(max_size=5)),
        lambda inner: st.one_of(
            st.lists(inner, max_size=2),
            st.dictionaries(st.sampled_from(["name", "switch", "a", "snmp", "host"]), inner),
        ),
        max_leaves=6,
    ),
    st.sampled_from(["switch", "link", "store", "intervals", "station", "thresholds", "metrics"]),
)
def test_no_value_in_any_place_ends_in_anything_but_sentences(value: object, key: str) -> None:
    from strandkeeper.config.load import _relations, _shape

    raw = {key: value}
    _, found = _shape(raw)
    sentences = [str(p) for p in [*found, *_relations(raw)]]
    assert sentences
    assert not [s for s in sentences if "pydantic" in s or "Input should" in s]


def test_a_misspelt_word_finds_its_neighbour_whatever_its_case() -> None:
    assert nearest("sha256", ["MD5", "SHA-256"]) == "SHA-256"
    assert nearest("Pump-Swich", ["lab-switch", "pump-switch"]) == "pump-switch"
    assert nearest("zzz", ["lab-switch"]) is None


def test_a_choice_reads_like_speech() -> None:
    assert (one_of(["a"]), one_of(["a", "b"]), one_of(["a", "b", "c"])) == (
        "a",
        "a or b",
        "a, b or c",
    )
