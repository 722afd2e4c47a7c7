"""Codes count up, also for two who ask at the same moment."""

import pytest
from django.db import IntegrityError

from decaljobs.models import Project
from decaljobs.services import codes
from decaljobs.services.projects import projects
from tests.factories import EVENING, make_project

pytestmark = pytest.mark.django_db


def test_the_next_code_comes_after_the_highest():
    make_project(code="P-09")
    make_project(code="P-2")
    make_project(code="P-X")
    assert codes.next_codes(Project.objects.all(), "P", 2) == ["P-10", "P-11"]
    assert codes.next_codes(Project.objects.all(), "P", 1, besides=["P-30", "W-40"]) == ["P-31"]


def test_who_comes_second_gets_the_code_after(monkeypatch):
    taken = make_project().code
    found = codes.next_codes

    def asked_too_early(records, letter, count):
        monkeypatch.setattr(codes, "next_codes", found)
        return [taken]

    monkeypatch.setattr(codes, "next_codes", asked_too_early)
    made = projects.make_project(moment=EVENING, name="Tug", scale_ratio=76)
    assert (taken, made.code) == ("P-01", "P-02")


def test_what_else_is_wrong_is_not_tried_again():
    with pytest.raises(IntegrityError):
        projects.make_project(moment=EVENING, name="Tug", scale_ratio=0)
