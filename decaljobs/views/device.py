"""What one device, not one person, is set to: kept in a cookie, so that the page comes right."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest, HttpResponse

KEPT_FOR = 400 * 24 * 60 * 60  # seconds; browsers keep no cookie longer (RFC 6265bis)


def keep_on_device(response: HttpResponse, name: str, value: str) -> HttpResponse:
    """Let the device remember a choice."""
    response.set_cookie(
        name,
        value,
        max_age=KEPT_FOR,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )
    return response


def has_single_keys(request: HttpRequest) -> bool:
    """Whether single keys are shortcuts on this device."""
    return request.COOKIES.get("single_keys") != "off"
