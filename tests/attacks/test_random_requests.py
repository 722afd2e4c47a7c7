"""Random requests at every address, by every role: none is answered by a fault of ours.

The addresses come from the URL configuration and the names of fields from the forms themselves,
so that new ones are tried without being named here. The same requests each time; another number
for SEED tries others.
"""

from __future__ import annotations

import importlib
import pkgutil
import random
import re
from collections.abc import Iterator

import pytest
from django import forms as django_forms
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client
from django.urls import URLPattern

from decaljobs import forms
from decaljobs.models import Person
from decaljobs.urls import urlpatterns
from tests import addresses
from tests.attacks.test_forms import BAD, FILES
from tests.factories import picture_bytes

SEED, REQUESTS = 20261125, 1500
METHODS = ("GET", "GET", "GET", "POST", "POST", "POST", "HEAD", "PUT", "DELETE", "OPTIONS", "BREW")
SENSIBLE = (
    *("1", "2", "3", "on", "all", "white", "clear", "laminated", "base_applied", "20.5", "1:72"),
    *("#112233", "2026-11-02", "yesterday 21:40", "P-01", "W-01", "save", "good", "yes", "free"),
)
ODD = (
    *BAD.values(),
    *("", " ", "0x10", "1e5", "-0", "١٢", "½", "\r\n", "\ufeff", "a" * 5000, "../..", "%00", "{}"),
    *("[1]", "null", "true", "1;1", "1:1:1", "\ud7ff", "9" * 19, "-1e-400", "25:61", "31/02/2026"),
)
KINDS = ("application/json", "text/plain", "multipart/form-data", "multipart/form-data; boundary=x")
HEADERS = (
    *({}, {}, {"hx-request": "true"}, {"hx-request": "true", "hx-history-restore-request": "true"}),
    *({"accept-encoding": "gzip"}, {"x-sent-by-script": "1"}, {"if-modified-since": "yesterday"}),
    *({"range": "bytes=9-1"}, {"user-agent": "\u00ff" * 400}, {"referer": "javascript:x"}),
    *({"accept-language": "x;q=NaN"}, {"x-forwarded-for": "::1, x"}),
)


def field_names() -> list[str]:
    """The names of the fields of all our forms, and of those that buttons send."""
    found = {"page", "q", "sort", "order", "key", "next", "one", "save", "seen", "task", "paint"}
    for module in pkgutil.iter_modules(forms.__path__):
        for form in vars(importlib.import_module(f"{forms.__name__}.{module.name}")).values():
            if isinstance(form, type) and issubclass(form, django_forms.BaseForm):
                found |= set(form.base_fields)
    return sorted(found)


class Chance:
    """Requests made up by chance, the same ones for the same number."""

    def __init__(self, seed: int) -> None:
        self.random = random.Random(seed)
        self.names = field_names()

    def path(self, pattern: URLPattern) -> str:
        """An address of a record that is there, or of what it may be."""
        if self.random.random() < 0.7:
            return addresses.path_of(str(pattern.name))
        return "/" + re.sub(r"<[^>]+>", lambda _: self.word(), str(pattern.pattern))

    def word(self) -> str:
        return re.sub(r"[^\w.:-]", "", self.value()) or "0"

    def value(self) -> str:
        return self.random.choice(SENSIBLE if self.random.random() < 0.6 else ODD)

    def fields(self) -> dict[str, object]:
        few = self.random.sample(self.names, self.random.randrange(12))
        return {name: [self.value() for _ in range(self.random.choice((1, 1, 2)))] for name in few}

    def files(self) -> dict[str, object]:
        if self.random.random() < 0.6:
            return {}
        data = self.random.choice((picture_bytes(), *FILES.values(), bytes(200)))
        name = self.random.choice(("art.png", "../x", "a\r\nb", "\u202egnp.exe", "x" * 300))
        field = self.random.choice(("picture", "photo", "photos", "file", "camera"))
        return {field: SimpleUploadedFile(name, data)}

    def send(self, client: Client, path: str) -> tuple[str, int, bytes]:
        """Send one; what was sent in words, and the answer."""
        method, headers = self.random.choice(METHODS), self.random.choice(HEADERS)
        if method in ("GET", "HEAD"):
            data = self.fields()
            answer = getattr(client, method.lower())(path, data, headers=headers)
        elif method == "POST" and self.random.random() < 0.85:
            data = self.fields() | self.files()
            answer = client.post(path, data, headers=headers)
        else:
            data, kind = self.value(), self.random.choice(KINDS)
            answer = client.generic(method, path, data, content_type=kind, headers=headers)
        return f"{method} {path} {data!r} {headers}", answer.status_code, b"".join(answer)


def visitors() -> Iterator[Client]:
    """The owner, a maker, an onlooker and a stranger in turn, signed in anew each time."""
    people = [Person.objects.filter(role=role).first() for role in ("owner", "maker", "onlooker")]
    while True:
        for person in (*people, None):
            client = Client(raise_request_exception=False)
            if person is not None:
                Person.objects.filter(pk=person.pk).update(is_active=True, role=person.role)
                client.force_login(person, "django.contrib.auth.backends.ModelBackend")
            yield client


@pytest.mark.slow
def test_no_random_request_breaks_anything(furnished, maker, onlooker):
    chance, coming, wrong, answered = Chance(SEED), visitors(), [], set()
    patterns = list(urlpatterns)
    for _ in range(REQUESTS):
        with transaction.atomic():
            client, pattern = next(coming), chance.random.choice(patterns)
            said, status, body = chance.send(client, chance.path(pattern))
            answered.add(status)
            if status >= 500 or b"Traceback (most recent" in body:
                wrong.append(f"{status}: {said[:1500]}")
            # What is kept may stay, so that later requests meet another state; most is forgotten,
            # so that there is always something there.
            transaction.set_rollback(chance.random.random() < 0.9)
    assert not wrong, "\n".join(wrong)
    assert {200, 302, 403, 404, 405, 422} <= answered, "they reached too little"
