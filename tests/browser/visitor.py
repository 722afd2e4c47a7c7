"""Somebody at a browser window: what they see and press, and whatever goes wrong there."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, ConsoleMessage, Locator, Request, Response

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]

DESK = {"viewport": {"width": 1280, "height": 800}}
PHONE = {"viewport": {"width": 390, "height": 844}, "is_mobile": True, "has_touch": True}
#: Looks at a page, a tenth of a second apart, until it must have answered.
PATIENCE = 100
# Leaving a page ends what it was still loading: that is no fault of either side.
LEFT_THE_PAGE = "net::ERR_ABORTED"


class Visitor:
    """A browser window on the workshop. Faults are collected and fail the test at its end."""

    def __init__(self, context: BrowserContext, site: str) -> None:
        self.context = context
        self.site = urlsplit(site).netloc
        self._faults: list[str] = []
        self._heard_of: list[tuple[str, str]] = []
        self._refusals: list[str] = []
        self._expected: int | None = None
        self._reached = True
        context.set_default_timeout(15_000)
        self.page = context.new_page()
        self.page.on("console", self._heard)
        self.page.on("pageerror", lambda error: self._faults.append(f"script error: {error}"))
        self.page.on("request", self._asked)
        self.page.on("requestfailed", self._failed)
        self.page.on("response", self._came_back)

    def go(self, path: str) -> None:
        self.page.goto(path)

    def press(self, name: str, within: Locator | None = None) -> None:
        """Press the one button of this name, and wait for what it sends to be answered."""
        button = (within or self.page).get_by_role("button", name=name, exact=True)
        button.wait_for()
        self.stands_still()
        button.click()
        self.answered()

    def reads(self, words: str) -> None:
        """Check that the page says this, at the latest once an answer under way has come."""
        for _ in range(PATIENCE):
            if words in self.text:
                return
            self.page.wait_for_timeout(100)
        assert words in self.text

    def answered(self) -> None:
        """Wait until no form is on its way any more."""
        self.page.locator("form[data-sent]").first.wait_for(state="detached")
        self.page.wait_for_load_state("domcontentloaded")

    def stands_still(self) -> None:
        """Wait until the page has all that it asks for as it opens.

        What comes in above a button moves it, and a click is lost whose two halves meet different
        things.
        """
        self.page.wait_for_load_state("load")
        for underway in (".htmx-request", ".htmx-swapping", ".htmx-settling"):
            self.page.locator(underway).first.wait_for(state="detached")

    def follow(self, name: str, within: Locator | None = None) -> None:
        """Follow the one link of this name in the page (not in its head)."""
        link = (within or self.page.locator("main")).get_by_role("link", name=name, exact=True)
        link.wait_for()
        self.stands_still()
        link.click()

    def write(self, label: str, text: str) -> None:
        self.page.locator("main").get_by_label(label).fill(text)

    def tick(self, name: str) -> None:
        """Tick the one box whose words hold this name."""
        self.page.get_by_role("checkbox", name=name).check()

    def unfold(self, name: str) -> None:
        """Open the part of the page that is folded under these words."""
        summary = self.page.locator("summary", has_text=name)
        summary.wait_for()
        self.stands_still()
        summary.click()

    def row(self, words: str) -> Locator:
        """The row of a list that holds these words."""
        return self.page.locator(".row", has_text=words)

    def say_where(self) -> None:
        """Print the address and the words of the page: read where a test failed on it."""
        print(f"{self.page.url}\n{self.page.evaluate('document.body.innerText')}")

    @property
    def text(self) -> str:
        return self.page.locator("main").inner_text()

    @contextmanager
    def refused(self, status: int = 422) -> Iterator[None]:
        """What happens in here is answered by just one refusal, of this status."""
        before, self._expected = len(self._refusals), status
        yield
        self._expected = None
        assert len(self._refusals) == before + 1

    @contextmanager
    def cut_off(self) -> Iterator[None]:
        """The network is gone in here; what fails by that is no fault."""
        self._reached = False
        self.context.set_offline(True)
        yield
        self.context.set_offline(False)
        self._reached = True

    @property
    def faults(self) -> list[str]:
        """All that went wrong so far. The browser complains of expected refusals too: let it."""
        heard = [said for said, address in self._heard_of if address not in self._refusals]
        return self._faults + heard

    def _heard(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning") and self._reached:
            said = f"console {message.type}: {message.text} ({message.location['url']})"
            self._heard_of.append((said, message.location["url"]))

    def _asked(self, request: Request) -> None:
        parts = urlsplit(request.url)
        if parts.scheme in ("http", "https", "ws", "wss") and parts.netloc != self.site:
            self._faults.append(f"asked another host: {request.url}")

    def _failed(self, request: Request) -> None:
        if request.failure != LEFT_THE_PAGE and self._reached:
            self._faults.append(f"request failed: {request.url}: {request.failure}")

    def _came_back(self, response: Response) -> None:
        if response.status < 400:
            return
        if response.status == self._expected:
            self._refusals.append(response.url)
        else:
            self._faults.append(f"answered {response.status}: {response.url}")
