"""Tables made to do harm: to spreadsheets that open ours, and to us who open theirs."""

from __future__ import annotations

import csv
import io
import time
import zipfile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from decaljobs.models import Decal, Project, Reading, Room
from tests.factories import make_artwork, make_decals, make_project

pytestmark = pytest.mark.django_db
#: Processor time within which any table is answered, seconds.
MOST_SECONDS = 10.0
HALF = 500_000
BOMBS = {
    "half a million columns": "name,scale" + "," * HALF,
    "half a million quotation marks": 'name,scale\n"' + '"' * HALF,
    "a quarter of a million empty lines": "name,scale\n" + "\r\n" * (HALF // 2),
    "a quotation mark never closed": 'name,scale\n"Tug,1:72\n' + "x,y\n" * (HALF // 4),
    "a hundred thousand lines": "name,scale\n" + "a,1\n" * 100_000,
    "one cell of half a megabyte": "name,scale\n" + "x" * HALF + ",1:72",
    "a scale of 400,000 digits": "name,scale\nTug,1:" + "9" * 400_000,
    "nothing but NUL": "name,scale\n" + "\x00" * HALF,
    "every separator": "name,scale\n" + ",;\t|" * (HALF // 4),
    "headings twice": "name,name,scale,scale\n1,2,3,4",
    "a depth of brackets": "name,scale\n" + "[" * HALF,
}


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["projects", "decals"])
@pytest.mark.parametrize("bomb", BOMBS)
def test_a_table_that_is_a_bomb_is_answered_soon_and_keeps_nothing(signed_in, bomb, kind):
    begun = time.process_time()
    file = SimpleUploadedFile("lines.csv", BOMBS[bomb].encode())
    for more in ({}, {"save": "yes"}):
        file.seek(0)
        answer = signed_in.post(reverse("in-and-out"), {"kind": kind, "file": file, **more})
        assert answer.status_code in (200, 422)  # looked at line by line, or refused as a whole
    assert time.process_time() - begun < 2 * MOST_SECONDS
    assert not Project.objects.exists() and not Decal.objects.exists()


@pytest.mark.parametrize("bomb", BOMBS)
def test_a_file_of_readings_that_is_a_bomb_is_answered_soon(signed_in, settings, bomb):
    settings.WORK_BEHIND = "page"
    room, begun = Room.objects.get(), time.process_time()
    file = SimpleUploadedFile("room.csv", 8 * BOMBS[bomb].encode())
    answer = signed_in.post(reverse("room-import", args=[room.pk]), {"file": file}, follow=True)
    assert answer.status_code in (200, 422)
    assert time.process_time() - begun < MOST_SECONDS
    assert not Reading.objects.exists()


#: OWASP, "CSV Injection": what makes a spreadsheet take a cell for a formula.
SIGNS = ["=", "+", "-", "@", "\t", "\r"]


@pytest.mark.parametrize("sign", SIGNS, ids=repr)
def test_no_cell_goes_out_as_a_formula_and_each_comes_in_again_as_it_was(signed_in, sign):
    """White space before a name is not kept by its form; a note keeps it."""
    note = f"{sign}cmd|' /C calc'!A0"
    kept = [make_project(name=f"Tug{note}", code="P-01", customer=note, notes=note)]
    make_decals(1, project=kept[0], artwork=make_artwork(name="Roundel"), place=note, note=note)
    tables = _given_out(signed_in)
    for name, lines in tables.items():
        for cell in (cell for line in lines for cell in line):
            assert not cell.startswith(tuple(SIGNS)) or _is_number(cell), (name, cell)
    assert f"'{note}" in {cell for line in tables["projects.csv"] for cell in line}
    Decal.objects.all().delete()
    Project.objects.all().delete()
    for kind in ("projects", "decals"):
        file = SimpleUploadedFile("lines.csv", _as_csv(tables[f"{kind}.csv"]))
        sent = {"kind": kind, "file": file, "save": "all"}
        assert signed_in.post(reverse("in-and-out"), sent).status_code == 302
    project, decal = Project.objects.get(), Decal.objects.get()
    for read in (project.customer, project.notes, decal.place, decal.note):
        assert read.strip() == note.strip() and not read.startswith("'")


def _given_out(client) -> dict[str, list[list[str]]]:
    answer = client.get("/in-and-out/records.zip")
    with zipfile.ZipFile(io.BytesIO(b"".join(answer))) as packed:
        texts = {name: packed.read(name).decode("utf-8-sig") for name in packed.namelist()}
    return {name: list(csv.reader(io.StringIO(text, newline=""))) for name, text in texts.items()}


def _as_csv(lines: list[list[str]]) -> bytes:
    text = io.StringIO(newline="")
    csv.writer(text).writerows(lines)
    return text.getvalue().encode()


def _is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True
