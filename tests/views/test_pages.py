"""What all screens share: the base page, errors beside fields, pages of a list, error pages."""

import pytest
from django.template.loader import render_to_string
from django.test import Client, RequestFactory

from decaljobs.forms.people import NewPersonForm
from decaljobs.views.pages import back_to, page_of
from tests.factories import make_person

SCREENS = ["/", "/projects/", "/sheets/", "/artwork/", "/drying/", "/settings/"]


@pytest.mark.parametrize("address", SCREENS)
def test_every_screen_is_reached_from_every_other_and_knows_where_it_is(signed_in, address):
    page = signed_in.get(address).content.decode()
    for other in SCREENS:
        assert f'href="{other}"' in page
    assert f'href="{address}" aria-current="page"' in page
    assert page.count('aria-current="page"') == 1
    assert '<a class="skip" href="#main">' in page
    assert page.count("<h1") == 1


@pytest.mark.parametrize("address", [*SCREENS, "/sign-in/"])
def test_no_screen_holds_style_or_script_of_its_own(signed_in, client, address):
    page = client.get(address, follow=True).content.decode()
    assert " style=" not in page
    assert "<style" not in page
    assert page.count("<script") == page.count("<script src=")
    assert "//" not in page.replace("http://www.w3.org/2000/svg", "")


def test_an_error_stands_beside_its_field_which_names_it_and_keeps_what_was_typed():
    form = NewPersonForm({"name": "a <b>", "role": "maker"})
    page = render_to_string("_parts/field.html", {"field": form["name"]})
    assert 'aria-invalid="true"' in page
    assert 'aria-describedby="id_name_error"' in page
    assert 'id="id_name_error"' in page
    assert 'value="a &lt;b&gt;"' in page
    assert '<label for="id_name">' in page


def test_pages_keep_what_else_the_address_asks_for():
    request = RequestFactory().get("/people/", {"q": "a b", "page": "2"})
    page = page_of(range(120), request.GET)
    shown = render_to_string("_parts/pager.html", {"page": page}, request)
    assert 'href="?q=a+b&amp;page=1"' in shown
    assert 'href="?q=a+b&amp;page=3"' in shown
    assert "51 to 100 of 120" in shown


@pytest.mark.parametrize(
    ("asked", "given"),
    [("x", 1), ("", 1), (None, 1), ("2", 2), ("9" * 40, 3), ("-1", 3), ("0", 3)],
)
def test_a_page_number_without_sense_gives_the_first_page_or_the_last(asked, given):
    assert page_of(range(120), {} if asked is None else {"page": asked}).number == given


@pytest.mark.parametrize(
    ("wanted", "expected"),
    [
        ("/sheets/W-01/", "/sheets/W-01/"),
        ("https://elsewhere.example/", ""),
        ("//elsewhere.example/", ""),
        ("javascript:alert(1)", ""),
        ("/\\elsewhere.example", ""),
        ("", ""),
        ("bench", ""),
        ("text", ""),
    ],
)
def test_it_leads_back_to_no_page_but_ours(wanted, expected):
    request = RequestFactory().post("/", {"next": wanted}, SERVER_NAME="localhost")
    assert back_to(request) == expected


def test_an_address_without_a_page_says_so(signed_in):
    response = signed_in.get("/nothing/")
    assert response.status_code == 404
    assert "There is nothing here" in response.content.decode()


def test_a_stranger_is_told_nothing_more(client, db):
    page = client.get("/nothing/").content.decode()
    assert "Projects" not in page


def test_somebody_without_the_right_is_told_whom_to_ask(signed_in):
    response = signed_in.get("/people/new/")
    assert response.status_code == 403
    assert "Only the owner" in response.content.decode()


def test_a_page_grown_too_old_is_told_apart(maker):
    client = Client(enforce_csrf_checks=True)
    client.force_login(maker)
    response = client.post("/bench/log/", {})
    assert response.status_code == 403
    assert "grown too old" in response.content.decode()


def test_a_request_that_cannot_be_read_changes_nothing(signed_in):
    data = {f"decal{n}": "1" for n in range(1100)}
    response = signed_in.post("/bench/log/", data)
    assert response.status_code == 400
    assert "could not be understood" in response.content.decode()


def test_the_page_for_our_own_faults_needs_nothing_that_could_be_broken(client, db, monkeypatch):
    def broken(*_):
        raise RuntimeError("broken on purpose")

    client.force_login(make_person())
    client.raise_request_exception = False
    monkeypatch.setattr("decaljobs.views.bench.on_the_bench", broken)
    response = client.get("/")
    assert response.status_code == 500
    page = response.content.decode()
    assert "The fault is ours" in page
    assert "broken on purpose" not in page
