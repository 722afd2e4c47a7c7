"""The whole way of a laminated decal, by clicking: from an empty bench to set and on paper."""

import pytest
from pypdfium2 import PdfDocument

from decaljobs.craft.stages import Stage
from decaljobs.models import Decal, PieceState
from tests.browser.visitor import DESK, PHONE
from tests.factories import picture_bytes


def begin_project(mara):
    mara.go("/")
    mara.follow("Begin a project", within=mara.page.locator("#lists"))
    mara.write("Name", "Harbour launch")
    mara.write("Scale", "1:72")
    mara.write("Body colour", "#1d2f57")
    mara.page.get_by_label("Overcoat at the end").uncheck()
    mara.press("Begin the project")


def add_decal(mara):
    mara.write("Place", "Port bow")
    picture = {"name": "art.png", "mimeType": "image/png", "buffer": picture_bytes()}
    mara.page.get_by_label("New picture").set_input_files(picture)
    mara.write("Print width", "24")
    mara.page.get_by_label("laminated").check()
    mara.press("Add to the project")
    mara.reads("1 added: Port bow.")


def fill_sheet(mara, film, code):
    mara.page.get_by_role("navigation").get_by_role("link", name="Sheets").click()
    mara.page.get_by_role("link", name="Take a new sheet").first.click()
    mara.page.get_by_label("Film").select_option(film)
    mara.write("Sealing coats", "2")
    mara.press("Take the sheet")
    mara.tick("Port bow")
    mara.press("Put on the sheet")
    mara.reads(f"3 pieces put on sheet {code}. Port bow: 1 wanted; come out good: ")


def print_sheet(mara, code):
    mara.go(f"/sheets/{code}/")
    mara.press("Printed")
    mara.reads(f"Sheet {code}: printed logged.")


def seal_on_its_page(mara, code, coat):
    mara.go(f"/sheets/{code}/")
    mara.press(f"Coat {coat} sprayed")
    mara.reads(f"Sheet {code}: sealing coat {coat} logged.")


def seal_from_the_bench(mara, code, coat):
    mara.go("/")
    mara.press(f"Coat {coat} of 2 sprayed", mara.row(f"Sheet {code}"))
    mara.reads(f"Sheet {code}: sealing coat {coat} logged.")


def print_and_seal(mara, clock):
    for code in ("W-01", "C-01"):
        print_sheet(mara, code)
    clock.pass_hours(12)
    for coat in (1, 2):
        seal_on_its_page(mara, "W-01", coat)
        seal_from_the_bench(mara, "C-01", coat)
        clock.pass_hours(0.5)
    assert Decal.objects.get().stage == "sealed"


def lay_from_the_bench(mara, step):
    mara.go("/")
    mara.press(step, mara.page.locator(".ready .row", has_text="Port bow"))
    # What was logged before stands there until the answer has come.
    told = mara.page.get_by_role("status", name="Just logged").filter(has_text=step)
    assert "Port bow" in told.inner_text()


def be_refused(mara):
    """The clear layer is asked for too early: the reason why stands beside its field."""
    mara.go("/")
    mara.follow("Port bow", mara.page.locator(".drying"))
    mara.unfold("Done before its time?")
    with mara.refused():
        mara.press("Clear applied all the same")
    field = mara.page.get_by_label("Why before its time")
    assert field.get_attribute("aria-invalid") == "true"
    beside = mara.page.locator(".field", has=field)
    assert "not ready for ‘clear applied’ before" in beside.inner_text()
    assert Decal.objects.get().stage == "base_applied"


def see_it_drying(mara, part):
    mara.go("/")
    assert mara.page.locator(".ready .row").count() == 0
    row = mara.page.locator(".drying .row", has_text="Port bow")
    assert f"drying: {part} of 12 reference hours" in row.inner_text()


def see_it_set(mara):
    mara.go("/")
    assert mara.page.get_by_role("heading", level=1).inner_text() == "0 ready, 0 drying, 0 held"
    mara.page.get_by_role("navigation").get_by_role("link", name="Projects").click()
    mara.follow("Harbour launch")
    assert "Set. Finished." in mara.row("Port bow").inner_text()


def open_job_card(mara):
    link = mara.page.get_by_role("link", name="Job card", exact=True)
    with mara.page.expect_event("response", lambda r: r.url.endswith("/job-card/")) as asked:
        link.click()
    assert asked.value.status == 200
    card = mara.context.request.get(asked.value.url)
    assert card.headers["content-type"] == "application/pdf"
    words = PdfDocument(card.body())[0].get_textpage().get_text_range()
    assert "Harbour launch" in words
    assert "Port bow" in words


@pytest.mark.parametrize(
    "options",
    [DESK, {**DESK, "java_script_enabled": False}, PHONE],
    ids=["desk", "without-javascript", "phone"],
)
def test_it_letters_a_model_from_an_empty_bench_to_a_finished_decal(visit, mara, clock, options):
    maker = visit(mara, **options)
    begin_project(maker)
    add_decal(maker)
    fill_sheet(maker, "white", "W-01")
    fill_sheet(maker, "clear", "C-01")
    print_and_seal(maker, clock)
    clock.pass_hours(24)
    lay_from_the_bench(maker, "Base applied")
    clock.pass_hours(3)
    be_refused(maker)
    see_it_drying(maker, "3")
    clock.pass_hours(9)
    lay_from_the_bench(maker, "Clear applied")
    clock.pass_hours(6)
    see_it_drying(maker, "6")
    clock.pass_hours(6)
    see_it_set(maker)
    open_job_card(maker)
    decal = Decal.objects.get()
    assert (decal.stage, decal.project.name) == (Stage.CLEAR_APPLIED, "Harbour launch")
    laid = decal.pieces.filter(state=PieceState.USED).order_by("layer")
    assert [piece.layer for piece in laid] == ["base", "clear"]
