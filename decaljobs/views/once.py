"""Forms that log or make something: sent twice, they are taken once and answered the same."""

from __future__ import annotations

import hashlib
import json
import re
import time
from collections.abc import Callable
from functools import wraps

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from decaljobs.models import KeptAnswer
from decaljobs.services.answers import answer_to, claim, keep_answer, let_go
from decaljobs.views.access import View
from decaljobs.views.pages import say_refused, was_taken

KEY = re.compile(r"[\w-]{16,40}", re.ASCII)
JUST_LOGGED = "just_logged"


#: How long the second of two waits for the first to answer, seconds.
PATIENCE = 20.0
LOOK_EVERY = 0.2
STILL_AT_IT = "The same form is still being saved: look again in a moment."


def once(view: View) -> View:
    """A form with a key that was taken already is answered as it was then; nothing is done again.

    Only what was taken is kept: a form that was refused may be sent again as it is.
    """
    return _guard(view, locked=lambda request: not request.FILES)


def once_over_pictures(view: View) -> View:
    """The same for work on pictures, which takes too long to keep everybody else waiting."""
    return _guard(view, locked=lambda request: False)


def _guard(view: View, *, locked: Callable[[HttpRequest], bool]) -> View:
    @wraps(view)
    def guarded(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        if not KEY.fullmatch(request.POST.get("key", "")):
            answer = view(request, *args, **kwargs)
        elif locked(request):
            answer = _taken_once(view, request, *args, **kwargs)
        else:
            answer = _claimed_once(view, request, *args, **kwargs)
        return _for_script(answer) if "X-Sent-By-Script" in request.headers else answer

    return guarded


@transaction.atomic
def _taken_once(view: View, request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
    kept, is_new = answer_to(**_asked(request))
    if not is_new:
        return _again(request, kept)
    answer = view(request, *args, **kwargs)
    if was_taken(request, answer):
        _keep(request, kept, answer)
    else:
        transaction.set_rollback(True)
    return answer


def _claimed_once(
    view: View, request: HttpRequest, *args: object, **kwargs: object
) -> HttpResponse:
    end = time.monotonic() + PATIENCE
    kept, ours = claim(**_asked(request))
    while not ours and not kept.leads_to and time.monotonic() < end:
        time.sleep(LOOK_EVERY)
        kept, ours = claim(**_asked(request))
    if not ours:
        return _again(request, kept)
    try:
        answer = view(request, *args, **kwargs)
    except BaseException:
        let_go(kept)
        raise
    if was_taken(request, answer):
        _keep(request, kept, answer)
    else:
        let_go(kept)
    return answer


def _asked(request: HttpRequest) -> dict[str, object]:
    return {
        "person": request.user,
        "key": request.POST["key"],
        "asked": _digest(request),
        "moment": timezone.now(),
    }


def _keep(request: HttpRequest, kept: KeptAnswer, answer: HttpResponse) -> None:
    keep_answer(
        answer=kept,
        leads_to=answer["Location"],
        said=_said(request),
        logged=request.session.get(JUST_LOGGED),
    )


def _again(request: HttpRequest, kept: KeptAnswer) -> HttpResponse:
    if not kept.leads_to:
        say_refused(request, STILL_AT_IT)
        return redirect("bench")
    for level, words in kept.said:
        messages.add_message(request, int(level), words)
    if kept.logged is not None:
        request.session[JUST_LOGGED] = kept.logged
    return redirect(kept.leads_to)


def _said(request: HttpRequest) -> list[list[str]]:
    """What the next page will say; reading it by the front door would count as said."""
    queued = messages.get_messages(request)._queued_messages
    return [[str(message.level), str(message.message)] for message in queued]


def _digest(request: HttpRequest) -> str:
    """What a form asks for. What its page had seen is left out: a list may refresh in between."""
    asked = [
        (name, values)
        for name, values in sorted(request.POST.lists())
        if name not in ("csrfmiddlewaretoken", "key") and not name.startswith("seen")
    ]
    files = [
        (name, file.name, file.size)
        for name, sent in sorted(request.FILES.lists())
        for file in sent
    ]
    text = json.dumps([request.get_full_path(), asked, files])
    return hashlib.sha256(text.encode()).hexdigest()


def _for_script(answer: HttpResponse) -> HttpResponse:
    """A script is told where to go; led there at once, it would use up what that page says."""
    if answer.status_code != 302:
        return answer
    told = HttpResponse(status=204, headers={"X-Leads-To": answer["Location"]})
    told.cookies = answer.cookies
    return told
