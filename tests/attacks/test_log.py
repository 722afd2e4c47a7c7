"""What is written down of what went wrong: not who it was, nor what they typed; and it rotates."""

import logging
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings
from django.utils.log import configure_logging

from tests.factories import make_person

pytestmark = pytest.mark.django_db
PASSWORD = "brackish-heron-42"
#: Who it was, what they typed, what they searched for, and where from.
PERSONAL = ("pia", PASSWORD, "wrong-guess", "mrs-example", "192.0.2.7")


@pytest.fixture
def log(tmp_path: Path) -> Iterator[Path]:
    """The file that the settings write to, in a folder of its own."""
    file = tmp_path / "workshop.log"
    handlers = {**settings.LOGGING["handlers"]}
    handlers["file"] = {**handlers["file"], "filename": file, "delay": False}
    before = logging.getLogger().handlers[:], logging.getLogger().level
    configure_logging(settings.LOGGING_CONFIG, {**settings.LOGGING, "handlers": handlers})
    yield file
    for handler in logging.getLogger().handlers:
        handler.close()
    logging.getLogger().handlers[:], level = before
    logging.getLogger().setLevel(level)


def test_it_names_nobody(client, log, monkeypatch):
    client.raise_request_exception = False
    make_person(username="pia", password=PASSWORD)
    asked = {"REMOTE_ADDR": "192.0.2.7"}
    for guess in range(7):
        data = {"username": "pia", "password": f"wrong-guess-{guess}"}
        client.post("/sign-in/", data, **asked)
    client.post("/sign-in/", {"username": "pia", "password": PASSWORD}, **asked)
    client.force_login(make_person(username="pia2"))
    client.get("/no-such-page/", {"q": "mrs-example"}, **asked)

    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("the wheel came off")

    monkeypatch.setattr("decaljobs.views.people.page_of", broken)
    assert client.get("/people/", {"q": "mrs-example"}, **asked).status_code == 500
    written = log.read_text()
    assert "the wheel came off" in written, "what went wrong is written down"
    assert [word for word in PERSONAL if word in written] == []


def test_it_does_not_grow_without_end(log):
    for number in range(60):
        logging.getLogger("decaljobs").error("%s %s", number, "x" * 100_000)
    kept = list(log.parent.glob("workshop.log*"))
    handler = settings.LOGGING["handlers"]["file"]
    assert len(kept) == handler["backupCount"] + 1 == 4
    assert sum(path.stat().st_size for path in kept) <= 4 * handler["maxBytes"]
    assert "59 x" in log.read_text()[:-90_000], "the newest is in the newest file"
