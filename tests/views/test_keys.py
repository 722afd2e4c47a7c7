"""The page of keys; single keys can be switched off on a device (WCAG 2.1.4)."""


def test_it_tells_what_the_keys_do(signed_in):
    page = signed_in.get("/keys/").content.decode()
    assert "to the search" in page
    assert "data-keys" not in page


def test_every_page_leads_to_it(signed_in):
    assert '<a href="/keys/" id="keys-help">' in signed_in.get("/").content.decode()


def test_single_keys_are_switched_off_and_on_again(signed_in):
    signed_in.post("/keys/", {"single_keys": "off"})
    assert '<body data-keys="off"' in signed_in.get("/").content.decode()
    signed_in.post("/keys/", {"single_keys": "nonsense"})
    assert "data-keys" not in signed_in.get("/").content.decode()


def test_the_cookie_is_not_for_scripts(signed_in):
    cookie = signed_in.post("/keys/", {"single_keys": "off"}).cookies["single_keys"]
    assert cookie["httponly"]
    assert cookie["samesite"] == "Lax"
