"""Looking for a layout behind the page: begun, watched, stopped, squeezed, laid down as shown."""

from urllib.parse import urlencode

import pytest
from django.urls import reverse
from django.utils import timezone

from decaljobs.models import LayoutSearch, QueuedDecal, Sheet
from decaljobs.services.layout import layout_searches, queue
from decaljobs.services.squeeze import strips
from decaljobs.services.squeeze.nesting import OutlinePlacement, Squeezed
from tests.factories import EVENING, make_artwork, make_decals
from tests.queues import queue_up
from tests.views.test_next_sheet import NEXT, OPTIONS, lay_out

HTMX = {"HX-Request": "true"}


@pytest.fixture(autouse=True)
def _at_once(settings, monkeypatch):
    """Searches run before their page is answered, and are over soon."""
    settings.WORK_BEHIND = "page"
    monkeypatch.setattr(layout_searches, "LONGEST", 2.0)


@pytest.fixture
def queued(maker):
    decals = make_decals(2, place="Bow")
    queue_up(maker, *decals)
    return decals


def search(client, kind="better", headers=None, **changes):
    data = {**OPTIONS, "kind": kind, **changes}
    return client.post(reverse("sheet-next-search"), data, headers=headers)


@pytest.fixture
def nested(monkeypatch, queued):
    """A squeeze that lays many pieces nearly on top of each other, turned by 180°."""
    for decal in queued:
        queue.set_copies(decal=decal.pk, base=30, clear=30)

    def answer(pieces, *, width, length, gap, progress, stopped, seconds):
        progress(0.5, length - 5)
        laid, y = [], 0.0
        for piece in pieces:
            xs, ys = zip(*piece.outline, strict=True)
            size = max(xs) - min(xs), max(ys) - min(ys)
            for _ in range(piece.copies):
                laid.append(OutlinePlacement(piece.name, 180, 0.0, y, *size, piece.outline))
                y += 0.1
        top = y - 0.1 + size[1]
        return Squeezed(top, length - top, tuple(laid))

    monkeypatch.setattr(strips, "squeeze", answer)


@pytest.mark.slow
def test_a_maker_s_page_asks_for_a_better_layout_by_itself(signed_in, queued):
    page = signed_in.get(NEXT).content.decode()
    assert f'hx-post="{reverse("sheet-next-search")}" hx-trigger="load"' in page
    assert "Look for a better layout</button>" in page
    answer = search(signed_in, headers=HTMX)
    part = answer.content.decode()
    assert "<html" not in part
    assert 'id="laid-out"' in part
    costs = answer.context["gaps"]
    assert [gap for gap, _ in costs] == [2, 3, 4]
    assert costs[0][1] < costs[2][1]
    for gap, cost in costs:
        assert f"{cost:.0f} cm² with a gap of {gap:g}\xa0mm" in part
    assert "Look for a better layout</button>" not in part


@pytest.mark.slow
def test_without_scripts_the_button_leads_back_to_the_same_wishes(signed_in, queued):
    answer = search(signed_in, gap="2.5")
    assert answer.status_code == 302
    page = signed_in.get(answer["Location"])
    assert page.context["form"]["gap"].value() == "2.5"
    assert page.context["shown"].state == "done"
    assert "Look for a better layout</button>" not in page.content.decode()


@pytest.mark.slow
def test_what_was_shown_is_laid_down(signed_in, queued):
    search(signed_in)
    shown = signed_in.get(f"{NEXT}?{urlencode(OPTIONS)}")
    places = sorted((p.place.x, p.place.y) for p in shown.context["plan"].laid[0].pieces)
    lay_out(signed_in, search=shown.context["shown"].pk, seen=shown.context["seen"])
    sheet = Sheet.objects.get(film="white")
    assert sorted((p.x_mm, p.y_mm) for p in sheet.pieces.all()) == places


@pytest.mark.slow
def test_a_layout_found_for_another_queue_is_not_laid_down(signed_in, queued):
    search(signed_in)
    queue.unqueue(decals=[queued[0].pk])
    answer = lay_out(signed_in, search=LayoutSearch.objects.get().pk)
    assert answer.status_code == 422
    assert "is for another queue" in answer.content.decode()
    assert "Lay out on 2 new sheets" in answer.content.decode()
    assert not Sheet.objects.exists()


@pytest.mark.parametrize("number", ["0", "-1", "x", "99999999999999999999"])
def test_a_search_that_is_none_lays_nothing_down(signed_in, queued, number):
    assert lay_out(signed_in, search=number).status_code == 422
    assert not Sheet.objects.exists()


def run_on(**values):
    LayoutSearch.objects.update(**{"state": "running", "beat_at": timezone.now(), **values})


@pytest.mark.slow
def test_a_running_search_shows_how_far_it_is_and_can_be_stopped(signed_in, queued):
    search(signed_in)
    run_on(share=0.4)
    page = signed_in.get(f"{NEXT}?{urlencode(OPTIONS)}").content.decode()
    assert '<progress max="100" value="40"' in page
    assert "Stop looking</button>" in page
    found = LayoutSearch.objects.get()
    answer = signed_in.post(reverse("sheet-next-stop"), {**OPTIONS, "search": found.pk})
    assert answer["Location"].startswith(f"{NEXT}?printer=inkjet")
    found.refresh_from_db()
    assert found.stop_asked


@pytest.mark.slow
def test_a_running_search_is_watched_until_it_is_over(signed_in, queued):
    search(signed_in)
    run_on()
    url = reverse("sheet-next-watch")
    part = signed_in.get(url, OPTIONS, headers=HTMX)
    assert 'id="search-progress"' in part.content.decode()
    assert "HX-Retarget" not in part
    LayoutSearch.objects.update(state="done")
    over = signed_in.get(url, OPTIONS, headers=HTMX)
    assert over["HX-Retarget"] == "#laid-out"
    assert 'id="laid-out"' in over.content.decode()
    assert "<html" in signed_in.get(url, OPTIONS).content.decode()


@pytest.mark.slow
def test_a_search_whose_process_died_is_said_to_be_over(signed_in, queued):
    search(signed_in)
    run_on(beat_at=EVENING, found=None)
    page = signed_in.get(f"{NEXT}?{urlencode(OPTIONS)}").content.decode()
    assert "The search broke off" in page
    assert "Lay out on 2 new sheets" in page


def test_a_squeeze_says_what_it_saves_and_is_laid_down_turned(signed_in, queued, nested):
    search(signed_in, "squeeze")
    page = signed_in.get(f"{NEXT}?{urlencode(OPTIONS)}")
    text = page.content.decode()
    assert "Squeezed: the pieces are nested by their outlines. It saves" in text
    assert "on each film" in text
    assert 'class="edge" d="M' in text
    assert 'rotate(-180)"' in text
    before = page.context["squeeze"].found["before_mm2"]
    assert page.context["plan"].film_mm2 < before
    lay_out(signed_in, search=page.context["shown"].pk, seen=page.context["seen"])
    for sheet in Sheet.objects.all():
        assert set(sheet.pieces.values_list("degrees", flat=True)) == {180}
        assert all(piece.outline for piece in sheet.pieces.all())
        drawn = signed_in.get(sheet.get_absolute_url()).content.decode()
        assert drawn.count('class="edge" d="M') == 60


def test_a_squeeze_is_taken_back(signed_in, queued, nested):
    search(signed_in, "squeeze")
    found = LayoutSearch.objects.get(kind="squeeze")
    signed_in.post(reverse("sheet-next-drop"), {**OPTIONS, "search": found.pk})
    page = signed_in.get(f"{NEXT}?{urlencode(OPTIONS)}")
    assert "Squeezed:" not in page.content.decode()
    assert "Squeeze by outline</button>" in page.content.decode()


def test_a_squeeze_that_saves_nothing_is_said_and_not_kept(signed_in, queued, monkeypatch):
    monkeypatch.setattr(strips, "squeeze", lambda *args, **wishes: None)
    search(signed_in, "squeeze")
    page = signed_in.get(f"{NEXT}?{urlencode(OPTIONS)}")
    assert "saved no film" in page.content.decode()
    assert page.context["shown"] is None


def test_a_squeeze_is_not_offered_with_straight_cuts(signed_in, queued):
    straight = {**OPTIONS, "straight_cuts": "on"}
    page = signed_in.get(f"{NEXT}?{urlencode(straight)}").content.decode()
    assert "Squeeze by outline" not in page
    answer = search(signed_in, "squeeze", straight_cuts="on")
    assert "do not come apart by straight cuts" in answer.content.decode()
    assert not LayoutSearch.objects.exists()


@pytest.mark.slow
def test_no_more_than_two_squeezes_run_at_once(signed_in, queued, monkeypatch):
    monkeypatch.setattr(strips, "squeeze", lambda *args, **wishes: None)
    for gap in ("2", "2.5"):
        search(signed_in, "squeeze", gap=gap)
    run_on()
    answer = search(signed_in, "squeeze", gap="3.5")
    assert answer.status_code == 422
    assert "2 squeezes are under way already" in answer.content.decode()


def test_an_empty_queue_is_not_searched(signed_in):
    answer = search(signed_in)
    assert "Nothing waits for the next sheet" in answer.content.decode()
    assert not LayoutSearch.objects.exists()


@pytest.mark.parametrize("field", ["gap", "margin_mm", "kind"])
def test_wishes_that_make_no_sense_begin_nothing(signed_in, queued, field):
    assert search(signed_in, **{field: "NaN"}).status_code == 422
    assert not LayoutSearch.objects.exists()


def test_a_piece_larger_than_the_sheet_is_named_by_the_search_too(signed_in, maker):
    (decal,) = make_decals(1, artwork=make_artwork(width_mm=900), place="Roof")
    queue_up(maker, decal)
    search(signed_in)
    found = LayoutSearch.objects.get()
    assert found.state == "failed"
    assert "Roof" in found.problem
    assert signed_in.get(f"{NEXT}?{urlencode(OPTIONS)}").status_code == 422


def test_onlookers_see_the_search_and_begin_none(client, onlooker, queued):
    client.force_login(onlooker)
    page = client.get(NEXT).content.decode()
    assert "hx-post" not in page
    for name in ("search", "stop", "drop"):
        assert client.post(reverse(f"sheet-next-{name}"), OPTIONS).status_code == 403
    assert QueuedDecal.objects.count() == 2
