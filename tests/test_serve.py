"""The workshop as a maker starts it: a real server on a data folder of its own."""

import os
import signal
import stat
import threading
import time
import urllib.request
from pathlib import Path

import pytest

from tests.checkout import TOP, manage, started
from workshop import serve

posix = pytest.mark.skipif(os.name == "nt", reason="Windows has neither modes nor SIGTERM")


def status(address: str) -> int:
    with urllib.request.urlopen(address, timeout=30) as answer:  # noqa: S310
        return int(answer.status)


@pytest.fixture
def data(tmp_path: Path) -> Path:
    return tmp_path / "data"


@pytest.mark.slow
def test_it_answers_as_soon_as_it_has_printed_the_link(data: Path) -> None:
    with started(data) as workshop:
        assert status(workshop.site + "/health") == 200
        assert status(workshop.link) == 200
        assert f"The records are in {data}" in workshop.words


@pytest.mark.slow
def test_it_serves_every_style_sheet_and_script(data: Path) -> None:
    files = [file for file in (TOP / "static").rglob("*.*") if file.suffix in (".css", ".js")]
    assert files
    with started(data) as workshop:
        for file in files:
            path = file.relative_to(TOP).as_posix()
            assert status(f"{workshop.site}/{path}") == 200, path


@pytest.mark.slow
@posix
@pytest.mark.parametrize("asked", [signal.SIGTERM, signal.SIGINT])
def test_it_stops_cleanly_when_asked_to(data: Path, asked: signal.Signals) -> None:
    with started(data) as workshop:
        status(workshop.site + "/health")
        workshop.process.send_signal(asked)
        assert workshop.process.wait(timeout=20) == 0
        assert workshop.words.splitlines()[-1] == "Stopped."


@pytest.mark.slow
@posix
def test_it_keeps_the_records_and_the_secret_key_to_their_owner(data: Path) -> None:
    with started(data):
        assert stat.S_IMODE(data.stat().st_mode) == 0o700
        assert stat.S_IMODE((data / "secret-key").stat().st_mode) == 0o600


@pytest.mark.slow
def test_it_keeps_the_key_and_has_nothing_to_bring_up_to_date_at_a_second_start(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with started(data) as first:
        assert "Bringing the records up to date." in first.words
        first_link = first.link
    key = (data / "secret-key").read_text()
    before = time.perf_counter()
    with started(data) as second:
        took = time.perf_counter() - before
        assert "Bringing" not in second.words
        assert second.link != first_link
    assert (data / "secret-key").read_text() == key
    with capsys.disabled():
        print(f"\nsecond start: {took:.2f} s")


@pytest.mark.slow
def test_it_lets_only_one_of_two_starts_have_the_port(data: Path) -> None:
    with started(data) as workshop:
        second = manage(TOP, "start", "--no-browser", "--port", workshop.port, "--data", data)
        assert second.returncode == 1
        assert f"Port {workshop.port} is taken" in second.stderr
        assert status(workshop.site + "/health") == 200


@pytest.mark.slow
def test_it_fills_an_example_workshop_once_and_signs_straight_in(data: Path) -> None:
    with started(data, "--demo") as workshop:
        assert "Loading the example workshop." in workshop.words
        opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        opener.open(workshop.link, timeout=30).close()
        with opener.open(workshop.site + "/", timeout=30) as bench:
            assert bench.status == 200
            assert "/sign-in" not in bench.url
    with started(data, "--demo") as again:
        assert "Loading" not in again.words


class Drawing:
    """A program of which some pages are drawn only once they are let go on."""

    def __init__(self) -> None:
        self.begun, self.go_on = threading.Semaphore(0), threading.Event()
        self.guard, self.at_once, self.most = threading.Lock(), 0, 0

    def __call__(self, environ: dict[str, str], start_response: object) -> list[bytes]:
        with self.guard:
            self.at_once += 1
            self.most = max(self.most, self.at_once)
        self.begun.release()
        if environ["PATH_INFO"] == "/held/":
            assert self.go_on.wait(60)
        if environ["PATH_INFO"] == "/broken/":
            raise ValueError("broken")
        with self.guard:
            self.at_once -= 1
        return [b"page"]


def asked(pages: serve.Pages, path: str, method: str = "GET") -> list[bytes]:
    return pages({"REQUEST_METHOD": method, "PATH_INFO": path}, None)


@pytest.fixture
def pages() -> serve.Pages:
    made = serve.Pages()
    made.application = Drawing()
    return made


def held_page(pages: serve.Pages) -> threading.Thread:
    """A page that is being drawn until the program is let go on."""
    thread = threading.Thread(target=asked, args=[pages, "/held/"])
    thread.start()
    assert pages.application.begun.acquire(timeout=60)
    return thread


def test_pages_that_are_read_are_drawn_one_after_the_other(pages, monkeypatch) -> None:
    monkeypatch.setattr(serve, "PATIENCE", 60.0)
    threads = [held_page(pages)]
    for _ in range(3):
        threads.append(threading.Thread(target=asked, args=[pages, "/"]))
        threads[-1].start()
    assert not pages.application.begun.acquire(timeout=0.2)
    pages.application.go_on.set()
    for thread in threads:
        thread.join(60)
    assert pages.application.most == 1


def test_a_page_that_takes_long_does_not_keep_the_next(pages, monkeypatch) -> None:
    monkeypatch.setattr(serve, "PATIENCE", 0.01)
    thread = held_page(pages)
    assert asked(pages, "/") == [b"page"]
    assert thread.is_alive()
    pages.application.go_on.set()
    thread.join(60)


def test_a_form_waits_for_no_page(pages, monkeypatch) -> None:
    monkeypatch.setattr(serve, "PATIENCE", 60.0)
    thread = held_page(pages)
    assert asked(pages, "/", "POST") == [b"page"]
    assert thread.is_alive()
    pages.application.go_on.set()
    thread.join(60)


def test_a_page_that_breaks_gives_its_turn_back(pages) -> None:
    with pytest.raises(ValueError, match="broken"):
        asked(pages, "/broken/")
    assert pages.turns.take(0.0)
