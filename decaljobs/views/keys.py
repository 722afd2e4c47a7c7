"""The page of keys, and whether single keys are shortcuts on this device."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from decaljobs.forms.looks import KeysForm
from decaljobs.views.device import has_single_keys, keep_on_device
from decaljobs.views.pages import draw


@require_http_methods(["GET", "POST"])
def keys(request: HttpRequest) -> HttpResponse:
    """What the keys do; WCAG 2.1.4 wants single ones to be switched off at will."""
    if request.method == "POST":
        chosen = KeysForm(request.POST).chosen
        messages.success(request, f"The keys / and ? are {chosen} on this device.")
        return keep_on_device(redirect("keys"), "single_keys", chosen)
    return draw(request, "keys", {"single_keys": has_single_keys(request)})
