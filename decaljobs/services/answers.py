"""Answers kept for forms that are sent twice: the second is answered as the first was."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction

from decaljobs.models import KeptAnswer, Person

#: A telephone that was out of reach may send once more when it comes back; not after days.
KEPT_FOR = timedelta(days=2)
#: Whoever has not answered after this long was cut off.
CUT_OFF = timedelta(minutes=3)


def answer_to(*, person: Person, key: str, asked: str, moment: datetime) -> tuple[KeptAnswer, bool]:
    """The answer to a form, and whether it is still to be given.

    To be called in a transaction: whoever sends the same form meanwhile waits here until that
    transaction ends, and then finds the answer that it kept.
    """
    return KeptAnswer.objects.get_or_create(
        person=person, key=key, asked=asked, defaults={"at": moment}
    )


@transaction.atomic
def claim(*, person: Person, key: str, asked: str, moment: datetime) -> tuple[KeptAnswer, bool]:
    """The answer to a form, and whether it is now this caller's to give.

    Nothing stays locked: one that is being given by somebody else leads nowhere yet. Who claims
    an answer keeps it or lets it go.
    """
    kept, is_new = answer_to(person=person, key=key, asked=asked, moment=moment)
    if is_new or kept.leads_to or kept.at > moment - CUT_OFF:
        return kept, is_new
    # Of several that find it left behind one is first.
    taken_over = KeptAnswer.objects.filter(pk=kept.pk, at=kept.at, leads_to="").update(at=moment)
    return kept, taken_over == 1


def let_go(answer: KeptAnswer) -> None:
    """Nothing came of the form: it may be sent again as it is."""
    KeptAnswer.objects.filter(pk=answer.pk, leads_to="").delete()


def keep_answer(
    *, answer: KeptAnswer, leads_to: str, said: list[list[str]], logged: list[dict] | None
) -> None:
    """Keep what was answered: where it leads to, what was said, what was logged; sweep old ones."""
    answer.leads_to, answer.said, answer.logged = leads_to, said, logged
    answer.save(update_fields=["leads_to", "said", "logged"])
    KeptAnswer.objects.filter(at__lt=answer.at - KEPT_FOR).delete()
