"""PostgreSQL gone for ten seconds: that is said in plain words, and all is well once it is back."""

import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from tests import postgres
from tests.checkout import Started, started

pytestmark = pytest.mark.skipif(
    postgres.programs() is None, reason="no PostgreSQL server (Debian's package postgresql)"
)
AWAY = 10.0  # seconds
BACK_IN = 20.0  # seconds; a busy machine takes a while to start it


def ask(workshop: Started, page: str) -> tuple[int, str, dict[str, str]]:
    try:
        with urllib.request.urlopen(workshop.site + page, timeout=30) as answer:  # noqa: S310
            return answer.status, answer.read().decode(), dict(answer.headers)
    except urllib.error.HTTPError as error:
        with error:
            return error.code, error.read().decode(), dict(error.headers)


@pytest.mark.slow
def test_a_server_that_is_away_is_told_of_and_found_again(tmp_path: Path) -> None:
    with (
        postgres.server() as server,
        started(tmp_path / "data", "--processes", "1", DATABASE_URL=server.address) as workshop,
    ):
        opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        opener.open(workshop.link, timeout=60).close()
        assert ask(workshop, "/health")[0] == 200
        server.stop()
        gone = time.monotonic()
        while time.monotonic() - gone < AWAY:
            with pytest.raises(urllib.error.HTTPError) as refused:
                opener.open(workshop.link, timeout=60)
            words = refused.value.read().decode()
            assert refused.value.code == 503 and "Traceback" not in words
            assert refused.value.headers["Retry-After"] == "10"
            refused.value.close()
            assert ask(workshop, "/health")[0] == 503
            time.sleep(1)
        server.start()
        end = time.monotonic() + BACK_IN
        while ask(workshop, "/health")[0] != 200:
            assert time.monotonic() < end, "it does not find its database again"
            time.sleep(0.2)
        assert ask(workshop, "/sign-in/")[0] == 200
