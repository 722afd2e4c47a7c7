"""Who did what, as the owner looks through it."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_GET

from decaljobs.forms.search import SearchForm
from decaljobs.models import Deed
from decaljobs.views.access import owners_only
from decaljobs.views.pages import draw, page_of


@owners_only
@require_GET
def deed_list(request: HttpRequest) -> HttpResponse:
    """Every change of the last year, the newest first."""
    form = SearchForm(request.GET)
    rows = page_of(Deed.objects.newest(form.words), request.GET)
    return draw(request, "deeds", {"form": form, "rows": rows, "moment": timezone.now()})
