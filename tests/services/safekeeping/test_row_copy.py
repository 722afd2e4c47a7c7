"""A new file of records, made at once, is what going through every migration makes of one."""

from pathlib import Path

import pytest
from django.db import connections
from django.db.migrations.executor import MigrationExecutor

from decaljobs.services.safekeeping.row_copy import open_file, steps_taken, take_steps

pytestmark = [pytest.mark.django_db, pytest.mark.slow]


def tables(alias: str) -> dict[str, tuple]:
    """Of every table its columns and its constraints, named where we have named them."""
    connection, found = connections[alias], {}
    look = connection.introspection
    with connection.cursor() as cursor:
        for table in look.table_names(cursor):
            columns = {
                (each.name, each.type_code, each.null_ok, each.default)
                for each in look.get_table_description(cursor, table)
            }
            rules = sorted(
                (_given(name) if each["check"] or each["unique"] else "", repr(each))
                for name, each in look.get_constraints(cursor, table).items()
            )
            found[table] = (columns, rules)
    return found


def _given(name: str) -> str:
    return "" if name.startswith("__unnamed") else name


@pytest.mark.parametrize("state", [None, "0010_photos_and_panels"])
def test_tables_made_at_once_are_those_that_the_steps_lead_to(state, tmp_path: Path):
    with open_file(tmp_path / "by-steps.sqlite3") as alias:
        executor = MigrationExecutor(connections[alias])
        leaves = dict(executor.loader.graph.leaf_nodes())
        executor.migrate(list((leaves | {"decaljobs": state or leaves["decaljobs"]}).items()))
        steps, by_steps = steps_taken(alias), tables(alias)
    with open_file(tmp_path / "at-once.sqlite3") as alias:
        take_steps(alias, steps)
        assert steps_taken(alias) == steps
        at_once = tables(alias)
    assert len(by_steps) > 30
    assert at_once == by_steps
