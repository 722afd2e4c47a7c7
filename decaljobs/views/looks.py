"""How the pages look: light or dark on this device, units and clock for this person."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from decaljobs.forms.looks import LooksForm, ThemeForm
from decaljobs.services.people.people import set_ways
from decaljobs.views.device import keep_on_device
from decaljobs.views.pages import back_to, draw


@require_http_methods(["GET", "POST"])
def looks(request: HttpRequest) -> HttpResponse:
    """Units, clock, date order and zone, each person their own."""
    form = LooksForm(request.POST or None, instance=request.user)
    if request.method == "POST" and form.is_valid():
        set_ways(person=request.user, **form.cleaned_data)
        messages.success(request, "Lengths and times are written your way.")
        return redirect("looks")
    themes = ThemeForm().fields["theme"].choices
    context = {
        "form": form,
        "themes": themes,
        "theme": request.COOKIES.get("theme", ""),
        "zone": timezone.get_default_timezone_name(),
        "moment": timezone.now(),
    }
    return draw(request, "looks", context)


@require_POST
def theme(request: HttpRequest) -> HttpResponse:
    """Light, dark, or as the device says: kept by this device."""
    form = ThemeForm(request.POST)
    chosen = form.cleaned_data["theme"] if form.is_valid() else ""
    return keep_on_device(redirect(back_to(request) or "looks"), "theme", chosen)
