"""What hands do at the bench that takes minutes, and how long each takes until it is learned."""

from __future__ import annotations

from enum import StrEnum

from decaljobs.craft.stages import Layer, Stage


class Doing(StrEnum):
    """One kind of work: on a sheet, on a decal, on a whole model, or on the airbrush."""

    PRINT = "print"
    COAT = "coat"
    BASE = "base"
    CLEAR = "clear"
    OVERCOAT = "overcoat"
    AIRBRUSH_SETUP = "airbrush_setup"
    AIRBRUSH_CLEANING = "airbrush_cleaning"

    @property
    def words(self) -> str:
        """As the bench and the plan say it."""
        return _WORDS[self]

    @property
    def minutes(self) -> int:
        """Minutes until something else is told or learned (common practice, no source)."""
        return DEFAULT_MINUTES[self]


_WORDS = {
    Doing.PRINT: "print a sheet",
    Doing.COAT: "spray one sealing coat on a sheet",
    Doing.BASE: "cut and lay the base of one decal",
    Doing.CLEAR: "cut and lay the clear layer of one decal",
    Doing.OVERCOAT: "overcoat a model",
    Doing.AIRBRUSH_SETUP: "set the airbrush up",
    Doing.AIRBRUSH_CLEANING: "clean the airbrush",
}

#: The step that each kind of work on a decal takes, and the layer that it lays.
STEP_OF = {
    Doing.BASE: Stage.BASE_APPLIED,
    Doing.CLEAR: Stage.CLEAR_APPLIED,
    Doing.OVERCOAT: Stage.OVERCOATED,
}
DOING_OF = {step: doing for doing, step in STEP_OF.items()}
LAYING = {Layer.BASE: Doing.BASE, Layer.CLEAR: Doing.CLEAR}

#: Minutes each: common practice, no source.
DEFAULT_MINUTES = {
    Doing.PRINT: 15,
    Doing.COAT: 5,
    Doing.BASE: 15,
    Doing.CLEAR: 15,
    Doing.OVERCOAT: 20,
    Doing.AIRBRUSH_SETUP: 15,
    Doing.AIRBRUSH_CLEANING: 15,
}
#: Minutes that a doing may take; the airbrush may also need none.
LEAST_MINUTES, MOST_MINUTES = 1, 600
#: Work that is sprayed.
SPRAYED = frozenset({Doing.COAT, Doing.OVERCOAT})
#: Work on the airbrush itself, once a session.
AIRBRUSH = frozenset({Doing.AIRBRUSH_SETUP, Doing.AIRBRUSH_CLEANING})
