"""The lines of a table of projects or decals, each checked by itself and against the others."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import Any

from decaljobs.craft.tables import Line, Table
from decaljobs.craft.units import format_scale
from decaljobs.forms.taking_in import DecalLineForm, ProjectLineForm, problems_of
from decaljobs.models import Artwork, Decal, Project


@dataclass
class ReadLine:
    """A line as it was understood: what it would make, or what is wrong with it."""

    number: int
    words: str
    problems: list[str] = field(default_factory=list)
    fields: dict[str, Any] = field(default_factory=dict)
    makes: int = 1

    @property
    def is_good(self) -> bool:
        return not self.problems


def read_projects(table: Table) -> list[ReadLine]:
    """Every line of a table of projects (one query)."""
    codes = {line.cells.get("code", "").upper() for line in table.lines} - {""}
    taken = set(Project.objects.filter(code__in=codes).values_list("code", flat=True))
    found, first = [], dict[str, int]()
    for line in table.lines:
        read = _bad(line) if line.problem else _project(line, taken)
        code = read.fields.get("code", "")
        if code and code in first:
            read.problems.append(f"code: line {first[code]} has it already")
        first.setdefault(code, line.number)
        found.append(read)
    return found


def read_decals(table: Table) -> list[ReadLine]:
    """Every line of a table of decals (three queries)."""
    codes = {line.cells.get("project", "").upper() for line in table.lines}
    projects = {p.code: p for p in Project.objects.at_work().filter(code__in=codes)}
    art = defaultdict(list)
    for drawing in Artwork.objects.only("name", "version"):
        art[str(drawing).casefold()].append(drawing)
    rows = Decal.objects.filter(project__in=projects.values()).order_by().distinct()
    there = dict.fromkeys(rows.values_list("project", "place"), 0)
    found = []
    for line in table.lines:
        read = _bad(line) if line.problem else _decal(line, projects, art)
        if read.is_good:
            _check_place(read, there)
        found.append(read)
    return found


def _bad(line: Line) -> ReadLine:
    return ReadLine(line.number, "", [line.problem])


def _project(line: Line, taken: set[str]) -> ReadLine:
    form = ProjectLineForm(line, taken)
    named = line.cells.get("name", "")
    if not form.is_valid():
        return ReadLine(line.number, named, problems_of(form))
    fields = form.fields_for_project
    words = f"{fields['code']} {named}".strip()
    return ReadLine(line.number, f"{words}, {format_scale(fields['scale_ratio'])}", fields=fields)


def _decal(line: Line, projects: dict[str, Project], art: dict[str, list[Artwork]]) -> ReadLine:
    form = DecalLineForm(line, projects, art)
    words = f"{line.cells.get('project', '')} {line.cells.get('place', '')}".strip()
    if not form.is_valid():
        return ReadLine(line.number, words, problems_of(form))
    fields = dict(form.cleaned_data)
    fields["count"] = 0 if form.is_counted_already else fields["count"] or 1
    fields.pop("number")
    many = f", {fields['count']} of them" if fields["count"] > 1 else ""
    words = f"{words}: {fields['artwork']}, {fields['build'].words}{many}"
    return ReadLine(line.number, words, fields=fields, makes=fields["count"])


def _check_place(read: ReadLine, there: dict[tuple[int, str], int]) -> None:
    """A place is taken once; 'number 2 of 4' belongs to the line of number 1."""
    key = (read.fields["project"].pk, read.fields["place"])
    before = there.get(key)
    if read.makes == 0:
        if not before:
            read.problems.append("number: the line of number 1 must stand before it")
        else:
            read.words = f"{key[1]}: counted with line {before}"
    elif before is not None:
        where = f"line {before} has it already" if before else "there is a decal for it already"
        read.problems.append(f"place: {where}")
    else:
        there[key] = read.number
