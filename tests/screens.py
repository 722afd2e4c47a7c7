"""Pictures of every screen of the example workshop: `python -m tests.screens FOLDER`.

It follows the links from the bench on, so that a page which no link leads to shows by its
absence; those are named at the end. Each page is taken whole, at both widths, light and dark.
Needs what the tests need, and Debian's chromium.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urljoin, urlsplit

import django
from django.urls import Resolver404, resolve
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from tests.browser.visitor import DESK, FLAGS, PHONE
from tests.checkout import started

LOOKS = {
    f"{width}-{theme}": {**window, "color_scheme": theme, "reduced_motion": "reduce"}
    for width, window in (("phone", PHONE), ("desk", DESK))
    for theme in ("light", "dark")
}
#: Seconds to wait for the example workshop while its process lives: pictures are in no hurry.
AN_HOUR = 3600
#: So many pages of one address: a decal in each of its stages, a sheet in each state.
MOST_OF_A_KIND = 4
LINKS = """[...document.querySelectorAll('a[href]')]
  .map(e => new URL(e.getAttribute('href'), location).href)"""
#: Folded parts opened, and pictures further down loaded.
UNFOLD = """for (const part of document.querySelectorAll('details')) part.open = true;
for (const picture of document.images) picture.loading = 'eager'"""


def main() -> int:
    """Take all pictures; say which addresses no link leads to."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--link", help="a way into a workshop that is open already")
    parser.add_argument("--only", nargs="*", help="names of addresses, such as bench decal")
    parser.add_argument("--looks", nargs="*", default=list(LOOKS), choices=list(LOOKS))
    asked = parser.parse_args()
    program = shutil.which("chromium")
    if program is None:
        print("No browser here: install Debian's package chromium.", file=sys.stderr)
        return 1
    asked.folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=program, args=FLAGS)
        if asked.link:
            look_round(browser, asked.link, asked)
        else:
            print("Making the example workshop ...", flush=True)
            with started(Path(scratch, "data"), "--demo", patience=AN_HOUR) as workshop:
                print("It is served; taking the pictures ...", flush=True)
                look_round(browser, workshop.link, asked)
        browser.close()
    return 0


def look_round(browser: Browser, link: str, asked: argparse.Namespace) -> None:
    """Every page of the workshop that the link leads into."""
    site = "{0.scheme}://{0.netloc}".format(urlsplit(link))
    inside = browser.new_context()
    inside.new_page().goto(link)  # the link signs in once; the cookie stays
    found = dict(walk(inside, site))
    wanted = {path: name for path, name in found.items() if name in (asked.only or [name])}
    for look in asked.looks:
        take(browser, inside, site, wanted, asked.folder, look)
    print(f"{len(wanted)} pages in {asked.folder}; no link leads to: {', '.join(unreached(found))}")


def walk(inside: BrowserContext, site: str) -> Iterator[tuple[str, str]]:
    """Every page that links lead to, as its path and the name of its address."""
    page, seen, many = inside.new_page(), {"/"}, Counter()
    ahead = ["/"]
    while ahead:
        path = ahead.pop(0)
        name = name_of(path)
        if name is None or many[name] >= MOST_OF_A_KIND:
            continue
        answer = inside.request.get(site + path)
        if not answer.headers["content-type"].startswith("text/html"):
            many[name] += 1
            continue
        many[name] += 1
        yield path, name
        page.goto(site + path)
        for link in map(urlsplit, page.evaluate(LINKS)):
            onward = f"{link.path}?{link.query}" if link.query else link.path
            if urljoin(site, f"//{link.netloc}").endswith(urlsplit(site).netloc):
                ahead += [onward] if onward not in seen else []
                seen.add(onward)


def name_of(path: str) -> str | None:
    """The name of a page's address; None for files and what is no address of ours."""
    try:
        return resolve(urlsplit(path).path).url_name
    except Resolver404:
        return None


def unreached(found: dict[str, str]) -> list[str]:
    """Names of addresses without a picture: those that only take forms or give files, too."""
    from decaljobs.urls import urlpatterns

    return [str(each.name) for each in urlpatterns if each.name not in found.values()]


def take(
    browser: Browser,
    inside: BrowserContext,
    site: str,
    wanted: dict[str, str],
    folder: Path,
    look: str,
) -> None:
    """All pages in one look."""
    context = browser.new_context(**LOOKS[look], storage_state=inside.storage_state())
    page = context.new_page()
    for path, name in wanted.items():
        page.goto(site + path)
        page.evaluate(UNFOLD)
        page.wait_for_load_state("networkidle")
        page.screenshot(path=folder / f"{file_name(name, path)}-{look}.png", full_page=True)
        warn_of_width(page, path, look)
    context.close()


def warn_of_width(page: Page, path: str, look: str) -> None:
    beyond = page.evaluate("document.documentElement.scrollWidth - innerWidth")
    if beyond > 0:
        print(f"{path} ({look}) is {beyond} px too wide")


def file_name(name: str, path: str) -> str:
    return f"{name}-{re.sub('[^a-zA-Z0-9]+', '-', path).strip('-')}"[:80]


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
    django.setup()
    sys.exit(main())
