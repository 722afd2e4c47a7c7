"""Whoever reads inches, 12 hours and the month first reads them on every page.

The pages are those of the URL configuration over the example workshop, so that a new one cannot
be forgotten. What is neither is named below, with its reason.
"""

import re
from html import unescape

import pytest
import time_machine
from pypdfium2 import PdfDocument

from decaljobs.models import Person
from decaljobs.services.plan.plans import newest_found
from tests import addresses
from tests.factories import EVENING

AMERICAN = {"length_unit": "in", "clock": "12", "date_order": "mdy", "zone": "America/New_York"}

#: A length in mm, or a length's name with mm behind it.
IN_MM = re.compile(r".{0,40}(?<![a-z])mm(?![a-z/²]).{0,30}")
#: A time of day without its half; a scale such as 1:24 is none.
OF_24_HOURS = re.compile(
    r".{0,30}(?<![\d:])(?:0\d|1\d|2[0-3]|[02-9]):[0-5]\d(?!\d|:\d|\s*[ap]m).{0,20}", re.IGNORECASE
)
#: A day before its month, with or without a year.
DAY_FIRST = re.compile(
    r".{0,30}\b[0-3]?\d (?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)[a-z]*\b.{0,20}"
)
#: A moment that was to be said, as the plan keeps it.
STAMPED = re.compile(".{0,30}⟨.{0,30}")
LOOKS = (IN_MM, OF_24_HOURS, DAY_FIRST, STAMPED)
#: What names a way of writing itself, by the address it stands on.
NAMED = {
    "looks": {"24 hours: 21:40", "day first: 24 Nov 2026, 24/11/2026"},
    "import": {"2026-11-24 21:40, year first", "24.11.2026 21:40, day first"},
    "project-placing": {"mm, on the model", "mm, on the full-size original"},
    "panel-change": {"mm, on the model", "mm, on the full-size original"},
}


def words_of(html: str) -> str:
    """What a page says, the words of its drawings and what its fields hold too."""
    body = html.split("<main", 1)[-1]
    said = re.findall(r'(?:aria-label|alt|placeholder|title)="([^"]*)"', body)
    said += re.findall(r'<input(?![^>]*type="hidden")[^>]*\bvalue="([^"]*)"', body)
    text = re.sub(r"<(script|style)\b.*?</\1>", " ", body, flags=re.DOTALL)
    text = re.sub(r"</(?:p|li|td|th|div|h\d|dt|dd|option|text|label|tspan)>", "\n", text)
    return unescape(re.sub(r"<[^>]+>", "", text) + "\n" + "\n".join(said)).replace("\u00a0", " ")


@pytest.fixture
def inside(db, client):
    with time_machine.travel(EVENING, tick=False):
        client.force_login(addresses.furnish(EVENING))
        yield client


@pytest.fixture
def american(inside):
    Person.objects.update(**AMERICAN)
    return inside


@pytest.mark.slow
def test_every_page_is_written_in_its_reader_s_ways(american):
    wrong = {}
    for name in addresses.pages(american):
        for path in addresses.paths_of(name):
            words = words_of(american.get(path).content.decode())
            found = {f for look in LOOKS for f in look.findall(words)}
            for foreign in {" ".join(f.split()) for f in found} - NAMED.get(name, set()):
                wrong.setdefault(foreign, path)
    assert not wrong, "\n".join(f"{path}: {words}" for words, path in wrong.items())


@pytest.mark.slow
def test_every_task_says_why_it_is_not_sooner_in_its_reader_s_ways(american):
    sessions = newest_found()["sessions"]
    waiting = [task for session in sessions for task in session["tasks"] if "⟨" in task["why"]]
    assert len(waiting) > 5
    for task in waiting:
        words = words_of(american.get("/plan/pin/", {"task": task["id"]}).content.decode())
        assert "Not sooner: " in words
        assert not [look.findall(words) for look in (STAMPED, OF_24_HOURS) if look.findall(words)]


def papers(client):
    """What every paper of the workshop says, by its address."""
    found = {}
    for path in (addresses.path_of(name) for name in addresses.names()):
        answer = client.get(path)
        content = b"".join(answer)  # a file that is answered is closed once it was read
        if answer["Content-Type"] == "application/pdf":
            pages = PdfDocument(content)
            found[path] = [page.get_textpage().get_text_bounded() for page in pages]
    return found


@pytest.mark.slow
def test_every_paper_says_the_same_whoever_prints_it(inside):
    ours = papers(inside)
    assert len(ours) >= 9
    Person.objects.update(**{**AMERICAN, "zone": "Pacific/Auckland"})
    assert papers(inside) == ours
