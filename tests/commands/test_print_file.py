"""The print file from a terminal."""

import json

import pytest
from django.core.management import CommandError, call_command

from decaljobs.craft.stages import Build
from tests.factories import make_decals, make_sheet, placed_sheet
from tests.pdf import papers

pytestmark = pytest.mark.django_db


def test_it_writes_the_print_file(tmp_path, capsys):
    placed_sheet("clear", make_decals(1, Build.CLEAR_ALONE), width_mm=150, height_mm=100)
    file = tmp_path / "sheet.pdf"
    call_command("print_file", "c-01", "-o", str(file), "--guides", "--json")
    assert json.loads(capsys.readouterr().out) == {"sheet": "C-01", "file": str(file), "pieces": 2}
    page = papers.read(file.read_bytes())[0]
    assert page.get_width() / papers.POINTS_PER_MM == pytest.approx(150, abs=0.01)


def test_it_says_what_is_wrong(tmp_path):
    with pytest.raises(CommandError, match="no sheet W-99"):
        call_command("print_file", "W-99", "-o", str(tmp_path / "a.pdf"))
    make_sheet("white")
    with pytest.raises(CommandError, match="Nothing lies on sheet W-01"):
        call_command("print_file", "W-01", "-o", str(tmp_path / "a.pdf"))
    placed_sheet("clear", make_decals(1, Build.CLEAR_ALONE))
    with pytest.raises(CommandError, match="cannot be written"):
        call_command("print_file", "C-01", "-o", str(tmp_path / "none" / "a.pdf"))
