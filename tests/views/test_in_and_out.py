"""Projects and decals from tables, looked at before they are saved; everything given out."""

import io
import zipfile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from decaljobs.craft.stages import Build
from decaljobs.models import Decal, Project
from tests.factories import make_artwork, make_decals, make_project

ADDRESS = "/in-and-out/"
GOOD = "Name;Scale;Due;Overcoat\nTug Heron;1:72;24.12.2026;no\nTug Tern;4 mm/ft;;\n"


def send(client, text="", kind="projects", file=None, **buttons):
    data = {"kind": kind, "text": text, **(buttons or {"look": "yes"})}
    if file is not None:
        data["file"] = SimpleUploadedFile("lines.csv", file)
    return client.post(ADDRESS, data)


def said(answer):
    return answer.content.decode()


def problems(answer):
    return {line.number: line.problems for line in answer.context["bad"]}


def test_lines_are_looked_at_before_anything_is_saved(signed_in):
    answer = send(signed_in, GOOD)
    assert "Every line can be taken" in said(answer)
    assert "Tug Heron, 1:72" in said(answer)
    assert not Project.objects.exists()
    assert GOOD.strip().splitlines()[1] in said(answer)


def test_what_was_looked_at_is_saved_with_codes_of_its_own(signed_in):
    make_project(code="P-04")
    assert send(signed_in, GOOD, save="all")["Location"] == "/projects/"
    heron, tern = Project.objects.exclude(code="P-04").order_by("code")
    assert (heron.code, heron.name, heron.overcoat) == ("P-05", "Tug Heron", False)
    assert str(heron.due) == "2026-12-24"
    assert (tern.code, str(tern.scale_ratio), tern.overcoat) == ("P-06", "76.2000", True)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_a_file_is_read_in_any_usual_writing(signed_in, encoding, separator):
    text = GOOD.replace(";", separator).replace("Heron", "Häger")
    answer = send(signed_in, file=text.encode(encoding), save="all")
    assert answer.status_code == 302
    assert Project.objects.filter(name="Tug Häger").exists()


BAD = """name,code,scale,finish,overcoat,due,body colour
Tug,A-1,small,gloss,yes,,
,A-2,1:72,gloss,yes,,
Tern,A-3,1:72,shiny,yes,,
Gannet,A-3,1:72,matt,perhaps,,
Crane,A-5,1:72,matt,no,tomorrow,
Egret,A-6,1:72,matt,no,,green
Teal,a-6,1:72,,,,
Smew,A-7,1:72,,,,
"""


def test_each_line_says_what_is_wrong_with_it(signed_in):
    found = problems(send(signed_in, BAD))
    assert found[2] == [
        "scale: That is not a scale. Write a scale as 1:76.2, as 4 mm/ft, or as a size such as H0."
    ]
    assert found[3] == ["name: This field is required."]
    assert found[4][0].startswith("finish: Select a valid choice.")
    assert "overcoat at the end: Write yes or no." in found[5]
    assert found[6] == ["due: Enter a valid date."]
    assert found[7] == ["body colour: Write a colour as #rrggbb."]
    assert set(found) == {2, 3, 4, 5, 6, 7}


def test_a_code_is_taken_once(signed_in):
    make_project(code="P-01")
    found = problems(send(signed_in, "name,code,scale\nA,P-01,72\nB,X-1,72\nC,x-1,72\n"))
    assert found == {
        2: ["code: Another project has this code already."],
        4: ["code: line 3 has it already"],
    }


def test_nothing_is_saved_while_a_line_is_bad_unless_the_maker_says_so(signed_in):
    answer = send(signed_in, BAD, save="all")
    assert answer.status_code == 200
    assert not Project.objects.exists()
    assert "Save the 2 good lines, leave out 6" in said(answer)
    send(signed_in, BAD, save="good")
    assert sorted(Project.objects.values_list("code", flat=True)) == ["A-6", "A-7"]


def test_decals_are_brought_in_for_projects_and_artwork_that_are_there(signed_in):
    make_project(code="P-01")
    make_artwork(name="Roundel")
    text = """Project,Place,Artwork,Build,How many,Note
P-01,Door,roundel,white alone,4,
p-01,Tail,Roundel,,,aft
"""
    send(signed_in, text, kind="decals", save="all")
    doors = Decal.objects.filter(place="Door")
    assert [(d.number, d.out_of, d.build) for d in doors] == [
        (n, 4, Build.WHITE_ALONE) for n in (1, 2, 3, 4)
    ]
    tail = Decal.objects.get(place="Tail")
    assert (tail.build, tail.note, tail.held_because) == ("laminated", "aft", "no_pieces")


def test_decals_that_cannot_be_are_named_line_by_line(signed_in):
    project = make_project(code="P-01")
    art = make_artwork(name="Roundel")
    make_artwork(name="Twice")
    make_artwork(name="Twice")
    make_decals(1, project=project, artwork=art, place="Tail")
    text = """project,place,artwork,build,how many
P-99,Door,Roundel,,
P-01,Door,Shield,,
P-01,Door,Twice,,
P-01,Door,Roundel,double,
P-01,Door,Roundel,,500
P-01,Tail,Roundel,,
P-01,Door,Roundel,,
P-01,Door,Roundel,,
"""
    assert problems(send(signed_in, text, kind="decals")) == {
        2: ["project: No project has this code."],
        3: ["artwork: No artwork is called that: bring it first."],
        4: ["artwork: 2 drawings are called that: rename one."],
        5: ["build: Write laminated, clear alone or white alone."],
        6: ["how many: Ensure this value is less than or equal to 200."],
        7: ["place: there is a decal for it already"],
        9: ["place: line 8 has it already"],
    }


@pytest.mark.parametrize(
    ("file", "words"),
    [
        (b"", "The file is empty."),
        (b"\x00" * 400, "full of NUL bytes"),
        (b"Place,Artwork\na,b\n", "No column is called ‘name’"),
        (b"name,scale\n" + b"a,72\n" * 1001, "1,001 lines; 1,000 are taken"),
        (b"x" * (512 * 1024 + 1), "larger than 512 kB"),
    ],
)
def test_a_file_that_is_no_table_is_refused_beside_its_field(signed_in, file, words):
    answer = send(signed_in, file=file, save="all")
    assert words in said(answer)
    assert 'aria-invalid="true"' in said(answer)
    assert not Project.objects.exists()


def test_nothing_sent_asks_for_lines(signed_in):
    assert "Choose a file, or paste lines below." in said(send(signed_in))


def test_a_thousand_lines_take_a_bounded_number_of_queries(
    signed_in, django_assert_max_num_queries
):
    text = "name,scale\n" + "".join(f"Tug {n},1:72\n" for n in range(1000))
    with django_assert_max_num_queries(30):
        send(signed_in, text, save="all")
    assert Project.objects.count() == 1000
    make_artwork(name="Roundel")
    text = "project,place,artwork\n" + "".join(f"P-01,Door {n},Roundel\n" for n in range(1000))
    with django_assert_max_num_queries(40):
        send(signed_in, text, kind="decals", save="all")
    assert Decal.objects.count() == 1000


def zipped(client, name):
    answer = client.get(f"{ADDRESS}records.zip")
    assert answer["Content-Disposition"].startswith('attachment; filename="decaljobs-')
    return zipfile.ZipFile(io.BytesIO(b"".join(answer))).read(name)


def test_what_was_given_out_can_be_brought_in_again(signed_in):
    """Formula cells, quotation marks, ends of line and all."""
    art = make_artwork(name="-Roundel")
    project = make_project(
        name='=Tug, "Heron"', code="P-07", customer="@nephew", notes="+1\nand more", overcoat=True
    )
    make_decals(3, project=project, artwork=art, place="'=Door", note="=1")
    kept = {f: getattr(project, f) for f in ("name", "code", "customer", "notes", "overcoat")}
    projects, decals = zipped(signed_in, "projects.csv"), zipped(signed_in, "decals.csv")
    Decal.objects.all().delete()
    Project.objects.all().delete()
    assert send(signed_in, file=projects, save="all").status_code == 302
    again = Project.objects.get()
    assert {
        f: getattr(again, f).replace("\r", "") if f == "notes" else getattr(again, f) for f in kept
    } == kept
    assert send(signed_in, file=decals, kind="decals", save="all").status_code == 302
    assert [(d.place, d.number, d.out_of, d.note) for d in Decal.objects.all()] == [
        ("'=Door", n, 3, "=1") for n in (1, 2, 3)
    ]


def test_everything_is_given_out_as_one_json_file(signed_in):
    make_project(code="P-07")
    answer = signed_in.get(f"{ADDRESS}records.json")
    assert b'"code": "P-07"' in b"".join(answer)
    assert answer["Content-Type"] == "application/json"


def test_onlookers_are_not_given_everything(client, onlooker):
    client.force_login(onlooker)
    for path in ("", "records.zip", "records.json"):
        assert client.get(f"{ADDRESS}{path}").status_code == 403
