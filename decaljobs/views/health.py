"""Whether the workshop is well, for whoever watches over it."""

from django.contrib.auth.decorators import login_not_required
from django.db import Error, connection
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.timesince import timesince
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from decaljobs.services.safekeeping import backups
from decaljobs.services.safekeeping.doctor import LITTLE_ROOM, free_bytes
from workshop.working import is_beating


@login_not_required
@require_GET
@never_cache
def health(request: HttpRequest) -> HttpResponse:
    """200 once pages can be served, 503 if records cannot be read or kept; no secrets."""
    answers = _database_answers()
    free = free_bytes()
    newest = next(iter(backups.all_kept()), None)
    age = timesince(newest.made_at, timezone.now(), depth=1) if newest else ""
    well = answers and free > LITTLE_ROOM
    lines = (
        "well" if well else "unwell",
        f"database: {'answers' if answers else 'does not answer'}",
        f"worker: {'is there' if is_beating() else 'not heard of'}",
        f"disk: {free // 1_000_000_000} GB free",
        f"last backup: {age + ' ago' if newest else 'none yet'}",
    )
    text = "\n".join(lines) + "\n"
    return HttpResponse(text, content_type="text/plain", status=200 if well else 503)


def _database_answers() -> bool:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except Error:
        return False
    return True
