"""A register says its format: newer ones are refused, earlier ones brought up to date by a load, on both stores."""

import pytest
from registers import CAME_WITH, INDEXES_WITH, column, contents, indexes_later_than, indexes_of, make_earlier, placed

from asbuilt import cli
from asbuilt.errors import AsbuiltError
from asbuilt.register import migrations
from asbuilt.register.layout import FORMAT, REGISTER_LAYERS
from asbuilt.register.loading import load
from asbuilt.register.marks import mark
from asbuilt.register.opening import open_existing
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.undo import undo
from asbuilt.serve.around import around


@pytest.fixture(scope="module")
def jobs(folder):
    """Give a job and its corrected log."""
    return placed(folder / "job.gpkg"), placed(folder / "corrected.gpkg", gauge={2: "no"})


def columns_of(register):
    store = open_existing(register, writing=True)
    try:
        return {table: store.column_names(table) - {"fid", "geom"} for table in REGISTER_LAYERS}
    finally:
        store.close()


def test_the_last_step_leads_to_the_format_of_the_tables():
    assert migrations.newest() == FORMAT == max(*CAME_WITH, *INDEXES_WITH)


def test_columns_of_one_name_are_of_one_kind():
    kinds = {}
    for table in REGISTER_LAYERS.values():
        for name, about in table.columns.items():
            assert kinds.setdefault(name, about.kind) == about.kind, name


@pytest.mark.parametrize("number", [1, FORMAT - 1])
def test_a_load_brings_an_earlier_register_up_to_date_and_readers_leave_it_alone(register, jobs, number, capsys):
    load(jobs[0], register)
    before, made, indexes = contents(register), columns_of(register), indexes_of(register)
    make_earlier(register, number)
    assert indexes - indexes_of(register) >= set(indexes_later_than(number))
    for reader in (
        lambda: find(register, Question()),
        lambda: load(jobs[1], register, dry_run=True),
        lambda: mark(register, "0123456789"),
        lambda: undo(1, register),
    ):
        with pytest.raises(AsbuiltError, match=f"its format is number {number}, now {FORMAT}.*load any file into it"):
            reader()
    loaded = load(jobs[0], register)
    assert loaded.changed is False
    assert columns_of(register) == made
    assert indexes_of(register) == indexes
    assert column(register, "register", "format") == [FORMAT]
    after = contents(register)
    assert {name: len(rows) for name, rows in after.items()} == {name: len(rows) for name, rows in before.items()}
    if number == FORMAT - 1:
        assert after == before
    assert load(jobs[1], register).joints["updated"] == 1
    assert len(find(register, Question()).joints) == 6
    (line,) = around(register, (-122.0, 38.0, -120.0, 40.0))["surveyed"]["features"]
    assert line["properties"]["route"] == "A"


@pytest.mark.parametrize("register", ["postgis"], indirect=True)
def test_whoever_could_read_an_earlier_register_can_read_it_when_it_is_up_to_date(register, jobs):
    import psycopg

    load(jobs[0], register)
    make_earlier(register, 7)
    with psycopg.connect(register, autocommit=True) as connection:
        connection.execute('DROP ROLE IF EXISTS "Map readers"')
        connection.execute('CREATE ROLE "Map readers" LOGIN')
        connection.execute('GRANT USAGE ON SCHEMA asbuilt TO "Map readers"')
        connection.execute('GRANT SELECT ON ALL TABLES IN SCHEMA asbuilt TO "Map readers"')
    reader = register.replace("//asbuilt@", "//Map%20readers@")
    with pytest.raises(AsbuiltError, match="load any file into it"):
        find(reader, Question())
    try:
        load(jobs[0], register)
        assert len(find(reader, Question()).joints) == 6
    finally:
        with psycopg.connect(register, autocommit=True) as connection:
            connection.execute('DROP OWNED BY "Map readers"')
            connection.execute('DROP ROLE "Map readers"')


def test_a_newer_register_is_refused_by_every_command_and_left_as_it_is(register, jobs, capsys):
    load(jobs[0], register)
    store = open_existing(register, writing=True)
    with store.changing():
        store.execute("UPDATE register SET format = :number", number=FORMAT + 1)
    store.close()
    for arguments in (["find", register], ["conflicts", register], ["load", str(jobs[1]), "--into", register]):
        assert cli.run(arguments) == 2
        told = capsys.readouterr().err
        assert f"its format is number {FORMAT + 1}" in told
        assert "a newer one" in told
