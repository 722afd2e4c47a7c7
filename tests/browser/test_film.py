"""Film in a browser: from the queue to a print, the rest cut off, a second model on the offcut."""

from threading import Event

import pytest
from pypdfium2 import PdfDocument

from decaljobs.craft.stages import Build
from decaljobs.models import Sheet
from decaljobs.services.layout import search_records
from decaljobs.services.layout.queue import queue_decals, set_copies
from tests.browser.visitor import DESK, PHONE
from tests.factories import EVENING, make_artwork, make_decals, make_project
from tests.services.squeeze.test_new_sheets import pennant

pytestmark = pytest.mark.browser

#: Three rows of pennants in their boxes, 40 mm high with a gap of 3 mm; and what one row more or
#: less cannot be mistaken for.
THREE_ROWS, CLEARLY_LESS = 3 * 43, 10
LONGEST_WAIT = 60  # s; as long as a squeeze takes, and some more


def queue_and_lay_out(visitor, project, button):
    visitor.go(project.get_absolute_url())
    visitor.press("Queue for the next sheet")
    visitor.go("/sheets/next/")
    wait_for_the_search(visitor)
    visitor.press(button)


def wait_for_the_search(visitor):
    """The page looks for a better layout by itself, and shows it once it is found."""
    visitor.page.get_by_text("with a gap of 3 mm").wait_for()


@pytest.mark.parametrize("screen", [DESK, PHONE], ids=["desk", "phone"])
def test_a_second_project_is_printed_on_what_the_first_left_over(visit, mara, screen):
    first, second = make_project(name="Launch"), make_project(name="Tram")
    make_decals(2, Build.CLEAR_ALONE, project=first, place="Bow")
    make_decals(1, Build.CLEAR_ALONE, project=second, place="Dash")
    visitor = visit(mara, **screen)
    queue_and_lay_out(visitor, first, "Lay out on 1 new sheet")
    sheet = Sheet.objects.get()
    visitor.go(sheet.get_absolute_url())
    address = visitor.page.get_by_role("button", name="Print file", exact=True).evaluate(
        "button => button.form.action"
    )
    pdf = PdfDocument(visitor.context.request.get(address).body())
    # ISO 216: A4 is 210 by 297 mm, a point being 25.4/72 mm (ISO 32000-1).
    assert [side / 72 * 25.4 for side in pdf[0].get_size()] == pytest.approx([210, 297], abs=0.1)
    visitor.press("Printed")
    visitor.unfold("Cut the rest off")
    visitor.press("Rest is cut off")
    offcut = Sheet.objects.get(cut_from=sheet)
    assert offcut.code in visitor.text
    queue_and_lay_out(visitor, second, "Lay out on the offcuts")
    assert set(offcut.pieces.values_list("decal__place", flat=True)) == {"Dash"}
    assert Sheet.objects.count() == 2


@pytest.fixture
def film_is_saved(monkeypatch):
    """Set once the squeeze has nested the pennants on clearly less than their three rows."""
    found, told = Event(), search_records.Watch.told

    def heard(watch, share, shortest):
        told(watch, share, shortest)
        if shortest is not None and shortest < THREE_ROWS - CLEARLY_LESS:
            found.set()

    monkeypatch.setattr(search_records.Watch, "told", heard)
    return found


@pytest.mark.parametrize("screen", [DESK, PHONE], ids=["desk", "phone"])
def test_a_sheet_is_squeezed_behind_the_page_and_laid_down_nested(
    visit, mara, film_is_saved, screen
):
    art = make_artwork(name="Pennant", picture=pennant(), width_mm=60)
    (decal,) = make_decals(1, Build.CLEAR_ALONE, artwork=art, place="Bow")
    queue_decals(decals=[decal.pk], by=mara, moment=EVENING)
    set_copies(decal=decal.pk, base=None, clear=7)
    visitor = visit(mara, **screen)
    visitor.go("/sheets/next/")
    wait_for_the_search(visitor)
    visitor.press("Squeeze by outline")
    visitor.page.get_by_role("progressbar").wait_for()
    assert film_is_saved.wait(LONGEST_WAIT)
    visitor.press("Stop the squeeze")
    visitor.page.get_by_text("It saves").wait_for()
    visitor.press("Lay out on 1 new sheet")
    sheet = Sheet.objects.get()
    visitor.page.get_by_role("heading", name=f"Sheet {sheet.code}").wait_for()
    assert visitor.page.locator("path.edge").count() == 7
    assert all(piece.outline for piece in sheet.pieces.all())


@pytest.mark.parametrize("screen", [DESK, PHONE], ids=["desk", "phone"])
def test_four_equal_decals_share_eight_copies_and_lend_each_other_a_piece(visit, mara, screen):
    project = make_project(name="Launch")
    first, *others = make_decals(4, Build.CLEAR_ALONE, project=project, place="Bow")
    visitor = visit(mara, **screen)
    visitor.go(project.get_absolute_url())
    visitor.press("Queue for the next sheet")
    visitor.go("/sheets/next/")
    wait_for_the_search(visitor)
    assert "4 equal decals share 8 copies. 4 wanted; come out good: " in visitor.text
    assert "8 copies give at least 4 with 96 %, 7 copies with 92 %." in visitor.text
    visitor.press("Lay out on 1 new sheet")
    sheet = Sheet.objects.get()
    visitor.page.get_by_role("heading", name=f"Sheet {sheet.code}").wait_for()
    assert [decal.pieces.count() for decal in (first, *others)] == [2, 2, 2, 2]
    visitor.press("Printed")
    visitor.reads("printed logged")
    spoil_both(visitor, first)
    visitor.press("Take a good clear piece from Bow 2 of 4")
    visitor.reads("Clear piece taken from Bow 2 of 4 (Launch): Bow 1 of 4.")
    assert first.pieces.good().count() == others[0].pieces.good().count() == 1
    visitor.press(
        "Undo ‘Clear piece taken from Bow 2 of 4 (Launch)’", visitor.page.locator("#decal-log")
    )
    visitor.reads("is undone: Bow 1 of 4.")
    visitor.go("/")
    visitor.page.get_by_role("button", name="Take a good clear piece from Bow").click()
    visitor.answered()
    visitor.reads("Clear piece taken from Bow")
    lender = first.events.in_force().get(kind="taken").twin
    assert lender in others
    visitor.go(lender.get_absolute_url())
    visitor.reads("Clear piece given to Bow 1 of 4 (Launch)")
    assert visitor.page.get_by_role("button", name="Take a good").count() == 0


def spoil_both(visitor, decal):
    """Both pieces of a decal, one after the other on its page."""
    visitor.go(decal.get_absolute_url())
    for _ in range(2):
        visitor.page.locator("summary", has_text="Spoiled?").first.click()
        visitor.press("Piece spoiled")
        visitor.reads("Piece spoiled: clear")
    visitor.reads("No good clear piece")
