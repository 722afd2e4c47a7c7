"""`start --lan`: the workshop in one's own network, and what it asks for first."""

import http.client
import os
import re
import socket
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Iterator
from http.cookiejar import CookieJar
from pathlib import Path

import pytest
from PIL import Image
from zxingcpp import read_barcodes

from tests.checkout import TOP, Started, manage, started
from workshop import lan
from workshop.refusal import Refusal

#: Another address of this machine, which stands for that of its network; nothing leaves it.
NETWORK = "127.0.0.2"
PASSWORD = "brackish-heron-42"
MAKE_OWNER = f"""
from decaljobs.services.people.people import add_person
add_person(name="olle", role="owner", password={PASSWORD!r})
"""

posix = pytest.mark.skipif(os.name == "nt", reason="Windows answers at 127.0.0.1 alone")


@pytest.fixture(scope="module")
def owned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder whose owner has a password."""
    data = tmp_path_factory.mktemp("lan") / "data"
    assert manage(TOP, "migrate", DECALJOBS_DATA=data).returncode == 0
    made = manage(TOP, "shell", "--no-imports", "-c", MAKE_OWNER, DECALJOBS_DATA=data)
    assert made.returncode == 0, made.stderr
    return data


@pytest.fixture(scope="module")
def workshop(owned: Path) -> Iterator[Started]:
    with started(owned, "--lan", NETWORK) as served:
        yield served


def site(workshop: Started) -> str:
    return f"http://{NETWORK}:{workshop.port}"


def asked(host: str, workshop: Started, named: str) -> int:
    """The status of the health page at an address, asked for under a host's name."""
    talking = http.client.HTTPConnection(host, workshop.port, timeout=30)
    try:
        talking.request("GET", "/health", headers={"Host": named})
        return talking.getresponse().status
    finally:
        talking.close()


def sign_in(address: str, **headers: str) -> str:
    """Sign in as a phone does that opened the address; the address that it comes to."""
    opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar()))
    page = opener.open(f"{address}/", timeout=30).read().decode()
    token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', page)[1]
    typed = {"csrfmiddlewaretoken": token, "username": "olle", "password": PASSWORD}
    data = urllib.parse.urlencode(typed).encode()
    request = urllib.request.Request(f"{address}/sign-in/", data, headers)  # noqa: S310
    with opener.open(request, timeout=30) as answer:
        return answer.url


def drawn(lines: list[str]) -> Image.Image:
    """What a camera sees of lines on a terminal, dark where something is written."""
    image = Image.new("L", (len(lines[0]), 2 * len(lines)), 255)
    for top, line in enumerate(lines):
        for left, letter in enumerate(line):
            for below, half in enumerate(("▀█", "▄█")):
                image.putpixel((left, 2 * top + below), 0 if letter in half else 255)
    return image.resize((image.width * 4, image.height * 4), Image.Resampling.NEAREST)


@pytest.mark.slow
@posix
def test_it_answers_at_the_network_s_address_and_at_its_own(workshop: Started) -> None:
    assert asked(NETWORK, workshop, f"{NETWORK}:{workshop.port}") == 200
    assert asked("127.0.0.1", workshop, f"127.0.0.1:{workshop.port}") == 200


@posix
def test_it_listens_at_no_other_address(workshop: Started) -> None:
    with socket.socket() as probe:
        probe.settimeout(5)
        assert probe.connect_ex(("127.0.0.3", workshop.port)) != 0


@posix
@pytest.mark.parametrize("name", ["workshop.example", "192.168.1.77", "127.0.0.3"])
def test_it_refuses_another_host_s_name(workshop: Started, name: str) -> None:
    assert asked(NETWORK, workshop, name) == 400


@posix
def test_a_phone_signs_in_at_the_network_s_address(workshop: Started) -> None:
    assert sign_in(site(workshop)) == f"{site(workshop)}/"


@posix
def test_no_page_bears_a_policy_that_browsers_complain_of_without_https(workshop: Started) -> None:
    with urllib.request.urlopen(f"{site(workshop)}/sign-in/", timeout=30) as page:  # noqa: S310
        assert "Content-Security-Policy" in page.headers
        assert "Cross-Origin-Opener-Policy" not in page.headers


@posix
def test_a_form_from_another_site_is_refused(workshop: Started) -> None:
    with pytest.raises(urllib.error.HTTPError) as refused:
        sign_in(site(workshop), Origin="http://192.168.1.77:8000")
    assert refused.value.code == 403
    refused.value.close()


@posix
def test_it_prints_the_address_and_a_qr_code_of_it(workshop: Started) -> None:
    words = workshop.words
    assert f"In your network: {site(workshop)}/" in words
    lines = [line for line in words.splitlines() if line and not set(line) - set(" ▀▄█")]
    (found,) = read_barcodes(drawn([line.ljust(len(lines[0])) for line in lines]))
    assert found.text == f"{site(workshop)}/"


@pytest.mark.slow
@posix
def test_it_requires_that_the_owner_has_a_password(tmp_path: Path) -> None:
    data = tmp_path / "data"
    refused = manage(TOP, "start", "--lan", NETWORK, "--no-browser", "--port", 0, "--data", data)
    assert refused.returncode == 1
    assert "its owner, who is still to come needs a password" in refused.stderr
    assert "enter/" not in refused.stdout


@pytest.mark.parametrize("named", ["0.0.0.0", "224.0.0.1", "workshop", "1.2.3", "::"])  # noqa: S104
def test_it_rejects_what_is_no_address_of_one_machine(named: str) -> None:
    with pytest.raises(Refusal, match="address"):
        lan.network_address(named)


def test_it_rejects_a_workshop_behind_a_proxy(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DECALJOBS_HTTPS", "1")
    with pytest.raises(Refusal, match="without a proxy"):
        lan.network_address(NETWORK)


def test_it_finds_the_address_of_the_way_out() -> None:
    try:
        found = lan.network_address("")
    except Refusal as refusal:
        assert "in no network" in str(refusal)  # noqa: PT017 (a machine without a cable)
    else:
        assert found.count(".") == 3
        assert found != "0.0.0.0"  # noqa: S104


def test_an_address_that_is_set_is_kept_and_answered_to(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DECALJOBS_ADDRESS", "http://workshop.home:8000")
    monkeypatch.setenv("DECALJOBS_HOSTS", "")
    assert lan.let_in("192.168.1.20", 8000) == "http://192.168.1.20:8000"
    assert os.environ["DECALJOBS_HOSTS"] == "192.168.1.20,workshop.home"
    assert os.environ["DECALJOBS_ADDRESS"] == "http://workshop.home:8000"


def test_a_code_on_the_terminal_is_read_as_written() -> None:
    (found,) = read_barcodes(drawn(lan.qr_lines("http://192.168.178.120:8000/")))
    assert found.text == "http://192.168.178.120:8000/"
