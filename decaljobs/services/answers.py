"""Answers kept for forms that are sent twice: the second is answered as the first was."""

from __future__ import annotations

from datetime import datetime, timedelta

from decaljobs.models import KeptAnswer, Person

#: A telephone that was out of reach may send once more when it comes back; not after days.
KEPT_FOR = timedelta(days=2)


def answer_to(*, person: Person, key: str, asked: str, moment: datetime) -> tuple[KeptAnswer, bool]:
    """The answer to a form, and whether it is still to be given.

    To be called in a transaction: whoever sends the same form meanwhile waits here until that
    transaction ends, and then finds the answer that it kept.
    """
    return KeptAnswer.objects.get_or_create(
        person=person, key=key, asked=asked, defaults={"at": moment}
    )


def keep_answer(
    *, answer: KeptAnswer, leads_to: str, said: list[list[str]], logged: list[dict] | None
) -> None:
    """Keep what was answered: where it leads to, what was said, what was logged; sweep old ones."""
    answer.leads_to, answer.said, answer.logged = leads_to, said, logged
    answer.save(update_fields=["leads_to", "said", "logged"])
    KeptAnswer.objects.filter(at__lt=answer.at - KEPT_FOR).delete()
