"""The pictures in the README, made from the example workshop: `python -m tests.pictures`.

Needs what the tests need, and Debian's chromium. They lie in static/img/readme/.
"""

from __future__ import annotations

import io
import shutil
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, BrowserContext, sync_playwright
from pypdfium2 import PdfDocument

from tests.browser.visitor import DESK, FLAGS, PHONE
from tests.checkout import TOP, Started, started

FOLDER = TOP / "static" / "img" / "readme"
MOST_BYTES = 300_000
AN_HOUR = 3600  # seconds to wait for the example workshop while its process lives
#: Taller windows than are usual: a picture has nothing to scroll.
DESK_TALL, PHONE_TALL = {"width": 1280, "height": 1180}, {"width": 390, "height": 1320}
BENCHES = {
    "bench-light": {**DESK, "viewport": DESK_TALL, "color_scheme": "light"},
    "bench-dark": {**DESK, "viewport": DESK_TALL, "color_scheme": "dark"},
    "bench-phone": {**PHONE, "viewport": PHONE_TALL, "color_scheme": "dark"},
}
CARD = "/projects/P-01/job-card/"
CARD_DPI = 96


def main() -> int:
    """Make all pictures anew."""
    program = shutil.which("chromium")
    if program is None:
        print("No browser here: install Debian's package chromium.", file=sys.stderr)
        return 1
    FOLDER.mkdir(parents=True, exist_ok=True)
    with (
        tempfile.TemporaryDirectory() as scratch,
        started(Path(scratch, "data"), "--demo", patience=AN_HOUR) as workshop,
        sync_playwright() as driver,
    ):
        browser = driver.chromium.launch(executable_path=program, args=FLAGS)
        inside = browser.new_context()
        inside.new_page().goto(workshop.link)  # the link signs in once; the cookie stays
        keep("job-card", job_card(inside, workshop))
        for name, look in BENCHES.items():
            keep(name, bench(browser, inside, workshop, look))
        browser.close()
    return 0


def bench(browser: Browser, inside: BrowserContext, workshop: Started, look: dict) -> Image.Image:
    """The bench as a window of this size and theme shows it."""
    context = browser.new_context(**look, storage_state=inside.storage_state())
    page = context.new_page()
    page.goto(workshop.site, wait_until="networkidle")
    shown = page.screenshot()
    context.close()
    return Image.open(io.BytesIO(shown)).convert("RGB")


def job_card(inside: BrowserContext, workshop: Started) -> Image.Image:
    """Page 1 of a job card."""
    answer = inside.request.get(workshop.site + CARD)
    pages = PdfDocument(answer.body())
    return pages[0].render(scale=CARD_DPI / 72).to_pil()


def keep(name: str, picture: Image.Image) -> None:
    """Write a picture, in as many colours as the README has room for."""
    path = FOLDER / f"{name}.png"
    picture.save(path, optimize=True)
    if path.stat().st_size > MOST_BYTES:
        picture.quantize(256, dither=Image.Dither.NONE).save(path, optimize=True)
    size = path.stat().st_size
    assert size < MOST_BYTES, f"{path} has {size} bytes"
    print(f"{path.relative_to(TOP)}: {picture.width} x {picture.height}, {size / 1000:.0f} kB")


if __name__ == "__main__":
    sys.exit(main())
