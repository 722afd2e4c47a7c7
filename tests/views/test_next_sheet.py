"""The next sheet on the screen: queued from everywhere, laid out, two people at once."""

import pytest
from django.urls import reverse

from decaljobs.craft.stages import Build
from decaljobs.models import QueuedDecal, Sheet
from decaljobs.services.layout import queue
from tests.factories import make_artwork, make_decals, make_project, make_sheet
from tests.pdf import papers
from tests.queues import queue_up

NEXT = "/sheets/next/"
OPTIONS = {
    "printer": "inkjet",
    "size": "A4",
    "margin_mm": "6",
    "gap": "3",
    "sureness": "0.95",
    "seconds": "1",
    "same_places": "on",
    "together": "on",
}


@pytest.fixture
def queued(maker):
    decals = make_decals(2, place="Bow")
    queue_up(maker, *decals)
    return decals


def lay_out(client, **changes):
    return client.post(reverse("sheet-next-lay-out"), {**OPTIONS, **changes})


def test_an_empty_queue_says_where_decals_are_queued(signed_in):
    page = signed_in.get(NEXT).content.decode()
    assert "Nothing is queued" in page
    assert "Lay out on" not in page


def test_an_empty_queue_offers_what_has_no_piece_yet(signed_in, maker):
    (wanting,) = make_decals(1, place="Keel")
    page = signed_in.get(NEXT).content.decode()
    assert "Have no piece yet" in page and f'value="{wanting.pk}">Queue<' in page
    queue_up(maker, wanting)
    assert "Have no piece yet" not in signed_in.get(NEXT).content.decode()


def test_it_shows_the_queue_with_copies_and_their_reason(signed_in, queued):
    page = signed_in.get(NEXT).content.decode()
    usual = "printing and sealing 90 % (usual), cutting and laying 85 % (usual)"
    why = f"2 equal decals share 5 copies. 2 wanted; come out good: {usual}. 5 copies give at"
    assert page.count(f"{why} least 2 with") == 2
    assert page.count("2 equal decals share 5 copies, as said above.") == 2
    assert "Lay out on 2 new sheets" in page
    assert page.count("<title>Bow 1 of 2</title>") == 3
    assert page.count("<title>Bow 2 of 2</title>") == 2


@pytest.mark.parametrize(
    "sureness, said", [("0.9", "2 copies give at least 1 with 94 %"), ("0.99", "4 copies give")]
)
def test_the_chance_of_enough_is_the_makers_to_set(signed_in, maker, sureness, said):
    (decal,) = make_decals(1, Build.CLEAR_ALONE)
    queue_up(maker, decal)
    assert said in signed_in.get(NEXT, {**OPTIONS, "sureness": sureness}).content.decode()


def test_it_starts_with_a_gap_of_3_mm_both_films_alike_and_copies_together(signed_in, queued):
    form = signed_in.get(NEXT).context["form"]
    start = {name: form[name].value() for name in ("gap", "sureness", "straight_cuts")}
    assert start == {"gap": "3", "sureness": "0.95", "straight_cuts": False}
    assert form["same_places"].value() is form["together"].value() is True


@pytest.mark.parametrize("number", [2, 9])
def test_it_is_drawn_with_the_same_queries_for_any_number(
    signed_in, maker, django_assert_num_queries, number
):
    decals = make_decals(number)
    queue_up(maker, *decals)
    with django_assert_num_queries(10):
        page = signed_in.get(NEXT).content.decode()
    assert all(decal.words in page for decal in decals)


def test_laying_out_makes_the_sheets_and_opens_the_first(signed_in, queued):
    seen = signed_in.get(NEXT).context["seen"]
    answer = lay_out(signed_in, seen=seen)
    assert answer["Location"] == reverse("sheet", args=["W-01"])
    assert [s.pieces.count() for s in Sheet.objects.order_by("film")] == [5, 5]
    assert not QueuedDecal.objects.exists()
    assert 'class="sheet-picture' in signed_in.get(answer["Location"]).content.decode()


def test_a_queue_that_changed_since_the_page_is_not_laid_out(signed_in, maker, queued):
    seen = signed_in.get(NEXT).context["seen"]
    queue.unqueue(decals=[queued[0].pk])
    answer = lay_out(signed_in, seen=seen)
    assert answer.status_code == 422
    assert "have changed since" in answer.content.decode()
    assert not Sheet.objects.exists()


def test_the_second_of_two_who_lay_out_is_told(signed_in, queued):
    lay_out(signed_in)
    answer = lay_out(signed_in)
    assert "Nothing waits for the next sheet" in answer.content.decode()
    assert Sheet.objects.count() == 2


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("gap", "0"),
        ("gap", "1.9"),
        ("gap", "4.1"),
        ("gap", "NaN"),
        ("gap", ""),
        ("margin_mm", "-1"),
        ("margin_mm", "61"),
        ("margin_mm", "NaN"),
        ("printer", "loom"),
        ("sureness", "2"),
        ("seconds", "3600"),
        ("size", "A0"),
    ],
)
def test_it_rejects_a_wish_beside_its_field(signed_in, queued, field, value):
    for answer in (
        lay_out(signed_in, **{field: value}),
        signed_in.get(NEXT, {**OPTIONS, field: value}),
    ):
        assert answer.status_code == 422
        assert field in answer.context["form"].errors
    assert not Sheet.objects.exists()


@pytest.mark.parametrize("side", ["0", "9", "1001", "NaN", "", "1e308"])
def test_it_rejects_a_sheet_that_cannot_be(signed_in, queued, side):
    answer = lay_out(signed_in, size="free", width_mm=side, height_mm="200")
    assert list(answer.context["form"].errors) == ["width_mm"]


@pytest.mark.parametrize(
    ("margin", "gap", "field"), [("4", "3", "gap"), ("3.1", "3.8", "gap"), ("5", "3", "margin_mm")]
)
def test_a_gap_or_an_edge_that_leaves_nothing_is_said_beside_its_field(
    signed_in, queued, margin, gap, field
):
    """A sheet of 10 mm: the gap is wider than what its edges leave, or they leave nothing."""
    answer = lay_out(
        signed_in, size="free", width_mm="10", height_mm="200", margin_mm=margin, gap=gap
    )
    assert list(answer.context["form"].errors) == [field]
    assert f'id="id_{field}_error"' in answer.content.decode()


def queue_many(maker, number):
    art = make_artwork(width_mm=6)
    for _ in range(number // 67):
        decals = make_decals(67, Build.CLEAR_ALONE, artwork=art)
        queue_up(maker, *decals)
    QueuedDecal.objects.update(clear_copies=50)


def test_more_than_five_thousand_pieces_are_laid_out(signed_in, maker):
    queue_many(maker, 134)
    plan = signed_in.get(NEXT).context["plan"]
    assert sum(len(laid.pieces) for laid in plan.laid) == 6700
    # 9 × 6 mm each with their gap, on 199 × 286 mm a sheet: seven sheets at least.
    assert 7 <= plan.new_sheets <= 8


def test_more_pieces_than_ten_thousand_are_refused_with_their_number(signed_in, maker):
    queue_many(maker, 201)
    page = signed_in.get(NEXT)
    assert page.status_code == 422
    assert "10050 pieces are too many" in page.content.decode()


def test_a_piece_larger_than_the_sheet_is_named(signed_in, maker):
    (decal,) = make_decals(1, artwork=make_artwork(width_mm=900), place="Roof")
    queue_up(maker, decal)
    page = signed_in.get(NEXT)
    assert page.status_code == 422
    assert "Roof" in str(page.context["form"].non_field_errors())
    assert "196 × 283 mm" in page.content.decode()


def test_decals_are_queued_and_taken_off(signed_in):
    decals = make_decals(3)
    answer = signed_in.post(
        reverse("sheet-queue"), {"decals": [d.pk for d in decals], "next": "/projects/"}
    )
    assert answer["Location"] == "/projects/"
    assert QueuedDecal.objects.count() == 3
    again = signed_in.post(reverse("sheet-queue"), {"decals": [decals[0].pk]}, follow=True)
    assert "Queued for the next sheet already" in again.content.decode()
    signed_in.post(reverse("sheet-unqueue"), {"decals": [decals[0].pk]})
    assert QueuedDecal.objects.count() == 2


@pytest.mark.parametrize("decals", [[], ["x"], ["999999"], ["1e5"], ["-1"]])
def test_it_rejects_decals_that_are_not_there(signed_in, decals):
    answer = signed_in.post(reverse("sheet-queue"), {"decals": decals}, follow=True)
    assert '<li class="refused">' in answer.content.decode()
    assert not QueuedDecal.objects.exists()


def test_copies_are_overruled(signed_in, queued):
    url = reverse("sheet-queue-copies", args=[queued[0].pk])
    signed_in.post(url, {"base": "5", "clear": ""})
    page = signed_in.get(NEXT).content.decode()
    assert "5 base:" in page
    assert "overruled by the maker" in page


def test_a_decal_is_kept_upright_from_the_queue_and_may_turn_again(signed_in, queued):
    url, said = reverse("sheet-queue-copies", args=[queued[0].pk]), "· upright only"
    assert said not in signed_in.get(NEXT).content.decode()
    signed_in.post(url, {"base": "", "clear": "", "upright": "on"})
    page = signed_in.get(NEXT)
    assert page.content.decode().count(said) == 1
    assert [row.form["upright"].value() for row in page.context["rows"]] == [True, False]
    signed_in.post(url, {"base": "", "clear": ""})
    assert said not in signed_in.get(NEXT).content.decode()


def test_a_page_drawn_before_a_decal_was_kept_upright_is_not_laid_out(signed_in, queued):
    seen = signed_in.get(NEXT).context["seen"]
    url = reverse("sheet-queue-copies", args=[queued[0].pk])
    signed_in.post(url, {"base": "", "clear": "", "upright": "on"})
    answer = lay_out(signed_in, seen=seen)
    assert answer.status_code == 422
    assert "have changed since" in answer.content.decode()


@pytest.mark.parametrize("copies", ["0", "51", "NaN", "-1", "many"])
def test_it_rejects_copies_beside_their_field(signed_in, queued, copies):
    answer = signed_in.post(
        reverse("sheet-queue-copies", args=[queued[0].pk]), {"base": copies, "clear": "2"}
    )
    assert answer.status_code == 422
    assert f'id="copies-{queued[0].pk}_base_error"' in answer.content.decode()
    assert QueuedDecal.objects.get(decal=queued[0]).clear_copies is None


def test_decals_are_queued_from_their_page_and_their_project(signed_in):
    project = make_project()
    decal, _ = make_decals(2, Build.CLEAR_ALONE, project=project)
    button = f'action="{reverse("sheet-queue")}"'
    page = signed_in.get(decal.get_absolute_url()).content.decode()
    assert button in page
    assert signed_in.get(project.get_absolute_url()).content.decode().count(button) == 1
    signed_in.post(reverse("sheet-queue"), {"decals": [decal.pk]})
    page = signed_in.get(decal.get_absolute_url()).content.decode()
    assert button not in page
    assert "On the list for" in page


def test_a_whole_project_is_queued_at_one_go(signed_in):
    project = make_project()
    decals = make_decals(3, project=project)
    signed_in.post(reverse("sheet-queue"), {"project": project.code})
    assert set(QueuedDecal.objects.values_list("decal", flat=True)) == {d.pk for d in decals}


def test_held_rows_on_the_bench_are_queued_from_there(signed_in):
    (decal,) = make_decals(1)
    page = signed_in.get("/").content.decode()
    action = f'formaction="{reverse("sheet-queue")}" name="decals" value="{decal.pk}"'
    assert action in page


def test_onlookers_read_and_change_nothing(client, onlooker, queued):
    client.force_login(onlooker)
    page = client.get(NEXT).content.decode()
    assert "Bow 1 of 2" in page
    assert "Lay out on" not in page
    for name in ("sheet-queue", "sheet-unqueue", "sheet-next-lay-out"):
        assert client.post(reverse(name)).status_code == 403
    assert client.post(reverse("sheet-queue-copies", args=[queued[0].pk])).status_code == 403


def test_the_page_starts_from_the_printer_of_the_last_sheet(signed_in, queued):
    make_sheet("white", printer="laser")
    answer = signed_in.get(NEXT)
    assert answer.context["form"]["printer"].value() == "laser"
    assert "Laser film goes through the fuser once" in answer.content.decode()


def test_from_queue_to_print_to_offcut_to_a_second_project_on_the_offcut(signed_in):
    first, second = make_decals(1, place="Bow")[0], make_decals(1, place="Fin")[0]
    signed_in.post(reverse("sheet-queue"), {"decals": [first.pk]})
    lay_out(signed_in)
    for code in ("W-01", "C-01"):
        assert signed_in.get(reverse("sheet-print-file", args=[code])).content[:5] == b"%PDF-"
        signed_in.post(reverse("sheet-printed", args=[code]), {"seen": "0"})
        start = signed_in.get(reverse("sheet", args=[code])).context["cut_form"].initial
        signed_in.post(reverse("sheet-cut-off", args=[code]), start)
    first.refresh_from_db()
    assert first.stage == "printed"
    signed_in.post(reverse("sheet-queue"), {"decals": [second.pk]})
    page = signed_in.get(NEXT).content.decode()
    assert "Offcuts W-02 and C-02, white and clear" in page
    lay_out(signed_in)
    assert Sheet.objects.count() == 4
    for offcut in Sheet.objects.filter(cut_from__isnull=False):
        assert set(offcut.pieces.values_list("decal", flat=True)) == {second.pk}
        pdf = papers.read(signed_in.get(reverse("sheet-print-file", args=[offcut.code])).content)
        width = pdf[0].get_width() / papers.POINTS_PER_MM
        assert width == pytest.approx(float(offcut.width_mm), abs=0.01)
