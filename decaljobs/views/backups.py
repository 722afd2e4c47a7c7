"""The owner's backups: made, fetched, brought along and restored."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth import login
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from decaljobs.forms.backups import BringBackupForm, RestoreForm
from decaljobs.models import Person
from decaljobs.services.refused import Refused
from decaljobs.services.safekeeping import restoring
from decaljobs.services.safekeeping.backup_file import read_contents
from decaljobs.services.safekeeping.backups import (
    KEPT,
    Kept,
    Occasion,
    all_kept,
    find_kept,
    keep_brought,
    take_into_folder,
)
from decaljobs.services.words import say_moment
from decaljobs.views.access import owners_only
from decaljobs.views.entering import MODEL_BACKEND
from decaljobs.views.pages import draw, say_refused


@owners_only
@require_GET
def backup_list(request: HttpRequest) -> HttpResponse:
    """Every backup beside the records, and a way to bring one along."""
    return _page(request, BringBackupForm())


def _page(request: HttpRequest, form: BringBackupForm) -> HttpResponse:
    context = {"rows": all_kept(), "form": form, "days": KEPT, "moment": timezone.now()}
    return draw(request, "backups", context)


@owners_only
@require_POST
def make(request: HttpRequest) -> HttpResponse:
    """A backup of all records and pictures as they are now."""
    try:
        kept = take_into_folder(Occasion.BY_HAND, moment=timezone.now())
    except Refused as refusal:
        say_refused(request, refusal)
    else:
        messages.success(request, f"{kept.name} is made. Keep a copy on another disk.")
    return redirect("backups")


@owners_only
@require_POST
def bring(request: HttpRequest) -> HttpResponse:
    """A backup from elsewhere joins the others; it is restored by a further press."""
    form = BringBackupForm(request.POST, request.FILES)
    if form.is_valid():
        try:
            kept = keep_brought(form.cleaned_data["file"].chunks(), moment=timezone.now())
        except Refused as refusal:
            form.add_error("file", str(refusal))
        else:
            return redirect("backup-restore", kept.name)
    return _page(request, form)


@owners_only
@require_GET
def file(request: HttpRequest, name: str) -> FileResponse:
    """The backup itself, to be kept elsewhere."""
    kept = _kept_or_404(name)
    return FileResponse(kept.path.open("rb"), as_attachment=True, filename=f"decaljobs-{name}")


@owners_only
@require_http_methods(["GET", "POST"])
def restore(request: HttpRequest, name: str) -> HttpResponse:
    """What restoring this backup means, and the button that does it."""
    kept = _kept_or_404(name)
    form = RestoreForm(request.POST if request.method == "POST" else None)
    try:
        if form.is_valid():
            return _restored(request, kept)
        contents = read_contents(kept.path)
    except Refused as refusal:
        say_refused(request, refusal)
        return redirect("backups")
    context = {"kept": kept, "contents": contents, "form": form, "moment": timezone.now()}
    return draw(request, "backup_restore", context)


def _restored(request: HttpRequest, kept: Kept) -> HttpResponse:
    name = request.user.get_username()
    contents, old = restoring.restore(kept.path, moment=timezone.now())
    request.session.flush()
    owner = Person.objects.owners().filter(username=name).first()
    if owner is None:
        return redirect("sign-in")
    login(request, owner, backend=MODEL_BACKEND)
    made = say_moment(contents.made_at, now=timezone.now())
    messages.success(
        request, f"This is the workshop of {made}. What was here before is kept as {old.name}."
    )
    return redirect("backups")


def _kept_or_404(name: str) -> Kept:
    kept = find_kept(name)
    if kept is None:
        raise Http404("There is no backup of this name.")
    return kept
