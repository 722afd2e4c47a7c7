"""The door: one-time links, signing in and out, and the health page."""

from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from decaljobs.forms.people import FirstOwnerForm, SignInForm
from decaljobs.models import EnterLink, Person
from decaljobs.services.people import people
from decaljobs.services.refused import Refused

MODEL_BACKEND = "django.contrib.auth.backends.ModelBackend"

sign_in = require_http_methods(["GET", "HEAD", "POST"])(
    LoginView.as_view(
        template_name="people/sign_in.html",
        authentication_form=SignInForm,
        redirect_authenticated_user=True,
    )
)
sign_out = LogoutView.as_view()


@login_not_required
@never_cache
@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
def enter(request: HttpRequest, secret: str) -> HttpResponse:
    """A one-time link: signs its person in, or makes the first person the owner."""
    link = people.find_link(secret=secret, moment=timezone.now())
    if link is None:
        return render(request, "people/link_over.html", status=410)
    if link.person is None:
        return _first_owner(request, link)
    try:
        person = people.use_link(link=link, moment=timezone.now())
    except Refused:
        return render(request, "people/link_over.html", status=410)
    return _come_in(request, person)


def _first_owner(request: HttpRequest, link: EnterLink) -> HttpResponse:
    form = FirstOwnerForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            owner = people.make_first_owner(link=link, moment=timezone.now(), **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            return _come_in(request, owner)
    return render(request, "people/first_owner.html", {"form": form})


def _come_in(request: HttpRequest, person: Person) -> HttpResponse:
    login(request, person, backend=MODEL_BACKEND)
    return redirect("bench")
