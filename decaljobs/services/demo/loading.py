"""The example workshop: made through the services, as a maker would have made it."""

from __future__ import annotations

from contextlib import suppress
from datetime import datetime, timedelta
from decimal import Decimal

from django.db import transaction
from django.db.models import ProtectedError
from django.utils import timezone

from decaljobs.craft.stages import LAYERS, Film, Layer, Stage
from decaljobs.craft.units import parse_scale
from decaljobs.models import (
    Artwork,
    BenchPlan,
    Decal,
    Person,
    Piece,
    Project,
    QueuedDecal,
    Role,
    Room,
    Sheet,
    SheetEvent,
    StageEvent,
    Trial,
)
from decaljobs.models.sheets import MARGIN_MM
from decaljobs.services.artwork.keeping import keep_artwork
from decaljobs.services.artwork.measuring import measure_artwork
from decaljobs.services.artwork.reworking import widen
from decaljobs.services.bench import moving, spoiling, steps
from decaljobs.services.demo.art import DRAWINGS
from decaljobs.services.demo.panels import load_panels
from decaljobs.services.demo.photos import clear_photos, load_photos
from decaljobs.services.demo.put_away import load_put_away
from decaljobs.services.demo.rooms import clear_rooms, make_rooms, refuse_while_used
from decaljobs.services.demo.scenes import (
    ART,
    CAUSES,
    MEASURED,
    PROJECTS,
    REASONS,
    SHEETS,
    WIDENED,
    WIDENED_BY_MM,
    DemoDecal,
)
from decaljobs.services.demo.stores import clear_stores, load_stores
from decaljobs.services.demo.trial import load_trial
from decaljobs.services.files import atomic_with_files, drop_file
from decaljobs.services.film import sheets
from decaljobs.services.layout import queue
from decaljobs.services.layout.copies import wanted_of
from decaljobs.services.layout.layouts import LayoutWishes, plan_layout
from decaljobs.services.layout.next_sheet import lay_down
from decaljobs.services.plan import plans
from decaljobs.services.projects import projects
from decaljobs.services.refused import Refused

MAKER = "Example maker"
BEGUN_HOURS_AGO = 240
NEXT_LOTS = ("waiting", "queue")
#: Enough for a handful of pieces.
LAYOUT_SECONDS = 0.1
PLAN_TRIES = 300


@atomic_with_files()
def load_demo(*, moment: datetime) -> None:
    """Fill the workshop with the example. Raises Refused when it is there already."""
    if Project.objects.filter(example=True).exists():
        raise Refused("The example workshop is loaded already.")
    maker = _example_maker()
    begun = moment - timedelta(hours=BEGUN_HOURS_AGO)
    art = {
        plan.name: keep_artwork(
            name=plan.name,
            width_mm=Decimal(str(plan.width_mm)),
            picture=DRAWINGS[plan.shape](plan.width_mm, plan.text),
            moment=begun,
        )
        for plan in ART
    }
    Artwork.objects.filter(pk__in=[a.pk for a in art.values()]).update(example=True)
    load_stores(maker=maker, moment=moment)
    rooms = make_rooms(moment)
    made = _make_projects(art, begun, moment)
    Decal.objects.filter(project__example=True).update(room=rooms[0])
    _make_sheets(made, rooms[0], maker, moment)
    _live_through(made, rooms[1], maker, moment)
    _measure(art, maker, begun)
    load_trial(maker=maker, moment=begun)
    _lay_out_the_next(made, maker, moment)
    load_panels()
    load_photos(maker=maker, moment=moment)
    load_put_away(artwork=art["Depot pennant"], begun=begun, moment=moment)
    plans.make_now(moment=moment, iterations=PLAN_TRIES)


@transaction.atomic
def clear_demo() -> None:
    """Remove the example and nothing else. Raises Refused where own work hangs on it."""
    mine = Piece.objects.filter(decal__project__example=False, sheet__example=True).first()
    if mine is not None:
        raise Refused(f"Sheet {mine.sheet.code} of the example holds pieces of your own work.")
    uses = Decal.objects.filter(project__example=False, artwork__example=True).first()
    if uses is not None:
        raise Refused(f"{uses.words} of your own work uses artwork of the example.")
    refuse_while_used()
    clear_stores()
    decals = Decal.objects.filter(project__example=True)
    lines = StageEvent.objects.filter(decal__in=decals)
    lines.filter(undoes__isnull=False).delete()
    lines.delete()
    Piece.objects.filter(decal__in=decals).delete()
    decals.delete()
    sheet_lines = SheetEvent.objects.filter(sheet__example=True)
    sheet_lines.filter(undoes__isnull=False).delete()
    sheet_lines.delete()
    Sheet.objects.filter(example=True).delete()
    clear_photos()
    Project.objects.filter(example=True).delete()
    clear_rooms()
    Trial.objects.filter(example=True).delete()
    BenchPlan.objects.all().delete()
    _drop_artwork()
    _drop_maker()


def _drop_artwork() -> None:
    for artwork in Artwork.objects.filter(example=True):
        drop_file(artwork.picture)
        drop_file(artwork.preview)
        artwork.delete()


def _drop_maker() -> None:
    """The owner whom the example brought along goes too, unless own work bears their name."""
    maker = Person.objects.filter(username=MAKER).first()
    if maker is not None and not maker.has_usable_password():
        with suppress(ProtectedError), transaction.atomic():
            maker.delete()


def _example_maker() -> Person:
    owner = Person.objects.filter(role=Role.OWNER).order_by("pk").first()
    if owner is not None:
        return owner
    person = Person(username=MAKER, role=Role.OWNER)
    person.set_unusable_password()
    person.save()
    return person


def _measure(art: dict[str, Artwork], maker: Person, begun: datetime) -> None:
    """Some drawings are measured, and the one with the narrowest band has a wider version."""
    for name in MEASURED:
        art[name].refresh_from_db()
        found = measure_artwork(artwork=art[name], person=maker, moment=begun)
        if name == WIDENED:
            widen(measuring=found, by_mm=WIDENED_BY_MM, moment=begun, move_decals=True)


def _make_projects(
    art: dict[str, Artwork], begun: datetime, moment: datetime
) -> list[tuple[DemoDecal, list[Decal]]]:
    made = []
    for plan in PROJECTS:
        due = timezone.localdate(moment) + timedelta(days=plan.due) if plan.due else None
        project = projects.make_project(
            moment=begun,
            name=plan.name,
            scale_ratio=round(parse_scale(plan.scale), 4),
            body_colour=plan.body_colour,
            finish=plan.finish,
            due=due,
            customer=plan.customer,
            notes=plan.notes,
            overcoat=plan.overcoat,
        )
        for wanted in plan.decals:
            decals = projects.add_decals(
                project=project,
                artwork=art[wanted.art],
                place=wanted.place,
                build=wanted.build,
                count=len(wanted.histories),
                moment=begun,
            )
            made.append((wanted, decals))
    Project.objects.filter(made_at=begun).update(example=True)
    return made


def _make_sheets(
    made: list[tuple[DemoDecal, list[Decal]]], room: Room, maker: Person, moment: datetime
) -> None:
    for plan in SHEETS:
        sheet = sheets.make_sheet(
            moment=moment - timedelta(hours=BEGUN_HOURS_AGO),
            film=plan.film,
            printer=plan.printer,
            sealer=plan.sealer,
            coats_wanted=plan.coats_wanted,
            width_mm=210,
            height_mm=297,
            note=plan.note,
            room=room,
            example=True,
            by=maker,
        )
        layer = Film(plan.film).layer
        for wanted, decals in made:
            if wanted.lot == plan.lot and layer in LAYERS[wanted.build]:
                ids = [decal.pk for decal in decals]
                sheets.put_on_sheet(sheet=sheet.pk, decals=ids, copies=wanted.copies)
        if plan.printed is not None:
            at = moment - timedelta(hours=plan.printed)
            sheets.log_printed(sheet=sheet.pk, by=maker, moment=at)
        for hours in plan.coats:
            sheets.log_coat(sheet=sheet.pk, by=maker, moment=moment - timedelta(hours=hours))


def _lay_out_the_next(
    made: list[tuple[DemoDecal, list[Decal]]], maker: Person, moment: datetime
) -> None:
    """One pair of sheets laid out, not printed yet; queued for the next an upright decal and four
    equal ones, which are counted together."""
    lots = {lot: [d.pk for plan, ds in made if plan.lot == lot for d in ds] for lot in NEXT_LOTS}
    queue.queue_decals(decals=lots["waiting"], by=maker, moment=moment - timedelta(hours=2))
    wanted = wanted_of(list(QueuedDecal.objects.for_sheet().filter(decal__in=lots["waiting"])))
    wishes = LayoutWishes("inkjet", 210, 297, MARGIN_MM, seconds=LAYOUT_SECONDS)
    lay_down(plan=plan_layout(wanted, wishes), by=maker, moment=moment - timedelta(hours=1))
    queue.queue_decals(decals=lots["queue"], by=maker, moment=moment)
    upright = [d.pk for plan, ds in made if plan.lot == "queue" and plan.upright for d in ds]
    for decal in upright:
        queue.set_copies(decal=decal, base=None, clear=None, upright=True)


def _live_through(
    made: list[tuple[DemoDecal, list[Decal]]], shed: Room, maker: Person, moment: datetime
) -> None:
    """Everything that happened to the decals, in the order of time."""
    happenings = [
        (moment - timedelta(hours=hours), decal, what)
        for wanted, decals in made
        for decal, history in zip(decals, wanted.histories, strict=True)
        for what, hours in history
    ]
    for at, decal, what in sorted(happenings, key=lambda row: row[0]):
        if what == "to_shed":
            moving.move_decals(decals=[decal.pk], room=shed, by=maker, moment=at)
        else:
            _happen(decal, what, maker, at)


def _happen(decal: Decal, what: str, maker: Person, at: datetime) -> None:
    reason, cause = REASONS.get(what, ""), CAUSES.get(what, "")
    if what == "spoil_pieces":
        for piece in decal.pieces.good():
            spoiling.spoil_piece(piece=piece.pk, by=maker, moment=at, reason=reason, cause=cause)
    elif what.startswith("spoil_"):
        layer = Layer(what.removeprefix("spoil_"))
        spoiling.spoil_layer(
            decal=decal.pk, layer=layer, by=maker, moment=at, reason=reason, cause=cause
        )
    else:
        steps.log_step(decals=[decal.pk], step=Stage(what), by=maker, moment=at)
