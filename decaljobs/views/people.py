"""The people page: who works here, in which role, and how they come in."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from decaljobs.forms.lists import PeopleForm
from decaljobs.forms.people import ChangePersonForm, NewPersonForm
from decaljobs.models import Person
from decaljobs.services.people import people
from decaljobs.services.refused import Refused
from decaljobs.views.access import owners_only
from decaljobs.views.devices import stay_signed_in
from decaljobs.views.pages import draw, page_of, say_refused
from decaljobs.views.site import outside_address


@require_GET
def people_list(request: HttpRequest) -> HttpResponse:
    """Everybody who may sign in, or who once did."""
    form = PeopleForm(request.GET)
    rows = page_of(form.rows(Person.objects.all()), request.GET)
    return draw(request, "people", {"form": form, "rows": rows})


@owners_only
@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
def person_new(request: HttpRequest) -> HttpResponse:
    """Add somebody to the workshop."""
    form = NewPersonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        person = people.add_person(**form.cleaned_data)
        messages.success(request, f"{person} may come in.")
        return redirect("person", person.pk)
    return draw(request, "person", {"form": form, "person": None})


@owners_only
@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
def person_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change somebody's role, way in or password."""
    person = get_object_or_404(Person, pk=pk)
    start = {"role": person.role, "is_active": person.is_active}
    form = ChangePersonForm(request.POST or None, initial=start)
    if request.method == "POST" and form.is_valid():
        try:
            people.change_person(
                person=person, staying=request.session.session_key or "", **form.cleaned_data
            )
        except Refused as refusal:
            form.add_error("role", str(refusal))
        else:
            stay_signed_in(request, person)
            messages.success(request, f"{person} is changed.")
            return redirect("people")
    return draw(request, "person", {"form": form, "person": person})


@owners_only
@require_POST
def person_link(request: HttpRequest, pk: int) -> HttpResponse:
    """Make a one-time link that signs this person in, to be handed over."""
    person = get_object_or_404(Person, pk=pk, is_active=True)
    try:
        path = people.make_enter_link(person=person, moment=timezone.now())
    except Refused as refusal:
        say_refused(request, refusal)
        return redirect("person", pk)
    link = outside_address(request, path)
    return draw(request, "person", {"form": None, "person": person, "link": link})
