"""What a colour trial keeps: print settings, answers, rounds and where they lead."""

from dataclasses import dataclass

from decaljobs.craft.colour import GOOD_MATCH, Colour, Lab
from decaljobs.craft.trial.eye import EyeAnswer


@dataclass(frozen=True)
class PrintSettings:
    """What must stay the same for rounds to be compared: printer, material, quality, colours.

    material: 'paper' or 'film'; raises ValueError for any other.
    """

    printer: str
    material: str = "paper"
    quality: str = ""
    colours: str = ""

    def __post_init__(self) -> None:
        if self.material not in ("paper", "film"):
            raise ValueError(f"a round is printed on paper or film, not on '{self.material}'")


@dataclass(frozen=True)
class PhotoAnswer:
    """A photo's answer: CIELAB of each patch less the paint's, which to trust, and the paint.

    remarks: what the maker is told about the photo; doubtful: whether a faint reflection may
    have misled it.
    """

    differences: tuple[Lab, ...]
    good: tuple[bool, ...]
    paint: Lab
    remarks: tuple[str, ...] = ()
    doubtful: bool = False


@dataclass(frozen=True)
class Round:
    """One printed round: its middle (CIELAB), radius, sRGB colours and what was answered.

    The radius is in CIELAB units weighted as `ball_axes` of `rounds` does. Raises ValueError
    where an answer does not fit the patches.
    """

    number: int
    settings: PrintSettings
    centre: Lab
    radius: float
    colours: tuple[Colour, ...]
    eye: EyeAnswer | None = None
    photo: PhotoAnswer | None = None

    def __post_init__(self) -> None:
        if self.eye and max(self.eye.picks) > len(self.colours):
            raise ValueError(
                f"round {self.number} has patches 1 to {len(self.colours)}, "
                f"not {max(self.eye.picks)}"
            )
        if self.eye and min(self.eye.picks) < 1:
            raise ValueError(f"patches are numbered from 1, not {min(self.eye.picks)}")
        if self.photo and len(self.photo.differences) != len(self.colours):
            raise ValueError(f"the photo answers {len(self.photo.differences)} patches")


@dataclass(frozen=True)
class Prediction:
    """Where the trial stands: the predicted best, how good it is, and what comes next.

    rgb and lab: the predicted best colour; expected: CIEDE2000 it is expected to have; far: how
    far it lies from the last round's middle, as a share of its radius; limit: the CIEDE2000 that
    stays because the printer reaches no further, or None; by: 'eye', 'photo' or 'guess';
    remarks: sentences for the maker.
    """

    rgb: Colour
    lab: Lab
    expected: float
    far: float
    edge: bool
    limit: float | None
    by: str
    material: str = "paper"
    remarks: tuple[str, ...] = ()

    @property
    def found(self) -> bool:
        """Whether the trial on this material is done: a good match, or no better one there is.

        A good match is expected to differ by less than 2 CIEDE2000.
        """
        return self.edge or self.expected < GOOD_MATCH

    @property
    def final(self) -> bool:
        """Whether the colour may be kept as found: never on paper, for film shifts it."""
        return self.found and self.material == "film"
