"""The example workshop in words and hours: six models of one small harbour town, invented.

Hours count back from now. `lot` says which pair of sheets the pieces lie on:
'dry' (sealed and dry), 'fresh' (sealed, still drying), 'coats' (coats going on),
'finished' (of a model that is done), 'waiting' (laid out on the next pair, not printed), 'queue'
(queued for the sheet after that), or '' (on no sheet yet).
"""

from __future__ import annotations

from dataclasses import dataclass

from decaljobs.craft.stages import Build

BOTH, CLEAR, WHITE = Build.LAMINATED, Build.CLEAR_ALONE, Build.WHITE_ALONE


@dataclass(frozen=True)
class DemoSheet:
    """One sheet of film: what it is, and what was done to it when (hours ago)."""

    lot: str
    film: str
    printer: str = "inkjet"
    sealer: str = "water"
    coats_wanted: int = 4
    printed: float | None = None
    coats: tuple[float, ...] = ()
    note: str = ""


@dataclass(frozen=True)
class DemoArt:
    """One drawing: its shape, its lettering and its print width in mm."""

    name: str
    shape: str
    width_mm: float
    text: str = ""


@dataclass(frozen=True)
class DemoDecal:
    """Decals at one place and what happened to each of them: (what, hours ago)."""

    place: str
    art: str
    build: Build
    lot: str
    histories: tuple[tuple[tuple[str, float], ...], ...] = ((),)
    copies: int = 2
    upright: bool = False


@dataclass(frozen=True)
class DemoProject:
    """One model and its decals; due counts days from now."""

    name: str
    scale: str
    body_colour: str
    finish: str
    due: int | None
    decals: tuple[DemoDecal, ...]
    customer: str = ""
    notes: str = ""
    overcoat: bool = True


SHEETS = (
    DemoSheet("dry", "white", printed=220, coats=(206, 205, 204, 203), note="top drawer, flat"),
    DemoSheet("dry", "clear", printed=219.5, coats=(206, 205, 204, 203), note="top drawer, flat"),
    DemoSheet(
        "fresh", "white", printer="laser", sealer="solvent", coats_wanted=1, printed=4, coats=(1.5,)
    ),
    DemoSheet(
        "fresh", "clear", printer="laser", sealer="solvent", coats_wanted=1, printed=4, coats=(1.6,)
    ),
    DemoSheet("coats", "white", printed=18, coats=(3.2, 1.4)),
    DemoSheet("coats", "clear", printed=5, note="ink still settling"),
    DemoSheet("finished", "white", printed=238, coats=(225, 224, 223, 222)),
    DemoSheet("finished", "clear", printed=237.6, coats=(225, 224, 223, 222)),
)

ART = (
    DemoArt("Pilot board", "board", 34, "WINDLE PILOT"),
    DemoArt("Roundel 7", "roundel", 12, "7"),
    DemoArt("Compass rose", "compass", 9),
    DemoArt("Gold lining", "stripe", 60),
    DemoArt("Carnival board", "board", 46, "THE GREAT PUFFLE"),
    DemoArt("Wheel cap", "roundel", 6.5, "P"),
    DemoArt("Town shield", "shield", 8, "3"),
    DemoArt("Line number 3", "roundel", 7, "3"),
    DemoArt("Depot pennant", "pennant", 22, "OLD QUAY"),
    DemoArt("Race number", "roundel", 18, "51"),
    DemoArt("Wing pennant", "pennant", 40, "TERN 51"),
    DemoArt("Lift here", "warning", 10, "LIFT HERE"),
    DemoArt("Ice cart board", "board", 26, "COLD COMFORT"),
)

#: Drawings that are measured from the start, and the one whose band is then widened.
MEASURED = ("Pilot board", "Roundel 7", "Town shield")
WIDENED, WIDENED_BY_MM = "Town shield", 0.6

#: A colour trial: its paint, a first guess, and the colour that the example maker's eye sees.
TRIAL_PAINT, TRIAL_START, TRIAL_SEEN = "Sandpiper navy", "#22365f", "#1d2f57"
#: A second one, still open: its first strip is judged, a second is the maker's choice.
OPEN_PAINT, OPEN_START, OPEN_SEEN = "Lighthouse red", "#9c3430", "#a23a2c"

_BASE_DRYING = (("base_applied", 4.3),)
_BASE_NEARLY = (("base_applied", 10.9),)
_BASE_DRY = (("base_applied", 15.2),)

PROJECTS = (
    DemoProject(
        "Pilot launch Sandpiper",
        "1:72",
        "#1d2f57",
        "gloss",
        9,
        (
            DemoDecal("Wheelhouse, port", "Pilot board", BOTH, "dry", (_BASE_DRY,), 3),
            DemoDecal("Wheelhouse, starboard", "Pilot board", BOTH, "dry", (_BASE_NEARLY,)),
            DemoDecal("Bow number", "Roundel 7", BOTH, "dry", (_BASE_DRY, _BASE_DRY)),
            DemoDecal("Funnel", "Compass rose", BOTH, "dry", ((), ())),
            DemoDecal("Sheer line, port", "Gold lining", WHITE, "dry", ((("base_applied", 3.0),),)),
        ),
        notes="Hull in two coats of navy, rubbed down and polished.",
    ),
    DemoProject(
        "Carnival wagon",
        "1:43.5",
        "#6d1f2a",
        "satin",
        16,
        (
            DemoDecal(
                "Side board, left",
                "Carnival board",
                BOTH,
                "dry",
                ((("base_applied", 40), ("clear_applied", 20)),),
            ),
            DemoDecal(
                "Side board, right",
                "Carnival board",
                BOTH,
                "dry",
                ((("base_applied", 39.5), ("cured", 28), ("clear_applied", 5.5)),),
            ),
            DemoDecal(
                "Wheel cap",
                "Wheel cap",
                BOTH,
                "dry",
                (
                    (("base_applied", 64), ("clear_applied", 50)),
                    (("base_applied", 64), ("clear_applied", 50)),
                    (("base_applied", 20), ("clear_applied", 6), ("spoil_clear", 5.5)),
                    (("base_applied", 9), ("spoil_base", 8.5)),
                ),
                3,
            ),
            DemoDecal("Drawbar", "Compass rose", BOTH, "waiting"),
        ),
        customer="the neighbour's nephew",
    ),
    DemoProject(
        "Harbour tram 3",
        "H0",
        "#23472f",
        "gloss",
        5,
        (
            DemoDecal("Dash, both ends", "Line number 3", BOTH, "fresh", ((), ())),
            DemoDecal("Side, town shield", "Town shield", BOTH, "coats", ((), ())),
            DemoDecal("Roof board", "Depot pennant", BOTH, "waiting"),
            DemoDecal(
                "Apron, depot end",
                "Town shield",
                BOTH,
                "dry",
                ((("base_applied", 26), ("to_shed", 24.5)),),
            ),
            DemoDecal("Rocker panel", "Gold lining", WHITE, "coats"),
        ),
    ),
    DemoProject(
        "Racing seaplane Tern",
        "1:48",
        "#c9d4d8",
        "gloss",
        None,
        (
            DemoDecal("Fin", "Race number", CLEAR, "dry", ((("clear_applied", 60),),)),
            DemoDecal("Wing, upper", "Wing pennant", CLEAR, "dry", ((("clear_applied", 7),),)),
            DemoDecal("Float, port", "Lift here", CLEAR, "dry"),
            DemoDecal(
                "Float, starboard",
                "Lift here",
                CLEAR,
                "dry",
                ((("spoil_pieces", 26),),),
            ),
            DemoDecal("Cowling", "Race number", BOTH, "dry", (_BASE_DRYING,)),
        ),
        overcoat=False,
    ),
    DemoProject(
        "Ice cart",
        "1:24",
        "#20262b",
        "matt",
        -2,
        (
            DemoDecal(
                "Tailboard",
                "Ice cart board",
                BOTH,
                "dry",
                ((("base_applied", 122), ("clear_applied", 108), ("overcoated", 30)),),
            ),
            DemoDecal(
                "Side",
                "Ice cart board",
                BOTH,
                "dry",
                ((("base_applied", 121), ("clear_applied", 107), ("overcoated", 9)),),
            ),
            DemoDecal("Lid", "Town shield", BOTH, "queue", upright=True),
            DemoDecal("Corner post", "Compass rose", BOTH, "queue", ((), (), (), ())),
        ),
    ),
    DemoProject(
        "Ferry dinghy Wagtail",
        "1:35",
        "#1d2f57",
        "gloss",
        -3,
        (
            DemoDecal(
                "Transom",
                "Depot pennant",
                BOTH,
                "finished",
                ((("base_applied", 188), ("clear_applied", 164), ("overcoated", 70)),),
            ),
            DemoDecal(
                "Bow, each side",
                "Roundel 7",
                BOTH,
                "finished",
                (
                    (("base_applied", 187.7), ("clear_applied", 163.7), ("overcoated", 69.8)),
                    (
                        ("base_applied", 187.4),
                        ("spoil_base", 187.1),
                        ("base_applied", 166),
                        ("clear_applied", 142),
                        ("overcoated", 69.6),
                    ),
                ),
                3,
            ),
            DemoDecal(
                "Thwart",
                "Gold lining",
                WHITE,
                "finished",
                ((("base_applied", 165.6), ("overcoated", 69.4)),),
            ),
        ),
        customer="Miss Pennyfeather",
        notes="Given back on Saturday; she wants a second one in the spring.",
    ),
)

REASONS = {
    "spoil_clear": "torn while it was nudged straight",
    "spoil_base": "slipped, and dried askew",
    "spoil_pieces": "scratched in the drawer",
}
CAUSES = {"spoil_clear": "torn", "spoil_base": "slipped", "spoil_pieces": "scratched"}
