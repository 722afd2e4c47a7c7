"""People let in: one link makes one owner, and what somebody else changed stays."""

import pytest

from decaljobs.models import EnterLink, Person, Role
from decaljobs.services.people import people
from decaljobs.services.refused import Refused
from tests.factories import EVENING, make_person

pytestmark = pytest.mark.django_db


def test_a_link_that_was_used_meanwhile_makes_no_owner():
    people.make_enter_link(person=None, moment=EVENING)
    link = EnterLink.objects.get()
    EnterLink.objects.update(used_at=EVENING)
    with pytest.raises(Refused, match="owner already"):
        people.make_first_owner(link=link, name="olle", password="long-enough-1", moment=EVENING)
    assert not Person.objects.exists()


def test_a_persons_own_settings_stay_when_the_owner_changes_their_role():
    seen = make_person(Role.MAKER, username="mara")
    Person.objects.filter(pk=seen.pk).update(knife_mm=0.4, clock="12")
    people.change_person(person=seen, role=Role.ONLOOKER, is_active=True)
    kept = Person.objects.get(pk=seen.pk)
    assert (kept.role, kept.knife_mm, kept.clock) == (Role.ONLOOKER, 0.4, "12")


def test_the_only_owner_stays_one():
    owner = make_person(Role.OWNER, username="olle")
    make_person(Role.OWNER, username="otto", is_active=False)
    with pytest.raises(Refused, match="only owner"):
        people.change_person(person=owner, role=Role.MAKER, is_active=True)
