"""What every answer tells a browser not to allow, and what it may do with our cookies."""

import pytest
from django.conf import settings

from tests import addresses
from tests.checkout import TOP, manage
from tests.factories import make_person

PLAIN = {
    "X-Frame-Options": "DENY",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
}
OWN = {"script-src": ["'self'"], "style-src": ["'self'"], "form-action": ["'self'"]}
NONE = {"default-src": ["'none'"], "frame-ancestors": ["'none'"], "base-uri": ["'none'"]}
HTTPS = """
import json
from django.conf import settings
names = ["SESSION_COOKIE_SECURE", "CSRF_COOKIE_SECURE", "SECURE_SSL_REDIRECT", "DEBUG"]
print(json.dumps({name: getattr(settings, name) for name in names}))
"""


def policy(answer) -> dict[str, list[str]]:
    """The content security policy, directive by directive."""
    parts = answer["Content-Security-Policy"].split(";")
    return {name: values for name, *values in (part.split() for part in parts if part.strip())}


@pytest.mark.slow
def test_every_answer_has_the_strict_policy(inside):
    asked = 0
    for name in addresses.names():
        answer = inside.get(addresses.path_of(name))
        b"".join(answer)
        found = policy(answer)
        assert found.items() >= (OWN | NONE).items(), name
        for values in found.values():
            assert set(values) <= {"'self'", "'none'"}, (name, values)
        assert {header: answer[header] for header in PLAIN} == PLAIN, name
        asked += 1
    assert asked > 100


def test_errors_have_it_too(inside):
    for path in ("/no-such-page/", "/projects/no-such-project/"):
        answer = inside.get(path)
        assert answer.status_code == 404
        assert policy(answer).items() >= (OWN | NONE).items()


def test_no_script_reads_our_cookies_and_no_other_site_sends_them(client, db):
    make_person(username="pia", password="brackish-heron-42")  # noqa: S106
    client.get("/sign-in/")
    client.post("/sign-in/", {"username": "pia", "password": "brackish-heron-42"})
    for name in (settings.SESSION_COOKIE_NAME, settings.CSRF_COOKIE_NAME):
        cookie = client.cookies[name]
        assert cookie["samesite"] == "Lax" and cookie["httponly"], name


@pytest.mark.slow
def test_behind_https_nothing_goes_in_the_clear_and_the_deployment_check_is_clean(tmp_path):
    own = {"DECALJOBS_DATA": tmp_path, "DECALJOBS_HTTPS": 1, "DECALJOBS_HOSTS": "workshop.example"}
    said = manage(TOP, "shell", "-v0", "-c", HTTPS, **own).stdout
    assert said.count("true") == 3 and '"DEBUG": false' in said, said
    run = manage(TOP, "check", "--deploy", "--fail-level", "WARNING", **own)
    assert run.returncode == 0, run.stderr
