"""The addresses that are handed out on paper and to telephones."""

import pytest
from django.test import RequestFactory

from decaljobs.views.site import is_loopback, is_reachable, outside_address

LAN = "http://192.168.4.20:8000"


def asked_at(host: str):
    return RequestFactory(headers={"host": host}).get("/")


@pytest.mark.parametrize(
    ("host", "known", "address"),
    [
        ("127.0.0.1:8000", LAN, f"{LAN}/projects/P-01/"),
        ("localhost:8000", LAN + "/", f"{LAN}/projects/P-01/"),
        ("127.0.0.1:9000", "http://127.0.0.1:8000", "http://127.0.0.1:9000/projects/P-01/"),
        ("192.168.4.20:8000", "http://127.0.0.1:8000", f"{LAN}/projects/P-01/"),
        ("192.168.4.20:8000", "http://workshop.home", f"{LAN}/projects/P-01/"),
    ],
)
def test_an_address_is_one_that_others_can_open_where_there_is_one(settings, host, known, address):
    settings.SITE_ADDRESS = known
    settings.ALLOWED_HOSTS = ["*"]
    assert outside_address(asked_at(host), "/projects/P-01/") == address


def test_it_knows_whether_others_can_open_it(settings):
    settings.SITE_ADDRESS = "http://127.0.0.1:8000"
    settings.ALLOWED_HOSTS = ["*"]
    assert not is_reachable(asked_at("localhost:8000"))
    assert is_reachable(asked_at("192.168.4.20:8000"))
    settings.SITE_ADDRESS = LAN
    assert is_reachable(asked_at("localhost:8000"))


@pytest.mark.parametrize(
    ("host", "expected"),
    [
        ("127.0.0.1:8000", True),
        ("127.0.0.2", True),
        ("[::1]:8000", True),
        ("localhost", True),
        ("localhost.example", False),
        ("192.168.1.20:8000", False),
        ("workshop.home", False),
    ],
)
def test_it_tells_this_machine_from_others(host, expected):
    assert is_loopback(host) is expected
