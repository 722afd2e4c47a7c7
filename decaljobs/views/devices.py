"""Devices: what somebody is signed in with, and a way in for one more."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth import logout, update_session_auth_hash
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from decaljobs.models import Device, Person
from decaljobs.pdf.qr import qr_svg
from decaljobs.services.people import devices
from decaljobs.services.people.people import make_enter_link
from decaljobs.views.pages import draw, page_of
from decaljobs.views.site import is_reachable, outside_address


@require_GET
def device_list(request: HttpRequest) -> HttpResponse:
    """The devices one is signed in with; for the owner those of everybody."""
    moment = timezone.now()
    rows = Device.objects.let_in(request.user, moment)
    if request.user.is_owner:
        rows = Device.objects.let_in_anybody(moment)
    context = {
        "rows": page_of(rows, request.GET),
        "moment": moment,
        "here": request.session.session_key,
        "reachable": is_reachable(request),
    }
    return draw(request, "devices", context)


@never_cache
@require_http_methods(["GET", "POST"])
def device_new(request: HttpRequest) -> HttpResponse:
    """A one-time link, as a QR code, that signs one more device in within ten minutes."""
    context = {"reachable": is_reachable(request)}
    if request.method == "POST":
        moment = timezone.now()
        path = make_enter_link(person=request.user, moment=moment, lasts=devices.LINK_LASTS)
        link = outside_address(request, path)
        drawn = qr_svg(link, "QR code of the link below")
        context |= {
            "link": link,
            "qr": mark_safe(drawn),  # noqa: S308 (drawn by ourselves)
            "ends_at": moment + devices.LINK_LASTS,
            "moment": moment,
        }
    return draw(request, "device_new", context)


@require_POST
def device_sign_out(request: HttpRequest, pk: int) -> HttpResponse:
    """Sign a device out; the one that asks is led to the door."""
    device = Device.objects.filter(pk=pk).first()
    if device is None:
        messages.info(request, "This device is signed out already.")
        return redirect("devices")
    if device.person_id != request.user.pk and not request.user.is_owner:
        raise PermissionDenied("Only its own person and the owner may sign a device out.")
    if device.session_id == request.session.session_key:
        logout(request)
        return redirect("sign-in")
    devices.sign_out_device(device=device)
    messages.success(request, f"{device.name} is signed out.")
    return redirect("devices")


def stay_signed_in(request: HttpRequest, person: Person) -> None:
    """Whoever has changed their own password stays signed in on this device."""
    if person.pk == request.user.pk and person.is_active:
        update_session_auth_hash(request, person)
