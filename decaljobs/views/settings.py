"""The settings: one page that leads to all that is set once, and one's own password."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods

from decaljobs.craft.cautions import Soak
from decaljobs.forms.people import OwnPasswordForm
from decaljobs.services.people import people
from decaljobs.views.devices import stay_signed_in
from decaljobs.views.pages import draw
from workshop import VERSION


@dataclass(frozen=True)
class Card:
    """One way on from the settings: where to, and what is set there."""

    name: str
    title: str
    text: str
    for_owner: bool = False

    @property
    def href(self) -> str:
        return reverse(self.name)


CARDS = (
    Card("people", "People", "Who works here, in which role, and how they come in."),
    Card("devices", "Devices", "Bring your phone in; see what you are signed in with."),
    Card("password", "My password", "Set or change the one you sign in with."),
    Card("plan-hours", "Bench hours", "When you have time at the bench, for the plan."),
    Card("drying", "Rooms and waits", "The rooms' air, and how long each layer must dry."),
    Card("printers", "Printers", "Is the printer true to size? Measure its cross."),
    Card("hand", "My hand", "How far your knife and your laying stray."),
    Card("bin", "Bin", "Projects that were thrown away."),
    Card("looks", "How it looks", "Light or dark; millimetres or inches, clock, dates and zone."),
    Card("keys", "Keys", "Every page without a mouse."),
    Card("backups", "Backups", "Make one, fetch it, go back to one.", for_owner=True),
    Card("deeds", "Who did what", "Every change of the last year.", for_owner=True),
)


@require_GET
def settings_page(request: HttpRequest) -> HttpResponse:
    """Everything that is set once and then left alone."""
    cards = [card for card in CARDS if request.user.is_owner or not card.for_owner]
    return draw(request, "settings", {"cards": cards, "soak": Soak(), "version": VERSION})


@sensitive_post_parameters("old", "password")
@require_http_methods(["GET", "POST"])
def password(request: HttpRequest) -> HttpResponse:
    """Set one's own password; this device stays signed in, the others do not."""
    form = OwnPasswordForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        people.set_password(
            person=request.user,
            password=form.cleaned_data["password"],
            staying=request.session.session_key or "",
        )
        stay_signed_in(request, request.user)
        messages.success(request, "Your password is set. Your other devices are signed out.")
        return redirect("settings")
    return draw(request, "password", {"form": form})
