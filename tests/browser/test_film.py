"""Film in a browser: from the queue to a print, the rest cut off, a second model on the offcut."""

import pytest
from pypdfium2 import PdfDocument

from decaljobs.craft.stages import Build
from decaljobs.models import Sheet
from tests.browser.visitor import DESK, PHONE
from tests.factories import make_decals, make_project

pytestmark = pytest.mark.browser


def queue_and_lay_out(visitor, project, button):
    visitor.go(project.get_absolute_url())
    visitor.press("Queue for the next sheet")
    visitor.go("/sheets/next/")
    visitor.page.get_by_text("Look for a better layout", exact=True).wait_for(state="detached")
    visitor.press(button)


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
