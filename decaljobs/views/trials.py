"""Colour trials: rounds of patches, the maker's answers, and the recipes they end in."""

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from decaljobs.craft.paper.roundpaper import RoundPaper
from decaljobs.forms.lists import TrialsForm
from decaljobs.forms.paper import PaperForm
from decaljobs.forms.trials import EyeForm, LikeForm, PhotoForm, SettingsForm, TrialForm
from decaljobs.models import Trial, TrialRound
from decaljobs.pdf.roundsheet import round_sheet_pdf
from decaljobs.services.refused import Refused
from decaljobs.services.trials import trials
from decaljobs.services.trials.rounds import sheet_for, start_like
from decaljobs.services.words import say_moment
from decaljobs.views.access import makers_only
from decaljobs.views.once import once
from decaljobs.views.pages import draw, page_of, pdf_answer, say_refused
from decaljobs.views.site import outside_address
from decaljobs.views.trial_page import trial_context

MOST_EARLIER = 12  # trials offered to start a new one from


@require_GET
def trial_list(request: HttpRequest) -> HttpResponse:
    """All trials with their recipes, newest first."""
    form = TrialsForm(request.GET)
    rows = form.rows(Trial.objects.with_counts())
    context = {"form": form, "rows": page_of(rows, request.GET)}
    return draw(request, "trials", context)


@makers_only
@require_http_methods(["GET", "POST"])
@once
def trial_new(request: HttpRequest) -> HttpResponse:
    """Begin a trial towards one paint."""
    like = LikeForm(request.GET).trial
    initial = start_like(like) if like else None
    form = TrialForm(request.POST or None, request.FILES or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        made = trials.begin_trial(
            paint=form.cleaned_data["paint"],
            start=form.cleaned_data["start"],
            settings=form.settings,
            by=request.user,
            moment=timezone.now(),
        )
        messages.success(request, f"{made}: print round 1.")
        return redirect(made)
    earlier = Trial.objects.with_counts()[:MOST_EARLIER]
    return draw(request, "trial_form", {"form": form, "like": like, "earlier": earlier})


@require_GET
def trial(request: HttpRequest, pk: int) -> HttpResponse:
    """One trial: its rounds, its answers, where it stands, its recipe."""
    return _draw_trial(request, pk)


@require_GET
def round_sheet(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """The sheet of one round as PDF."""
    kept = _get_round(pk, number)
    address = outside_address(request, reverse("trial", args=[pk]))
    paper = RoundPaper(
        sheet=sheet_for(kept),
        name=kept.trial.paint,
        settings=kept.settings_words,
        address=address,
        printed_at=say_moment(timezone.now(), now=timezone.now(), near=False),
    )
    size = PaperForm(request.GET).paper
    return pdf_answer(round_sheet_pdf(paper, paper=size), f"trial-{pk}-round-{number}.pdf")


@makers_only
@require_POST
def pick(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Keep the maker's best three patches of a round."""
    form = EyeForm(request.POST)
    if form.is_valid():
        try:
            trials.answer_by_eye(
                trial=pk,
                number=number,
                picks=form.picks,
                off=form.cleaned_data["off"],
                by=request.user,
                moment=timezone.now(),
            )
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"Round {number} is answered by eye.")
            return redirect("trial", pk)
    return _draw_trial(request, pk, eye_form=form)


@makers_only
@require_POST
@once
def photo(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Read a photo of a round's sheet."""
    form = PhotoForm(request.POST, request.FILES)
    if form.is_valid():
        try:
            trials.answer_by_photo(
                trial=pk,
                number=number,
                data=form.cleaned_data["photo"],
                by=request.user,
                moment=timezone.now(),
            )
        except Refused as refusal:
            form.add_error("photo", str(refusal))
        else:
            messages.success(request, f"Round {number} is read from the photo.")
            return redirect("trial", pk)
    return _draw_trial(request, pk, photo_form=form)


@require_GET
def refused_photo(request: HttpRequest, pk: int, number: int) -> FileResponse:
    """The picture of what was found on a photo that gave no answer."""
    kept = _get_round(pk, number)
    if not kept.refused:
        raise Http404("No photo was refused.")
    return FileResponse(kept.refused.open("rb"))


@makers_only
@require_POST
def next_round(request: HttpRequest, pk: int) -> HttpResponse:
    """Make the next round, with the settings it is printed with."""
    form = SettingsForm(request.POST)
    if form.is_valid():
        try:
            made = trials.print_next(trial=pk, settings=form.settings, moment=timezone.now())
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"Round {made.number} is ready to be printed.")
            return redirect("trial", pk)
    return _draw_trial(request, pk, settings_form=form)


@makers_only
@require_POST
def take_back(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Open the last round again, to be judged anew."""
    try:
        trials.take_back_answer(trial=pk, number=number)
    except Refused as refusal:
        say_refused(request, refusal)
    return redirect("trial", pk)


@makers_only
@require_POST
def keep(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep the trial's colour on film as the paint's recipe."""
    try:
        recipe = trials.keep_recipe(trial=pk, by=request.user, moment=timezone.now())
    except Refused as refusal:
        say_refused(request, refusal)
    else:
        messages.success(request, f"Kept: {recipe}.")
    return redirect("trial", pk)


def _get_round(pk: int, number: int) -> TrialRound:
    """A round with its trial."""
    rounds = get_object_or_404(Trial, pk=pk).rounds
    return get_object_or_404(rounds.select_related("trial"), number=number)


def _draw_trial(
    request: HttpRequest,
    pk: int,
    *,
    eye_form: EyeForm | None = None,
    photo_form: PhotoForm | None = None,
    settings_form: SettingsForm | None = None,
) -> HttpResponse:
    found = get_object_or_404(Trial.objects.select_related("recipe", "by"), pk=pk)
    context = trial_context(found, eye_form, photo_form, settings_form)
    return draw(request, "trial", context)
