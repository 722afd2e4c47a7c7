"""Pieces on their sheets: spoiled before they were laid, or taken off before printing."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from decaljobs.forms.decals import SpoilPieceForm, TakePieceForm
from decaljobs.models import Decal, Piece
from decaljobs.services.bench import spoiling
from decaljobs.services.film import lending, sheets
from decaljobs.services.refused import Refused
from decaljobs.views.access import makers_only
from decaljobs.views.decal_page import draw_decal
from decaljobs.views.just_logged import remember
from decaljobs.views.once import once
from decaljobs.views.pages import back_to, draw, say_refused


@require_GET
def piece(request: HttpRequest, pk: int) -> HttpResponse:
    """One piece, as tapped on the picture of its sheet."""
    found = _get_piece(pk)
    return draw(request, "piece", {"piece": found, "form": SpoilPieceForm(piece=pk)})


@makers_only
@require_POST
@once
def spoil(request: HttpRequest, pk: int) -> HttpResponse:
    """Log that a piece was spoiled before it was laid."""
    found = _get_piece(pk)
    form = SpoilPieceForm(request.POST, piece=pk)
    if form.is_valid():
        try:
            spoiling.spoil_piece(
                piece=pk,
                by=request.user,
                moment=timezone.now(),
                reason=form.cleaned_data["reason"],
                cause=form.cleaned_data["cause"],
            )
        except Refused as refusal:
            say_refused(request, refusal)
        else:
            messages.success(request, f"Piece spoiled: {found}, {found.decal.words}.")
        return redirect(back_to(request) or found.decal)
    return draw_decal(request, found.decal_id, status=422, piece_forms={pk: form})


@makers_only
@require_POST
def take_off(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a piece off a sheet that is not printed yet."""
    found = _get_piece(pk)
    try:
        sheets.take_off_sheet(piece=pk)
    except Refused as refusal:
        say_refused(request, refusal)
    else:
        messages.success(request, f"Taken off: {found}, {found.decal.words}.")
    return redirect(back_to(request) or found.decal)


@makers_only
@require_POST
@once
def take(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a good piece that a twin has to spare."""
    found, form = get_object_or_404(Decal, pk=pk), TakePieceForm(request.POST)
    try:
        if not form.is_valid():
            raise Refused("This button is not known: open the page anew.")
        twin, layer = form.wanted
        event = lending.take_piece(
            decal=pk,
            twin=twin,
            layer=layer,
            by=request.user,
            moment=timezone.now(),
            seen=form.cleaned_data["seen"],
        )
    except Refused as refusal:
        say_refused(request, refusal)
    else:
        remember(request, [event])
    return redirect(back_to(request) or found)


def _get_piece(pk: int) -> Piece:
    return get_object_or_404(
        Piece.objects.select_related("sheet", "decal__project", "decal__artwork"), pk=pk
    )
