from decaljobs.models.answers import KeptAnswer
from decaljobs.models.artwork import Artwork
from decaljobs.models.benchhours import BenchDay, BenchHours, StepMinutes
from decaljobs.models.decals import Decal
from decaljobs.models.deeds import Deed
from decaljobs.models.devices import Device
from decaljobs.models.estimates import KeptEstimate
from decaljobs.models.events import SheetEvent, StageEvent
from decaljobs.models.imports import ImportState, ReadingsImport
from decaljobs.models.layout_searches import LayoutSearch
from decaljobs.models.measurings import Measuring
from decaljobs.models.panels import Panel, Placing
from decaljobs.models.people import Clock, DateOrder, EnterLink, LengthUnit, Person, Role
from decaljobs.models.photos import Photo
from decaljobs.models.pieces import Piece, PieceState
from decaljobs.models.plans import BenchPlan, PlanPin
from decaljobs.models.printer_fits import PrinterFit
from decaljobs.models.projects import Finish, Project
from decaljobs.models.queue import QueuedDecal
from decaljobs.models.rooms import Reading, Room, RoomKind
from decaljobs.models.sheets import Sealer, Sheet
from decaljobs.models.stores import RateLine, StockLine, StoresRules, Supply, SupplyUse
from decaljobs.models.trials import Material, Recipe, Trial, TrialRound
from decaljobs.models.waits import WaitRule

__all__ = [
    "Artwork",
    "BenchDay",
    "BenchHours",
    "BenchPlan",
    "Clock",
    "DateOrder",
    "Decal",
    "Device",
    "Deed",
    "EnterLink",
    "Finish",
    "ImportState",
    "KeptAnswer",
    "KeptEstimate",
    "LayoutSearch",
    "LengthUnit",
    "Material",
    "Measuring",
    "Panel",
    "Person",
    "Photo",
    "Piece",
    "PieceState",
    "Placing",
    "PlanPin",
    "PrinterFit",
    "Project",
    "QueuedDecal",
    "RateLine",
    "Reading",
    "ReadingsImport",
    "Recipe",
    "Role",
    "Room",
    "RoomKind",
    "Sealer",
    "Sheet",
    "SheetEvent",
    "StageEvent",
    "StepMinutes",
    "StockLine",
    "StoresRules",
    "Supply",
    "SupplyUse",
    "Trial",
    "TrialRound",
    "WaitRule",
]
