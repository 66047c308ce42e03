"""A file is upgraded whole or not at all, and a file from the future is refused."""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path

import pytest

from strandkeeper.errors import StoreError, StoreTooNewError
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.power import NO_LIGHT
from strandkeeper.model.stats import HOUR_S
from strandkeeper.model.verdict import EventKind
from strandkeeper.optics.units import Db
from strandkeeper.store import open_reader, open_writer
from strandkeeper.store.migrate import Step, backup_path, known_steps, migrate, statements

NEWEST = known_steps()[-1].version
DATABASES = Path(__file__).parents[2] / "data" / "databases"
NEXT = Step(
    NEWEST + 1,
    "9999_made_up.sql",
    """
    CREATE TABLE extra (id INTEGER PRIMARY KEY, note TEXT NOT NULL) STRICT;
    INSERT INTO extra (note) SELECT name FROM link;
    CREATE TRIGGER counted AFTER INSERT ON extra BEGIN
      UPDATE meta SET value = value + 1 WHERE key = 'x; y';
      DELETE FROM extra WHERE note = 'nobody';
    END;
    ALTER TABLE link ADD COLUMN colour TEXT;
    DROP TABLE module;
    """,
)


class Failing(sqlite3.Connection):
    """A real connection whose n-th statement fails."""

    fail_at = -1
    done = 0

    def execute(self, sql: str, *parameters: object) -> sqlite3.Cursor:  # type: ignore[override]
        if not sql.lstrip().startswith(("ROLLBACK", "PRAGMA user_version ")):
            self.done += 1
            if self.done == self.fail_at:
                raise sqlite3.OperationalError("disk I/O error")
        return super().execute(sql, *parameters)  # type: ignore[arg-type]


def dump(path: Path) -> list[str]:
    database = sqlite3.connect(path)
    version = database.execute("PRAGMA user_version").fetchone()[0]
    lines = [f"-- {version}", *database.iterdump()]
    database.close()
    return lines


def connect(path: Path, fail_at: int = -1) -> Failing:
    connection = sqlite3.connect(path, isolation_level=None, factory=Failing)
    connection.fail_at = fail_at
    return connection


@pytest.fixture
def old(path: Path) -> Path:
    shutil.copy(DATABASES / "release_1.db", path)
    return path


def test_a_new_file_gets_the_newest_format(path: Path) -> None:
    open_writer(path, reserve=False).close()
    reader = open_reader(path)
    assert reader.info().format == known_steps()[-1].version
    reader.close()


def test_steps_are_numbered_from_one_without_a_gap() -> None:
    assert [step.version for step in known_steps()] == list(range(1, len(known_steps()) + 1))


def test_upgrading_twice_changes_nothing(old: Path) -> None:
    dumps = []
    for expected in ((1, NEXT.version), (NEXT.version, NEXT.version)):
        connection = connect(old)
        assert migrate(connection, old, [*known_steps(), NEXT]) == expected
        connection.close()
        dumps.append(dump(old))
    assert dumps[0] == dumps[1]


def test_the_file_is_copied_before_it_is_changed(old: Path) -> None:
    before = dump(old)
    connection = connect(old)
    migrate(connection, old, [*known_steps(), NEXT])
    connection.close()
    assert dump(backup_path(old, 1)) == before
    assert dump(old) != before


@pytest.mark.parametrize(("begin", "least"), [("release_1", 8), ("new", 25)])
def test_whichever_statement_fails_the_file_is_as_it_was(
    path: Path, begin: str, least: int
) -> None:
    wanted = [*known_steps(), NEXT]
    failures = 0
    for fail_at in range(1, 200):
        place = path.with_name(f"{fail_at}.db")
        if begin == "release_1":
            shutil.copy(DATABASES / "release_1.db", place)
        else:
            sqlite3.connect(place).close()
        before = dump(place)
        connection = connect(place, fail_at)
        try:
            migrate(connection, place, wanted)
        except sqlite3.OperationalError:
            failures += 1
            connection.close()
            assert dump(place) == before, f"statement {fail_at}"
        else:
            connection.close()
            assert dump(place) != before
            break
    else:
        pytest.fail("the upgrade never got through")
    assert failures >= least


def test_a_file_of_a_later_release_is_refused_with_the_way_out(old: Path) -> None:
    database = sqlite3.connect(old)
    database.execute(f"PRAGMA user_version = {NEWEST + 6}")
    database.close()
    before = dump(old)
    for opening in (open_writer, open_reader):
        with pytest.raises(StoreTooNewError) as refused:
            opening(old)
        assert str(refused.value) == (
            f"the record {old} was written by a later release: its format is {NEWEST + 6}, "
            f"this release knows formats up to {NEWEST}\n"
            "  Install the release that wrote it, or bring back the copy made before the upgrade "
            f"(record.db.before-upgrade-from-{NEWEST}, in the same directory)."
        )
    assert dump(old) == before


def test_a_reader_does_not_upgrade_and_says_who_does(path: Path) -> None:
    open_writer(path, reserve=False).close()
    database = sqlite3.connect(path)
    database.execute("PRAGMA user_version = 0")
    database.close()
    with pytest.raises(StoreError) as refused:
        open_reader(path)
    assert str(refused.value) == (
        f"the record {path} has format 0, this release reads format {NEWEST}\n"
        "  Start the daemon of this release once: `strandkeeper run CONFIG` upgrades it."
    )


def test_statements_end_where_sql_says_not_at_every_semicolon() -> None:
    assert len(list(statements(NEXT.sql))) == 5


def test_an_unfinished_statement_is_an_error() -> None:
    with pytest.raises(ValueError, match="unfinished statement"):
        list(statements("CREATE TABLE x (id"))


def test_the_first_releases_file_is_read_as_it_was_written(old: Path) -> None:
    """Release 0.1 wrote two links, 120 batches of 20 s, six of them dark at the pump house."""
    open_writer(old, reserve=False).close()
    reader = open_reader(old)
    link = LinkName("Lab to pump house")
    rows = list(reader.rows(link))
    dark = [row for row in rows if row.optics is not None and row.optics.rx == NO_LIGHT]
    verdict = reader.verdict(link)
    (note,) = reader.waiting_entries()
    (event,) = reader.events()
    (stat,) = reader.stats(link, Direction.AB, HOUR_S)
    reader.close()
    begin = 1_795_000_200_000
    assert [row.time_ms for row in rows[::2]] == [begin + n * 20_000 for n in range(120)]
    assert [row.time_ms for row in dark] == [begin + n * 20_000 for n in range(60, 66)]
    assert {row.end for row in dark} == {End.B}
    assert verdict is not None
    assert verdict.ab.margin == Db(10.5)
    assert (note.entry.who, note.entry.payload["text"]) == ("anna", "cleaned the plugs")
    assert (event.kind, event.end) == (EventKind.LIGHT_LOST, End.B)
    assert (stat.n, stat.rx_mdbm) == (114, -8057)


def test_a_file_of_format_three_keeps_its_rows_alerts_and_messages(path: Path) -> None:
    """Two hours of one link with an outage: 444 rows, two alerts told and over, four messages."""
    shutil.copy(DATABASES / "release_3.db", path)
    open_writer(path, reserve=False).close()
    reader = open_reader(path)
    link = LinkName("shore")
    rows = list(reader.rows(link))
    verdict = reader.verdict(link)
    alerts, waiting = reader.alerts(10), reader.waiting_messages()
    reader.close()
    assert (len(rows), len(alerts), len(waiting)) == (444, 2, 4)
    assert {row.by_trap for row in rows} == {False}
    assert verdict is not None
    assert (len(verdict.outages), verdict.outages[0].seen_by, verdict.downs_14d) == (1, (), 0)
