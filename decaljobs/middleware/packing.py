"""Pages are packed for a slow line."""

from __future__ import annotations

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.middleware.gzip import GZipMiddleware


class PackedPages(GZipMiddleware):
    """Pages and drawings are packed; pictures and archives are packed already.

    Django's own middleware adds bytes by chance, against guessing a page by its size (BREACH).
    """

    def process_response(
        self, request: HttpRequest, response: HttpResponseBase
    ) -> HttpResponseBase:
        kind = response.headers.get("Content-Type", "")
        if not kind.startswith(("text/html", "image/svg+xml")):
            return response
        return super().process_response(request, response)
