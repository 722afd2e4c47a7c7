"""Who may do what: signed-in people read, makers change, the owner rules."""

from collections.abc import Callable
from functools import wraps

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse

View = Callable[..., HttpResponse]


def refuse_onlookers(request: HttpRequest) -> None:
    """403 for whoever may only read."""
    if not request.user.may_change:
        raise PermissionDenied("Onlookers may look at everything but change nothing.")


def makers_only(view: View) -> View:
    """Onlookers may only read: they are told so (403)."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        refuse_onlookers(request)
        return view(request, *args, **kwargs)

    return guarded


def owners_only(view: View) -> View:
    """Only the owner comes in here (403 for everybody else)."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        if not request.user.is_owner:
            raise PermissionDenied("Only the owner of the workshop may do this.")
        return view(request, *args, **kwargs)

    return guarded
