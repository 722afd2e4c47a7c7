"""The wait rules: their figures, what a change means for waits that run, what fingers taught."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from decaljobs.craft.figures import counted
from decaljobs.forms.rules import FollowForm, ProposedForm, WaitRuleForm
from decaljobs.models import WaitRule
from decaljobs.services.bench.touch import proposal_for
from decaljobs.services.drying.rule_changes import change_rule, effects
from decaljobs.views.access import owners_only
from decaljobs.views.pages import draw

MOST_SHOWN = 50


@owners_only
@require_http_methods(["GET", "POST"])
def rule_change(request: HttpRequest, kind: str) -> HttpResponse:
    """Change the figures of one wait; where waits run, show what it means for them first."""
    rule = get_object_or_404(WaitRule, kind=kind)
    proposal = proposal_for(rule)
    if request.method == "GET":
        proposed = ProposedForm(request.GET)
        form = WaitRuleForm(instance=rule, initial=proposed.initial_hours)
        return draw(request, "rule", {"form": form, "rule": rule, "proposal": proposal})
    form = WaitRuleForm(request.POST, instance=rule)
    if not form.is_valid():
        context = {"form": form, "rule": rule, "proposal": proposal}
        return draw(request, "rule", context)
    follow = FollowForm(request.POST)
    moment = timezone.now()
    if not follow.is_answered:
        moved = [effect for effect in effects(rule=rule, moment=moment) if effect.is_changed]
        if moved:
            shown = {"effects": moved[:MOST_SHOWN], "more": max(len(moved) - MOST_SHOWN, 0)}
            return draw(request, "rule", {"form": form, "rule": rule, "moment": moment, **shown})
    followed = change_rule(rule=form.instance, follow=follow.is_yes, by=request.user, moment=moment)
    messages.success(request, f"‘{rule}’ is changed. {_said(followed)}")
    return redirect("drying")


def _said(followed: int) -> str:
    if not followed:
        return "Waits that run keep their old figures."
    return f"{counted(followed, 'running wait follows', 'running waits follow')} it."
