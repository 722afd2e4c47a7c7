"""Letting people in: the first owner, one-time links, makers and onlookers."""

from __future__ import annotations

import hashlib
import secrets
from datetime import datetime, timedelta

from django.db import transaction

from decaljobs.models import EnterLink, Person, Role
from decaljobs.services.people.devices import sign_out_all
from decaljobs.services.refused import Refused

LINK_LASTS = timedelta(hours=12)


@transaction.atomic
def make_enter_link(
    *, person: Person | None, moment: datetime, lasts: timedelta = LINK_LASTS
) -> str:
    """The path of a new one-time link; for nobody yet, it makes the first owner.

    Earlier unused links for the same person stop working.
    """
    secret = secrets.token_urlsafe(24)
    EnterLink.objects.filter(person=person, used_at=None).delete()
    EnterLink.objects.create(
        digest=_digest(secret), person=person, made_at=moment, ends_at=moment + lasts
    )
    return f"/enter/{secret}/"


def find_link(*, secret: str, moment: datetime) -> EnterLink | None:
    """The link with this secret, if it still lets somebody in."""
    return (
        EnterLink.objects.select_related("person")
        .filter(digest=_digest(secret), used_at=None, ends_at__gt=moment)
        .first()
    )


@transaction.atomic
def use_link(*, link: EnterLink, moment: datetime) -> Person:
    """Use a link up and say whom it lets in. Raises Refused if it was used meanwhile."""
    used = EnterLink.objects.filter(pk=link.pk, used_at=None).update(used_at=moment)
    if not used or link.person is None or not link.person.is_active:
        raise Refused("This link has been used or has run out.")
    return link.person


@transaction.atomic
def make_first_owner(*, link: EnterLink, name: str, password: str, moment: datetime) -> Person:
    """The first person becomes the owner. Raises Refused if there is an owner already."""
    # Marking it first makes a second one who holds the same link wait, and then refuses them.
    first = EnterLink.objects.filter(pk=link.pk, used_at=None).update(used_at=moment)
    if not first or Person.objects.filter(role=Role.OWNER).exists():
        raise Refused("This workshop has an owner already: ask them for a way in.")
    owner = add_person(name=name, role=Role.OWNER, password=password)
    EnterLink.objects.filter(pk=link.pk).update(person=owner)
    return owner


@transaction.atomic
def add_person(*, name: str, role: str, password: str = "") -> Person:
    """A new person; without a password they come in by one-time links only."""
    person = Person(username=name, role=role)
    if password:
        person.set_password(password)
    else:
        person.set_unusable_password()
    person.save()
    return person


@transaction.atomic
def change_person(
    *, person: Person, role: str, is_active: bool, password: str = "", staying: str = ""
) -> Person:
    """Change a person's role, way in, or password. Raises Refused for the last owner.

    With a new password, or none to come in by any more, all their devices are signed out but
    for the session that stays.
    """
    # Of two owners who stand down at the same moment the second is refused.
    owners = Person.objects.owners().select_for_update()
    others = {owner.pk for owner in owners} - {person.pk}
    if not (role == Role.OWNER and is_active) and person.is_owner and not others:
        raise Refused("This is the only owner: make somebody else an owner first.")
    person.role, person.is_active = role, is_active
    if password:
        person.set_password(password)
    person.save(update_fields=["role", "is_active", "password"])
    if password or not is_active:
        sign_out_all(person=person, staying=staying if is_active else "")
    return person


@transaction.atomic
def set_password(*, person: Person, password: str, staying: str) -> None:
    """Set a person's own password; their devices are signed out but for the one that stays."""
    person.set_password(password)
    person.save(update_fields=["password"])
    sign_out_all(person=person, staying=staying)


@transaction.atomic
def set_ways(*, person: Person, length_unit: str, clock: str, date_order: str, zone: str) -> None:
    """Keep how a person reads lengths and times."""
    person.length_unit, person.clock = length_unit, clock
    person.date_order, person.zone = date_order, zone
    person.save(update_fields=["length_unit", "clock", "date_order", "zone"])


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
