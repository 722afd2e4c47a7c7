"""Forms that log something: sent twice they are taken once; of several makers one is first."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier

import pytest
import time_machine
from django.db import connections
from django.test import Client

from decaljobs.craft.stages import Build, Film, Stage
from decaljobs.models import (
    Decal,
    KeptAnswer,
    Piece,
    Project,
    Sheet,
    SheetEvent,
    StageEvent,
    Trial,
)
from decaljobs.services.answers import KEPT_FOR
from decaljobs.services.bench import steps
from decaljobs.services.film import sheets
from tests.factories import (
    EVENING,
    make_decal,
    make_decals,
    make_person,
    make_project,
    make_sheet,
    sealed_decal,
)

pytestmark = pytest.mark.usefixtures("in_the_evening")

LOG = "/bench/log/"
KEYS = [f"key-of-one-form-{number:02}" for number in range(8)]


def bases():
    return StageEvent.objects.filter(to_stage=Stage.BASE_APPLIED, undoes=None)


def base_form(decal: Decal, key: str = KEYS[0], **fields: object) -> dict[str, object]:
    seen = {f"seen-{decal.pk}": decal.events_logged}
    return {"one": f"{decal.pk}:base_applied", "key": key, **seen, **fields}


def test_sent_twice_it_is_logged_once_and_answered_the_same(signed_in, sealed):
    first = signed_in.post(LOG, base_form(sealed), follow=True)
    second = signed_in.post(LOG, base_form(sealed), follow=True)
    assert first.redirect_chain == second.redirect_chain == [("/", 302)]
    for answer in (first, second):
        assert "<h2>Base applied: Left side.</h2>" in answer.content.decode()
    assert bases().count() == 1
    assert KeptAnswer.objects.count() == 1


MAKING = {
    "project": ("/projects/new/", {"name": "Tug Heron", "scale": "1:72", "finish": "gloss"}, 1),
    "copy": ("/projects/P-01/copy/", {"name": "Tug Tern", "code": ""}, 1),
    "decals": ("/projects/P-01/decals/new/", {"place": "Bow", "count": "2"}, 2),
    "sheet": ("/sheets/new/", {"film": "white", "printer": "inkjet", "size": "A4"}, 1),
    "pieces": ("/sheets/W-01/fill/", {"copies": "3"}, 3),
    "trial": ("/trials/new/", {"paint": "Navy", "start": "#1d2f57", "printer": "desk"}, 1),
    "lines": ("/in-and-out/", {"kind": "projects", "text": "name,scale\nWagon,1:43\n"}, 1),
}
MORE = {
    "project": {"body_colour": "#112233"},
    "decals": {"build": "white_alone"},
    "sheet": {"sealer": "water", "coats_wanted": "4"},
    "trial": {"material": "paper", "quality": "fine"},
    "lines": {"save": "all"},
}


def made() -> int:
    kinds = (Project, Decal, Sheet, Piece, Trial)
    return sum(kind.objects.count() for kind in kinds)


@pytest.mark.parametrize("what", list(MAKING))
def test_what_makes_something_makes_it_once(signed_in, what):
    decal = make_decal(Build.WHITE_ALONE, project=make_project(code="P-01"), place="Door")
    make_sheet(Film.WHITE)
    address, fields, makes = MAKING[what]
    chosen = {"pieces": {"decals": [decal.pk]}, "decals": {"artwork": decal.artwork_id}}
    form = {**fields, **MORE.get(what, {}), **chosen.get(what, {})}
    before = made()
    answers = [signed_in.post(address, {**form, "key": KEYS[0]}) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [302, 302]
    assert answers[0]["Location"] == answers[1]["Location"]
    copied = 1 if what == "copy" else 0  # its decal comes along
    assert made() - before == makes + copied
    elsewhere = {"place": "Stern"} if what == "decals" else {}
    again = signed_in.post(address, {**form, **elsewhere, "key": KEYS[1]})
    assert again.status_code == 302
    assert made() - before == 2 * (makes + copied)


def test_what_a_page_says_is_said_again(signed_in, sealed):
    form = {"step": "base_applied", "seen": sealed.events_logged, "key": KEYS[0]}
    for _ in range(2):
        answer = signed_in.post(f"/decals/{sealed.pk}/log/", form, follow=True)
        assert "Base applied: Left side." in answer.content.decode()
    assert bases().count() == 1


def test_without_a_key_the_second_is_refused_as_ever(signed_in, sealed):
    form = base_form(sealed, key="")
    assert signed_in.post(LOG, form).status_code == 302
    assert signed_in.post(LOG, form).status_code == 422
    assert bases().count() == 1


@pytest.mark.parametrize(
    "key", ["short", "x" * 41, "spaces are not in keys", "é" * 20, "\x00" * 20]
)
def test_a_key_that_no_form_was_given_is_passed_over(signed_in, sealed, key):
    assert signed_in.post(LOG, base_form(sealed, key=key)).status_code == 302
    assert not KeptAnswer.objects.exists()


def test_the_same_key_for_something_else_is_something_else(signed_in, maker):
    """A page that the browser kept and shows again is used for the next decal."""
    one, other = sealed_decal(maker), sealed_decal(maker)
    signed_in.post(LOG, base_form(one))
    signed_in.post(LOG, base_form(other))
    assert {event.decal_id for event in bases()} == {one.pk, other.pk}


def test_a_refusal_is_not_kept(signed_in, maker, sealed):
    early = {"step": "clear_applied", "key": KEYS[0], "seen": sealed.events_logged + 1}
    steps.log_step(decals=[sealed.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    address = f"/decals/{sealed.pk}/log/"
    assert signed_in.post(address, early).status_code == 422
    assert not KeptAnswer.objects.exists()
    with time_machine.travel(EVENING + timedelta(hours=13), tick=False):
        assert signed_in.post(address, early).status_code == 302


def test_a_refusal_that_leads_on_is_not_kept_either(signed_in, maker, sealed):
    """What was asked for too soon is done when the same form is sent again."""
    undo = {"key": KEYS[0]}
    address = f"/decals/{sealed.pk}/undo/"
    page = signed_in.post(address, undo, follow=True).content.decode()
    assert "’ is undone" not in page and not KeptAnswer.objects.exists()
    steps.log_step(decals=[sealed.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    assert "’ is undone" in signed_in.post(address, undo, follow=True).content.decode()


def test_another_person_s_key_is_not_mine(signed_in, sealed):
    signed_in.post(LOG, base_form(sealed))
    other = Client()
    other.force_login(make_person(username="nils"))
    answer = other.post(LOG, base_form(sealed))
    assert answer.status_code == 422
    assert "logged by mara" in answer.content.decode()


def test_answers_are_swept_after_two_days(signed_in, maker):
    one, other = sealed_decal(maker), sealed_decal(maker)
    signed_in.post(LOG, base_form(one))
    with time_machine.travel(EVENING + KEPT_FOR + timedelta(seconds=1), tick=False):
        signed_in.post(LOG, base_form(other, key=KEYS[1]))
    assert [answer.key for answer in KeptAnswer.objects.all()] == [KEYS[1]]


def test_a_sheet_s_coat_sent_twice_is_one_coat(signed_in, maker):
    sheet = make_sheet(Film.WHITE, coats_wanted=3)
    (decal,) = make_decals(1, Build.WHITE_ALONE)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=1)
    at = EVENING - timedelta(hours=40)
    sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING, at=at)
    for _ in range(2):
        assert signed_in.post(f"/sheets/{sheet.code}/coat/", {"key": KEYS[0]}).status_code == 302
    assert SheetEvent.objects.filter(kind="coat").count() == 1


def test_a_script_is_told_where_to_go_and_uses_up_nothing(signed_in, sealed):
    answer = signed_in.post(LOG, base_form(sealed), headers={"X-Sent-By-Script": "yes"})
    assert (answer.status_code, answer["X-Leads-To"]) == (204, "/")
    assert "<h2>Base applied: Left side.</h2>" in signed_in.get("/").content.decode()


@pytest.mark.parametrize(
    "path", ["/", "/decals/{decal}/", "/sheets/{sheet}/"], ids=["bench", "decal", "sheet"]
)
def test_every_form_that_logs_has_a_key_of_its_own(signed_in, sealed, path):
    sheet = sealed.pieces.first().sheet.code
    address = path.format(decal=sealed.pk, sheet=sheet)
    drawn = [signed_in.get(address).content.decode() for _ in range(2)]
    keys = [set(_keys_in(page)) for page in drawn]
    assert keys[0]
    assert not keys[0] & keys[1]


def _keys_in(page: str) -> list[str]:
    return [part.split('"')[0] for part in page.split('name="key" value="')[1:]]


def posted_at_once(forms: list[dict[str, object]], person) -> list[tuple[int, str, str]]:
    """The status, address and words of the answers to forms that all arrive at one moment."""
    begin = Barrier(len(forms))

    def post(form: dict[str, object]) -> tuple[int, str, str]:
        client = Client()
        client.force_login(person)
        begin.wait()
        try:
            answer = client.post(LOG, form)
            leads_to = answer.get("Location", "")
            page = client.get(leads_to) if leads_to else answer
            return answer.status_code, leads_to, page.content.decode().split('class="logged"')[-1]
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(forms)) as threads:
        return list(threads.map(post, forms))


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_eight_at_once_with_one_key_make_one_event_and_eight_equal_answers(maker):
    sealed = sealed_decal(maker, place="Left side")
    answers = posted_at_once([base_form(sealed)] * 8, maker)
    assert [answer[:2] for answer in answers] == [(302, "/")] * 8
    assert len({said.split("</section>")[0].split("<form")[0] for *_, said in answers}) == 1
    assert "<h2>Base applied: Left side.</h2>" in answers[0][2]
    assert bases().count() == 1


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_eight_keys_on_one_state_make_one_event_and_seven_clear_refusals(maker):
    sealed = sealed_decal(maker, place="Left side")
    answers = posted_at_once([base_form(sealed, key=key) for key in KEYS], maker)
    assert sorted(status for status, *_ in answers) == [302] + [422] * 7
    refused = [page for status, _, page in answers if status == 422]
    assert all("Left side has moved on: ‘Base applied’ was logged by mara" in p for p in refused)
    assert bases().count() == 1
    assert KeptAnswer.objects.count() == 1
