"""Whoever can reach the port and wishes the workshop ill: sizes, addresses, names of hosts."""

import contextlib
import http.client
import socket
from collections.abc import Iterator

import pytest

from tests.checkout import Started, started

MEGABYTE = 1024 * 1024


@pytest.fixture(scope="module")
def workshop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Started]:
    with started(tmp_path_factory.mktemp("served") / "data") as served:
        yield served


def answer(workshop: Started, request: bytes) -> bytes:
    """All that comes back for these bytes, until the server hangs up or falls silent."""
    with socket.create_connection(("127.0.0.1", workshop.port), timeout=20) as talking:
        talking.sendall(request)
        received = b""
        while b"\r\n\r\n" not in received and (part := talking.recv(65536)):
            received += part
    return received


def asked(workshop: Started, path: str, **headers: str) -> int:
    talking = http.client.HTTPConnection("127.0.0.1", workshop.port, timeout=20)
    try:
        talking.putrequest("GET", path, skip_host="Host" in headers)
        for name, value in headers.items():
            talking.putheader(name, value)
        talking.endheaders()
        return talking.getresponse().status
    finally:
        talking.close()


@pytest.mark.slow
def test_it_refuses_a_body_over_25_megabytes_before_reading_it(workshop: Started) -> None:
    head = b"POST /health HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: %d\r\n\r\n"
    assert b" 413 " in answer(workshop, head % (25 * MEGABYTE + 1)).splitlines()[0]
    assert asked(workshop, "/health") == 200


def test_it_refuses_a_body_of_30_megabytes_in_parts_of_unknown_number(workshop: Started) -> None:
    head = b"POST /health HTTP/1.1\r\nHost: 127.0.0.1\r\nTransfer-Encoding: chunked\r\n\r\n"
    part = b"%x\r\n%s\r\n" % (MEGABYTE, bytes(MEGABYTE))
    with socket.create_connection(("127.0.0.1", workshop.port), timeout=20) as talking:
        talking.sendall(head)
        with contextlib.suppress(ConnectionError):  # it hangs up in the middle of the body
            for _ in range(30):
                talking.sendall(part)
            talking.sendall(b"0\r\n\r\n")
            assert b" 413 " in talking.recv(65536).splitlines()[0]
    assert asked(workshop, "/health") == 200


@pytest.mark.slow
def test_a_hundred_slow_visitors_keep_nobody_out(workshop: Started) -> None:
    """Each sends its request letter by letter; others are served meanwhile, and afterwards."""
    slow = [socket.create_connection(("127.0.0.1", workshop.port), timeout=20) for _ in range(100)]
    try:
        for letter in b"GET /health HTTP/1.1\r\nX-Slow: ":
            for each in slow:
                each.sendall(bytes([letter]))
        assert asked(workshop, "/health") == 200, "they keep others waiting"
    finally:
        for each in slow:
            each.close()
    assert asked(workshop, "/health") == 200


def test_it_refuses_endless_headers(workshop: Started) -> None:
    endless = b"GET /health HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Long: " + b"x" * (MEGABYTE // 4)
    assert b" 431 " in answer(workshop, endless).splitlines()[0]
    assert asked(workshop, "/health") == 200


def test_it_listens_on_this_machine_alone(workshop: Started) -> None:
    # 127.0.0.2 reaches whatever listens on all addresses, without leaving this machine.
    with socket.socket() as probe:
        probe.settimeout(5)
        assert probe.connect_ex(("127.0.0.2", workshop.port)) != 0


@pytest.mark.parametrize("host", ["workshop.example", "127.0.0.1.example", "127.0.0.1:80:80", "["])
def test_it_refuses_another_host_s_name(workshop: Started, host: str) -> None:
    assert asked(workshop, "/", Host=host) == 400


@pytest.mark.parametrize(
    "path",
    [
        "/static/../manage.py",
        "/static/%2e%2e/manage.py",
        "/static/..%2f..%2fmanage.py",
        "/static/%2e%2e/%2e%2e/%2e%2e/etc/passwd",
        "/static//etc/passwd",
        "/static/css/%00",
    ],
)
def test_it_serves_nothing_but_static_files_as_static(workshop: Started, path: str) -> None:
    assert asked(workshop, path) in (400, 404)


def test_it_believes_no_word_of_a_proxy_that_was_not_announced(workshop: Started) -> None:
    plain = asked(workshop, "/", **{"X-Forwarded-Proto": "https", "X-Forwarded-For": "1.2.3.4"})
    assert plain == asked(workshop, "/")


def test_it_answers_a_request_that_is_none(workshop: Started) -> None:
    assert b" 400 " in answer(workshop, b"\x16\x03\x01\x02\x00\r\n\r\n").splitlines()[0]
    assert asked(workshop, "/health") == 200
