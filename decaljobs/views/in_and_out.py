"""Work brought in from tables, and everything given out."""

from __future__ import annotations

from functools import partial
from typing import Any

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from decaljobs.craft.figures import counted
from decaljobs.craft.tables import Table, read_table
from decaljobs.craft.textfile import FileRefused, Text
from decaljobs.forms.lines import ReadLine, read_decals, read_projects
from decaljobs.forms.taking_in import MOST_LINES, TakeInForm
from decaljobs.services.projects import taking_in
from decaljobs.services.refused import Refused
from decaljobs.services.safekeeping import giving_out
from decaljobs.views.access import makers_only
from decaljobs.views.once import once
from decaljobs.views.pages import draw, file_answer

SHOWN = 60  # lines of a preview


@makers_only
@require_http_methods(["GET", "POST"])
@once
def in_and_out(request: HttpRequest) -> HttpResponse:
    """Bring projects or decals in: looked at first, saved when the maker says so."""
    form = TakeInForm(request.POST or None, request.FILES or None)
    context: dict[str, Any] = {"form": form, "left_out": giving_out.LEFT_OUT.values()}
    if request.method == "POST" and form.is_valid():
        try:
            text = Text(form.cleaned_data["text"])
            table = read_table(list(text.lines()), form.columns, form.needed, most=MOST_LINES)
            lines = _read(form, table)
            if form.wants_saving and (saved := _save(request, form, lines)):
                return saved
        except FileRefused as refusal:
            form.add_error("file", str(refusal))
        else:
            context |= _preview(form, table, lines)
    return draw(request, "in_and_out", context)


@makers_only
@require_GET
def as_zip(request: HttpRequest) -> FileResponse:
    """Everything as a zip of CSV files."""
    return file_answer(giving_out.write_zip, _name("zip"))


@makers_only
@require_GET
def as_json(request: HttpRequest) -> FileResponse:
    """Everything as one JSON file."""
    write = partial(giving_out.write_json, moment=timezone.now())
    return file_answer(write, _name("json"))


def _read(form: TakeInForm, table: Table) -> list[ReadLine]:
    projects = form.cleaned_data["kind"] == "projects"
    return read_projects(table) if projects else read_decals(table)


def _save(request: HttpRequest, form: TakeInForm, lines: list[ReadLine]) -> HttpResponse | None:
    """Save the good lines if none is bad, or if the maker has said to leave the bad ones out."""
    good = [line.fields for line in lines if line.is_good and line.makes]
    bad = sum(not line.is_good for line in lines)
    if not good or (bad and not form.leaves_bad_out):
        return None
    kind = form.cleaned_data["kind"]
    take_in = taking_in.take_in_projects if kind == "projects" else taking_in.take_in_decals
    try:
        made = take_in(lines=good, moment=timezone.now())
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return None
    left = f"; {counted(bad, 'line')} left out" if bad else ""
    messages.success(request, f"Brought in: {len(made)} {kind}{left}.")
    return redirect("projects")


def _preview(form: TakeInForm, table: Table, lines: list[ReadLine]) -> dict[str, Any]:
    """What the lines would make; the text they came from stands in the form again."""
    form.data = form.data.copy()
    form.data["text"] = form.cleaned_data["text"]
    bad = [line for line in lines if not line.is_good]
    good = [line for line in lines if line.is_good]
    return {
        "previewed": True,
        "bad": bad[:SHOWN],
        "bad_count": len(bad),
        "good": good[:SHOWN],
        "good_count": len(good),
        "makes": sum(line.makes for line in good),
        "kind": form.cleaned_data["kind"],
        "unknown": table.unknown,
    }


def _name(ending: str) -> str:
    return f"decaljobs-{timezone.localdate():%Y-%m-%d}.{ending}"
