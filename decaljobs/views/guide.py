"""The first evening's guide on the bench: five steps that tick themselves off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from decaljobs.forms.guide import GuideForm
from decaljobs.models import Person, Room
from decaljobs.services.people.first_evening import done_steps, show_guide
from decaljobs.views.access import makers_only
from decaljobs.views.pages import draw

WORDS = {
    "project": ("Begin a project", "The model on your bench: its scale and its body colour."),
    "artwork": ("Add artwork", "One marking as a picture, and how wide it is printed."),
    "sheet": ("Take a sheet of film", "Put decals on it, print it at 100 %, seal it coat by coat."),
    "layer": ("Log your first layer", "As soon as it lies on the model: its wait begins at once."),
    "room": ("Say how your room's air is", "°C and % RH decide how fast everything dries."),
}
ADDRESSES = {"project": "project-new", "artwork": "artwork-new", "sheet": "sheet-new"}


@dataclass(frozen=True)
class GuideStep:
    """One of the five steps: its name, what it is good for, where to, and whether it is done."""

    name: str
    why: str
    href: str
    done: bool


def guide_for(person: Person) -> list[GuideStep]:
    """The five steps for whoever has not put them away, until all are done (1 query, or 2)."""
    if person.guide_hidden or not person.may_change:
        return []
    done = done_steps(person)
    if all(done.values()):
        return []
    return [GuideStep(*WORDS[step], _address(step), ticked) for step, ticked in done.items()]


@makers_only
@require_http_methods(["GET", "POST"])
def guide(request: HttpRequest) -> HttpResponse:
    """The five steps on a page of their own or for the bench; put away, or brought back."""
    if request.method == "POST":
        return _put_away_or_back(request)
    return draw(request, "guide", guide_context(request.user))


def guide_context(person: Person) -> dict[str, Any]:
    """What the guide's template shows."""
    steps = guide_for(person)
    coming = next((step.name for step in steps if not step.done), "")
    return {"guide": steps, "guide_done": sum(step.done for step in steps), "guide_next": coming}


def _put_away_or_back(request: HttpRequest) -> HttpResponse:
    form = GuideForm(request.POST)
    shown = form.is_valid() and form.cleaned_data["shown"]
    show_guide(person=request.user, shown=shown)
    said = "The guide is back." if shown else "The guide is put away; the settings bring it back."
    messages.success(request, said)
    return redirect("bench")


def _address(step: str) -> str:
    if step == "room":
        room = Room.objects.own().first()
        return room.get_absolute_url() if room else reverse("room-new")
    return reverse(ADDRESSES.get(step, "sheets"))
