"""What all screens share: drawing a page or its fragment, pages of a list, refusals, files."""

import tempfile
from collections.abc import Callable, Mapping
from typing import IO, Any

from django.contrib import messages
from django.core.paginator import Page, Paginator
from django.forms import BaseForm
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import patch_vary_headers
from django.utils.http import content_disposition_header, url_has_allowed_host_and_scheme

from decaljobs.services.refused import Refused

ROWS_A_PAGE = 50
#: 204: a script is told where to go.
LEADS_ON = (204, 302, 303)
KEPT_IN_MEMORY = 4 * 1024 * 1024  # bytes of a file given out; a larger one goes by the disk


def draw(
    request: HttpRequest,
    screen: str,
    context: dict[str, Any],
    *,
    fragment: str = "_fragment",
    status: int | None = None,
) -> HttpResponse:
    """The screen's page, or only its fragment when htmx asks for that.

    status: if not given, 422 for a sent form with something wrong in it, else 200.
    """
    wants_fragment = request.htmx and not request.htmx.history_restore_request
    name = f"{screen}/{fragment if wants_fragment else 'page'}.html"
    response = render(request, name, context, status=status or _status(request, context))
    patch_vary_headers(response, ["HX-Request"])
    return response


def _status(request: HttpRequest, context: dict[str, Any]) -> int:
    forms = (thing for thing in context.values() if isinstance(thing, BaseForm))
    return 422 if request.method == "POST" and any(form.errors for form in forms) else 200


def page_of(rows: Any, asked: Mapping[str, str], name: str = "page") -> Page:
    """The page of fifty rows that an address asks for; the nearest one when that is none."""
    return Paginator(rows, ROWS_A_PAGE).get_page(asked.get(name))


def say_refused(request: HttpRequest, refusal: Refused | str) -> None:
    """Show a refusal at the top of the next page; what was asked for counts as not done."""
    messages.error(request, str(refusal))
    request.was_refused = True


def was_taken(request: HttpRequest, response: HttpResponse) -> bool:
    """Whether a form was taken: it leads on, and nothing was refused on the way."""
    return response.status_code in LEADS_ON and not getattr(request, "was_refused", False)


def file_answer(write: Callable[[IO[bytes]], None], name: str) -> FileResponse:
    """A file that the browser saves, as it is written by a service."""
    # The answer closes it once it is sent.
    file = tempfile.SpooledTemporaryFile(max_size=KEPT_IN_MEMORY)  # noqa: SIM115
    write(file)
    file.seek(0)
    return FileResponse(file, as_attachment=True, filename=name)


def pdf_answer(pdf: bytes, name: str) -> HttpResponse:
    """A PDF that the browser shows and saves under the given name."""
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = content_disposition_header(False, name)
    return response


def back_to(request: HttpRequest) -> str:
    """The page of ours that a form or its address asks to be led back to; '' when none does."""
    wanted = request.POST.get("next") or request.GET.get("next", "")
    ours = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    # A word without a slash would be taken for the name of a view.
    return wanted if ours and wanted.startswith("/") else ""
