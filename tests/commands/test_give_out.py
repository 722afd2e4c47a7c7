"""Every record in one file, from a terminal."""

import io
import json
import zipfile

import pytest
from django.core.management import CommandError, call_command

from tests.factories import make_project


def run(*arguments):
    out = io.StringIO()
    call_command("give_out", *map(str, arguments), stdout=out)
    return out.getvalue()


def test_it_writes_csv_files_in_a_zip(db, tmp_path):
    make_project(name="Tug Heron", code="P-07")
    file = tmp_path / "records.zip"
    assert "tables are in" in run(file)
    with zipfile.ZipFile(file) as packed:
        assert "Tug Heron" in packed.read("projects.csv").decode("utf-8-sig")


def test_it_writes_one_json_file_and_tells_so_as_json(db, tmp_path):
    make_project(name="Tug Heron", code="P-07")
    file = tmp_path / "records.json"
    told = json.loads(run(file, "--json"))
    assert told["bytes"] == file.stat().st_size
    kept = json.loads(file.read_text(encoding="utf-8"))["tables"]
    assert sorted(kept) == sorted(told["tables"])
    assert kept["projects"][0]["name"] == "Tug Heron"


@pytest.mark.parametrize("name", ["records.csv", "records", "nowhere/records.zip"])
def test_it_refuses_a_file_it_cannot_write(db, tmp_path, name):
    with pytest.raises(CommandError, match=r"must end in|cannot be written"):
        run(tmp_path / name)


def test_it_writes_over_nothing(db, tmp_path):
    file = tmp_path / "records.zip"
    file.write_bytes(b"mine")
    with pytest.raises(CommandError, match="cannot be written"):
        run(file)
    assert file.read_bytes() == b"mine"
