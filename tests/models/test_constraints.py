"""What must hold is held by the database itself, whoever writes to it.

Each constraint has a line here: what breaks it, on a record that is right otherwise.
"""

from datetime import date, time, timedelta
from typing import Any

import pytest
from django.apps import apps
from django.contrib.sessions.backends.db import SessionStore
from django.db import IntegrityError, connection, models, transaction

from decaljobs.craft.stages import Film
from decaljobs.models import (
    Artwork,
    BenchDay,
    BenchHours,
    BenchPlan,
    Decal,
    Device,
    EnterLink,
    KeptAnswer,
    LayoutSearch,
    Measuring,
    Panel,
    Person,
    Photo,
    Piece,
    Placing,
    PlanPin,
    PrinterFit,
    Project,
    QueuedDecal,
    RateLine,
    Reading,
    ReadingsImport,
    Recipe,
    Room,
    Sheet,
    SheetEvent,
    StageEvent,
    StepMinutes,
    StockLine,
    StoresRules,
    Supply,
    SupplyUse,
    Trial,
    TrialRound,
    WaitRule,
)
from decaljobs.services.bench import steps
from decaljobs.services.people.devices import note_device
from tests.factories import (
    EVENING,
    make_artwork,
    make_decal,
    make_person,
    make_photos,
    make_project,
    make_sheet,
    placed_sheet,
    sealed_decal,
)

pytestmark = pytest.mark.django_db
LATER = EVENING + timedelta(hours=1)
BEFORE = EVENING - timedelta(hours=1)


def laid_decal() -> Decal:
    decal = sealed_decal(make_person())
    steps.log_step(decals=[decal.pk], step="base_applied", by=None, moment=EVENING)
    return decal


def a_device() -> Device:
    session = SessionStore()
    session.create()
    note_device(session_key=session.session_key, person=make_person(), agent="", moment=EVENING)
    return Device.objects.get()


def a_trial() -> Trial:
    return Trial.objects.create(paint="Mast buff", start="#c8a870", begun_at=EVENING)


def a_supply() -> Supply:
    size = {"width_mm": 210, "height_mm": 297}
    return Supply.objects.create(
        name="White film", kind="film", film="white", printer="inkjet", **size
    )


def a_line(**fields: Any) -> StockLine:
    start = {"supply": a_supply(), "kind": "bought", "amount": 3, "price": 4, "currency": "GBP"}
    return StockLine.objects.create(**{**start, "at": EVENING, "logged_at": EVENING, **fields})


#: One right record of each model that a constraint speaks of.
RIGHT: dict[type[models.Model], Any] = {
    Artwork: make_artwork,
    BenchDay: lambda: BenchDay.objects.create(
        person=make_person(), day=date(2026, 11, 8), starts=time(9), ends=time(12)
    ),
    BenchHours: lambda: make_person().bench_hours.first(),
    BenchPlan: lambda: BenchPlan.objects.create(
        state="made", moment=EVENING, beat_at=EVENING, made_at=EVENING
    ),
    Decal: make_decal,
    Device: a_device,
    EnterLink: lambda: EnterLink.objects.create(digest="x", made_at=EVENING, ends_at=LATER),
    KeptAnswer: lambda: KeptAnswer.objects.create(
        person=make_person(), key="k" * 20, asked="a", at=EVENING
    ),
    LayoutSearch: lambda: LayoutSearch.objects.create(
        kind="better", key="q", asked={}, seconds=1, begun_at=EVENING, beat_at=EVENING
    ),
    Measuring: lambda: Measuring.objects.create(
        artwork=make_artwork(), width_mm=24, clear_margin_mm=1, begun_at=EVENING
    ),
    Panel: lambda: Panel.objects.create(
        project=make_project(), name="Bow", width_mm=80, height_mm=40
    ),
    Person: make_person,
    Photo: lambda: make_photos(1)[0],
    Piece: lambda: placed_sheet(Film.WHITE, [make_decal()], copies=1).pieces.get(),
    Placing: lambda: Placing.objects.create(
        decal=make_decal(), panel=RIGHT[Panel](), x_mm=20, y_mm=20
    ),
    PlanPin: lambda: PlanPin.objects.create(
        work="base:1", person=make_person(), starts_at=EVENING, ends_at=LATER
    ),
    PrinterFit: lambda: PrinterFit.objects.create(
        printer="inkjet", film="white", measured_at=EVENING
    ),
    Project: make_project,
    QueuedDecal: lambda: QueuedDecal.objects.create(decal=make_decal(), queued_at=EVENING),
    RateLine: lambda: RateLine.objects.create(currency="GBP", hourly_rate=20),
    Reading: lambda: Reading.objects.create(
        room=Room.objects.get(), minute=7, temperature=20, humidity=50
    ),
    ReadingsImport: lambda: ReadingsImport.objects.create(
        room=Room.objects.get(), made_at=EVENING, name="air.csv", file="imports/air.csv"
    ),
    Recipe: lambda: Recipe.objects.create(
        trial=a_trial(),
        colour="#c8a870",
        printer="inkjet",
        material="film",
        expected=1,
        kept_at=EVENING,
    ),
    Room: lambda: Room.objects.create(name="Shed", kind="shed"),
    Sheet: make_sheet,
    SheetEvent: lambda: laid_decal().pieces.first().sheet.events.first(),
    StageEvent: lambda: laid_decal().events.get(how="hand"),
    StepMinutes: lambda: StepMinutes.objects.create(doing="base", minutes=12),
    StockLine: a_line,
    StoresRules: lambda: StoresRules.objects.get_or_create()[0],
    Supply: a_supply,
    SupplyUse: lambda: SupplyUse.objects.create(supply=a_supply(), doing="print", amount=1),
    Trial: a_trial,
    TrialRound: lambda: TrialRound.objects.create(
        trial=a_trial(), number=1, centre=[1, 2, 3], radius=9, colours=[], made_at=EVENING
    ),
    WaitRule: lambda: WaitRule.objects.first(),
}

SIDE_TOO_LONG, NO_SIDE = {"width_mm": 4000}, {"height_mm": 0}
#: What breaks each check, by its name: the model, and one or several wrong ways to fill it.
CHECKS: dict[str, tuple[type[models.Model], list[dict[str, Any]]]] = {
    "artwork_width_in_range": (Artwork, [{"width_mm": 0}, SIDE_TOO_LONG]),
    "bench_day_has_both_times_or_none": (BenchDay, [{"ends": None}]),
    "bench_day_takes_some_time": (BenchDay, [{"ends": time(9)}]),
    "bench_hours_take_some_time": (BenchHours, [{"starts": time(9), "ends": time(9)}]),
    "bench_weekday_known": (BenchHours, [{"weekday": 7}]),
    "step_minutes_doing_is_known": (StepMinutes, [{"doing": "tea"}]),
    "step_minutes_in_range": (StepMinutes, [{"minutes": 0}, {"minutes": 5000}]),
    "decal_build_is_known": (Decal, [{"build": "painted"}]),
    "decal_stage_is_known": (Decal, [{"stage": "dreamt"}]),
    "decal_number_within_its_count": (Decal, [{"number": 0}, {"number": 2}]),
    "decal_held_or_with_a_ready_time": (Decal, [{"held_because": ""}]),
    "decal_hold_is_known": (Decal, [{"held_because": "no_mood"}]),
    "decal_next_step_is_known": (Decal, [{"next_step": "tea"}]),
    "decal_turns_to_a_known_stage": (Decal, [{"turns_to": "gold", "turns_at": EVENING}]),
    "decal_turns_at_a_time": (Decal, [{"turns_to": "cured"}, {"turns_at": EVENING}]),
    "device_seen_after_it_came": (Device, [{"seen_at": BEFORE}]),
    "link_ends_after_made": (EnterLink, [{"ends_at": EVENING}]),
    "import_state_is_known": (ReadingsImport, [{"state": "lost"}]),
    "import_done_within_all": (ReadingsImport, [{"rows_done": 1}]),
    "search_kind_is_known": (LayoutSearch, [{"kind": "worse"}]),
    "search_state_is_known": (LayoutSearch, [{"state": "asleep"}]),
    "search_share_in_range": (LayoutSearch, [{"share": -0.1}, {"share": 1.1}]),
    "measuring_state_is_known": (Measuring, [{"state": "asleep"}]),
    "measuring_done_has_found": (Measuring, [{"state": "done"}]),
    "measuring_share_in_range": (Measuring, [{"done_share": 1.1}]),
    "measuring_hand_in_range": (Measuring, [{"knife_mm": 0}, {"clear_margin_mm": 21}]),
    "panel_size_in_range": (Panel, [SIDE_TOO_LONG, NO_SIDE]),
    "placing_turn_within_a_circle": (Placing, [{"turn": 360}, {"turn": -1}]),
    "person_has_a_known_role": (Person, [{"role": "guest"}]),
    "person_reads_in_known_ways": (Person, [{"length_unit": "ft"}, {"clock": "6"}]),
    "person_hand_in_range": (Person, [{"knife_mm": 0}, {"lay_down_mm": 3}]),
    "photo_stage_is_known": (Photo, [{"stage": "dreamt"}]),
    "piece_layer_is_known": (Piece, [{"layer": "gold"}]),
    "piece_state_is_known": (Piece, [{"state": "lost"}]),
    "piece_place_is_whole_or_none": (Piece, [{"x_mm": None}, {"degrees": 45}, {"width_mm": 0}]),
    "plan_state_is_known": (BenchPlan, [{"state": "dreamt"}]),
    "plan_made_at_a_time": (BenchPlan, [{"made_at": None}]),
    "pinned_session_ends_after_start": (PlanPin, [{"ends_at": EVENING}]),
    "printer_fit_film_is_known": (PrinterFit, [{"film": "gold"}]),
    "printer_fit_printer_is_known": (PrinterFit, [{"printer": "press"}]),
    "printer_fit_factors_in_range": (PrinterFit, [{"x_factor": 0.8}, {"y_factor": 1.2}]),
    "project_code_in_capitals": (Project, [{"code": "p-01"}, {"code": ""}, {"code": "-P"}]),
    "project_scale_in_range": (Project, [{"scale_ratio": 0}, {"scale_ratio": 2001}]),
    "project_body_colour_is_hex": (Project, [{"body_colour": "#FFF"}, {"body_colour": "red"}]),
    "project_finish_is_known": (Project, [{"finish": "wet"}]),
    "project_emptied_from_the_bin": (Project, [{"emptied_at": EVENING}]),
    "project_weight_in_range": (Project, [{"weight": 0}, {"weight": 6}]),
    "queued_copies_in_range": (QueuedDecal, [{"base_copies": 0}, {"clear_copies": 51}]),
    "room_kind_is_known": (Room, [{"kind": "cellar"}]),
    "room_stated_air_in_range": (Room, [{"day_temperature": -300}, {"night_humidity": 140}]),
    "room_read_from_before_until": (Room, [{"read_from": 5, "read_until": 4}, {"read_from": 5}]),
    "reading_in_range": (Reading, [{"temperature": 200}, {"humidity": -1}]),
    "sheet_film_is_known": (Sheet, [{"film": "gold"}]),
    "sheet_printer_is_known": (Sheet, [{"printer": "press"}]),
    "sheet_sealer_is_known": (Sheet, [{"sealer": "honey"}]),
    "sheet_coats_within_wanted": (
        Sheet,
        [{"coats_wanted": 0}, {"coats_wanted": 13}, {"printed_at": EVENING, "coats_done": 3}],
    ),
    "sheet_printed_before_sealed": (Sheet, [{"coats_done": 1}]),
    "sheet_printed_before_it_dries": (Sheet, [{"rested_at": EVENING}, {"worked_at": EVENING}]),
    "sheet_margin_in_range": (Sheet, [{"margin_mm": -1}, {"margin_mm": 61}]),
    "sheet_gap_in_range": (Sheet, [{"gap_mm": -1}, {"gap_mm": 99}]),
    "sheet_not_cut_from_itself": (Sheet, [{"cut_from": models.F("pk")}]),
    "sheet_size_in_range": (Sheet, [SIDE_TOO_LONG, NO_SIDE]),
    "sheet_event_not_in_the_future": (SheetEvent, [{"logged_at": EVENING - timedelta(days=9)}]),
    "sheet_undo_names_what_it_undoes": (
        SheetEvent,
        [{"kind": "undo"}, {"undoes": models.F("pk")}],
    ),
    "sheet_move_names_a_room": (SheetEvent, [{"kind": "moved", "room": None}]),
    "sheet_event_kind_is_known": (SheetEvent, [{"kind": "painted"}]),
    "stage_event_from_is_known": (StageEvent, [{"from_stage": "dreamt"}]),
    "stage_event_to_is_known": (StageEvent, [{"to_stage": "dreamt"}]),
    "stage_event_not_in_the_future": (StageEvent, [{"at": LATER}]),
    "stage_undo_names_what_it_undoes": (
        StageEvent,
        [{"kind": "undo"}, {"undoes": models.F("pk")}],
    ),
    "stage_move_names_a_room": (StageEvent, [{"kind": "moved", "room": None}]),
    "stage_event_kind_is_known": (StageEvent, [{"kind": "painted"}]),
    "stage_event_how_is_known": (StageEvent, [{"how": "magic"}]),
    "early_step_says_why": (StageEvent, [{"how": "early"}]),
    "only_a_mishap_has_a_cause": (
        StageEvent,
        [{"cause": "torn"}, {"kind": "spoiled", "cause": "moon"}],
    ),
    "a_lent_piece_names_the_twin": (StageEvent, [{"kind": "given"}, {"kind": "taken"}]),
    "no_decal_is_its_own_twin": (StageEvent, [{"twin": models.F("decal")}]),
    "stores_rules_are_one_row": (StoresRules, [{"only": False}]),
    "hourly_rate_not_below_0": (StoresRules, [{"hourly_rate": -1}]),
    "stores_currency_is_three_letters": (StoresRules, [{"currency": "gbp"}, {"currency": "£"}]),
    "rate_line_not_below_0": (RateLine, [{"hourly_rate": -1}]),
    "rate_currency_is_three_letters": (RateLine, [{"currency": ""}]),
    "supply_kind_is_known": (Supply, [{"kind": "tea"}]),
    "film_says_what_it_is": (Supply, [{"film": ""}, {"width_mm": None}]),
    "supply_low_in_range": (Supply, [{"low_at": -1}, {"low_at": 1_000_001}]),
    "supply_keeps_in_range": (Supply, [{"keeps_days": 40_000}, {"opened_days": 40_000}]),
    "supply_film_is_known": (Supply, [{"film": "gold"}]),
    "supply_printer_is_known": (Supply, [{"printer": "press"}]),
    "supply_sealer_is_known": (Supply, [{"sealer": "honey"}]),
    "supply_use_doing_is_known": (SupplyUse, [{"doing": "tea"}]),
    "supply_use_above_0": (SupplyUse, [{"amount": 0}]),
    "stock_amount_in_range": (StockLine, [{"amount": -1}, {"amount": 1_000_001}]),
    "stock_price_has_its_currency": (StockLine, [{"currency": ""}, {"price": -1}]),
    "stock_not_in_future": (StockLine, [{"at": LATER}]),
    "stock_undo_names_what_it_undoes": (
        StockLine,
        [{"kind": "undo"}, {"undoes": models.F("pk")}],
    ),
    "stock_kind_is_known": (StockLine, [{"kind": "drunk"}]),
    "trial_start_is_hex": (Trial, [{"start": "red"}]),
    "trial_round_material_is_known": (TrialRound, [{"material": "gold"}]),
    "trial_round_reaches_somewhere": (TrialRound, [{"radius": 0}, {"number": 0}]),
    "a_paper_match_is_never_final": (Recipe, [{"material": "paper"}]),
    "recipe_colour_is_hex": (Recipe, [{"colour": "red"}]),
    "wait_kind_is_known": (WaitRule, [{"kind": "tea"}]),
    "wait_clock_is_known": (WaitRule, [{"clock": "sundial"}]),
    "wait_figures_in_range": (
        WaitRule,
        [{"reference_hours": 2001}, {"floor_hours": -1}, {"reference_humidity": 85}],
    ),
    "wait_floor_within_its_hours": (WaitRule, [{"reference_hours": 1, "floor_hours": 2}]),
}

#: What may not stand there twice: the model, and how its right record stands for it to count.
ONCE: dict[str, tuple[type[models.Model], dict[str, Any]]] = {
    "bench_hours_start_once": (BenchHours, {}),
    "bench_day_closed_once": (BenchDay, {"starts": None, "ends": None}),
    "bench_day_session_starts_once": (BenchDay, {}),
    "decal_once_a_place_and_number": (Decal, {}),
    "form_answered_once": (KeptAnswer, {}),
    "searched_once_for_a_layout": (LayoutSearch, {}),
    "measured_once_a_size_and_hand": (Measuring, {}),
    "panel_once_a_project": (Panel, {}),
    "person_calendar_secret_is_their_own": (Person, {"calendar_secret": "s" * 48}),
    "piece_copies_are_numbered": (Piece, {}),
    "decal_wears_one_piece_of_a_layer": (Piece, {"state": "used"}),
    "plan_one_is_made_at_a_time": (BenchPlan, {"state": "running"}),
    "printer_fits_a_film_once": (PrinterFit, {}),
    "room_names_differ": (Room, {}),
    "one_default_room": (Room, {}),
    "room_read_once_a_minute": (Reading, {}),
    "sheet_events_are_numbered": (SheetEvent, {}),
    "stage_events_are_numbered": (StageEvent, {}),
    "supply_used_once_a_doing": (SupplyUse, {}),
    "trial_rounds_are_numbered": (TrialRound, {}),
}
#: Of what else may not stand there twice, so that a twin breaks this one alone.
APART: dict[str, dict[str, Any]] = {
    "person_calendar_secret_is_their_own": {"username": "twin"},
    "decal_wears_one_piece_of_a_layer": {"copy": 2},
    "room_names_differ": {"name": "SHED"},
    "one_default_room": {"name": "Attic", "is_default": True},
}


def constraints() -> dict[str, models.BaseConstraint]:
    found = apps.get_app_config("decaljobs").get_models()
    return {each.name: each for model in found for each in model._meta.constraints}


def test_every_constraint_is_broken_here():
    assert constraints().keys() == CHECKS.keys() | ONCE.keys()


@pytest.mark.parametrize(
    ("name", "wrong"), [(name, wrong) for name, (_, ways) in CHECKS.items() for wrong in ways]
)
def test_a_check_is_kept_by_the_database(name, wrong):
    model = CHECKS[name][0]
    record = RIGHT[model]()
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        model.objects.filter(pk=record.pk).update(**wrong)


@pytest.mark.parametrize("name", ONCE)
def test_what_stands_there_once_does_not_stand_there_twice(name):
    model, stands = ONCE[name]
    record = RIGHT[model]()
    model.objects.filter(pk=record.pk).update(**stands)
    record.refresh_from_db()
    record.pk, record._state.adding = None, True
    for field, value in APART.get(name, {}).items():
        setattr(record, field, value)
    # SQLite names the columns of a unique pair and no more.
    columns = [model._meta.get_field(field).column for field in constraints()[name].fields]
    told = ", ".join(f"{model._meta.db_table}.{column}" for column in columns) or name
    if connection.vendor == "postgresql":
        told = name
    with pytest.raises(IntegrityError, match=told), transaction.atomic():
        models.Model.save(record)


def test_the_airbrush_alone_may_take_no_time():
    StepMinutes.objects.create(doing="airbrush_cleaning", minutes=0)
    assert StepMinutes.objects.get().minutes == 0
