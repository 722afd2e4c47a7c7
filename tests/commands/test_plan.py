"""The plan in the terminal."""

import json
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from decaljobs.models import BenchPlan
from tests.factories import EVENING, make_project, sealed_decal

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("in_the_evening")]


def run(*options):
    out = StringIO()
    call_command("plan", "--seconds", "0", *options, stdout=out)
    return out.getvalue()


def test_it_tells_sessions_and_ends(maker):
    decal = sealed_decal(maker, project=make_project(name="Launch"))
    told = run()
    assert f"today 19:00, mara\n  19:00  {decal.project.code}  base layer: {decal.place}" in told
    assert f"  {decal.project.code}  Launch: Wed " in told
    assert "Objective in minutes: " in told
    assert not BenchPlan.objects.exists()


def test_it_tells_by_how_many_days_a_project_is_late(maker):
    """Base tonight, clear tomorrow evening, set by Wednesday morning: one day late, or two."""
    for number, days in enumerate([1, 0]):
        project = make_project(name=f"Model {number}", due=EVENING.date() + timedelta(days=days))
        sealed_decal(maker, project=project)
    late = [line.split(", ")[-1] for line in run().splitlines() if "  Model " in line]
    assert sorted(late) == ["1 day late", "2 days late"]


def test_it_gives_json_with_moments_in_utc(maker):
    sealed_decal(maker)
    told = json.loads(run("--json"))
    with_work = [session for session in told["sessions"] if session["tasks"]]
    assert with_work[0]["start"] == "2026-11-02T19:00:00+00:00"
    assert with_work[0]["tasks"][0]["doing"] == "base"
    assert told["ends"][0]["end"].endswith("+00:00")
    assert told["objective"] <= told["first_objective"]


def test_it_looks_as_many_weeks_ahead_as_asked(maker):
    """Five evenings and a Saturday morning a week."""
    for weeks in (1, 9):
        sessions = json.loads(run("--json", "--weeks", str(weeks)))["sessions"]
        assert len(sessions) == 6 * weeks


@pytest.mark.parametrize(
    "options",
    [("--weeks", "0"), ("--weeks", "53"), ("--weeks", "two"), ("--seconds", "-1")],
)
def test_it_refuses_what_makes_no_sense(options):
    with pytest.raises(CommandError, match="is not a number from"):
        call_command("plan", *options)
