"""The Drying page: the wait rules and their figures."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from decaljobs.forms.rules import WaitRuleForm
from decaljobs.models import WaitRule
from decaljobs.services.rule_changes import change_rule
from decaljobs.views.access import owners_only
from decaljobs.views.pages import draw


@require_GET
def rule_list(request: HttpRequest) -> HttpResponse:
    """All waits with their hours, clocks and sources."""
    return draw(request, "drying", {"rules": WaitRule.objects.all()})


@owners_only
@require_http_methods(["GET", "POST"])
def rule_change(request: HttpRequest, kind: str) -> HttpResponse:
    """Change the figures of one wait; waits that run already keep theirs."""
    rule = get_object_or_404(WaitRule, kind=kind)
    form = WaitRuleForm(request.POST or None, instance=rule)
    if request.method == "POST" and form.is_valid():
        change_rule(rule=form.instance, follow=False, by=request.user, moment=timezone.now())
        messages.success(request, f"“{rule}” is changed. Waits that run keep their old figures.")
        return redirect("drying")
    return draw(request, "rule", {"form": form, "rule": rule})
