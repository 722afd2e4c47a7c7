"""Work divided into tasks: what waits for what, what goes together, what keeps its name."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from decaljobs.craft.benchplan import make_plan
from decaljobs.craft.doings import Doing
from decaljobs.craft.plan.jobs import jobs_of
from decaljobs.craft.plan.tasks import NO_WAIT, FixedWait, PlanInput, Session
from decaljobs.craft.plan.waits import Never, Until
from decaljobs.craft.plan.work import LAYER_WORDS, BenchWork, DecalWork, SheetWork

NOW = datetime(2026, 11, 2, 18, tzinfo=UTC)
HOUR = timedelta(hours=1)
EVENINGS = tuple(
    Session("mara", NOW + timedelta(days=day, hours=1), NOW + timedelta(days=day, hours=4))
    for day in range(14)
)
COAT, NIGHT, DAY = FixedWait(HOUR / 2), FixedWait(12 * HOUR), FixedWait(24 * HOUR)
BOTH = ((Doing.BASE, "w"), (Doing.CLEAR, "c"))
AFTER = {Doing.BASE: NIGHT, Doing.CLEAR: NIGHT}


def sheet(key, **fields):
    start = {
        "words": f"sheet {key}",
        "printed": True,
        "coats_done": 2,
        "coats_wanted": 2,
        "running": None,
        "after_print": NIGHT,
        "after_coat": COAT,
        "after_last": DAY,
    }
    return SheetWork(key, **{**start, **fields})


def decal(pk, layers=BOTH, **fields):
    start = {"project": "P-01", "place": f"place {pk}", "running": None, "after": AFTER}
    return DecalWork(pk=pk, layers=layers, **{**start, **fields})


def work(*decals, **fields):
    start = {
        "moment": NOW,
        "sheets": {"w": sheet("w"), "c": sheet("c")},
        "sessions": EVENINGS,
        "minutes": {doing: doing.minutes for doing in Doing},
        "dries": {"P-01": DAY},
    }
    return BenchWork(decals=decals, **{**start, **fields})


def ids(jobs):
    return [job.task.id for job in jobs]


def plan(bench):
    jobs = jobs_of(bench)
    tasks = tuple(job.task for job in jobs)
    return make_plan(PlanInput(NOW, tasks, (), bench.sessions), iterations=50)


def test_a_sheet_is_printed_and_coated_before_its_pieces_are_laid():
    sheets = {"w": sheet("w", printed=False, coats_done=0), "c": sheet("c")}
    jobs = jobs_of(work(decal(1), sheets=sheets))
    assert ids(jobs) == ["print:w", "coat:w:1", "coat:w:2", "base:1", "clear:1"]
    waits = {job.task.id: [wait.after for wait in job.task.waits] for job in jobs}
    assert waits["coat:w:1"] == ["print:w"]
    assert waits["coat:w:2"] == ["coat:w:1"]
    assert waits["base:1"] == ["coat:w:2"]
    assert waits["clear:1"] == ["base:1"]


def test_every_wait_is_kept_in_the_plan():
    sheets = {"w": sheet("w", printed=False, coats_done=0), "c": sheet("c")}
    found = {placed.task.id: placed for placed in plan(work(decal(1), sheets=sheets)).tasks}
    assert found["coat:w:1"].start >= found["print:w"].end + 12 * HOUR
    assert found["coat:w:2"].start >= found["coat:w:1"].end + HOUR / 2
    assert found["base:1"].start >= found["coat:w:2"].end + 24 * HOUR
    assert found["clear:1"].start >= found["base:1"].end + 12 * HOUR


def test_the_first_layer_waits_until_every_sheet_of_its_decal_is_sealed():
    sheets = {"w": sheet("w"), "c": sheet("c", coats_done=0)}
    waits = {
        job.task.id: [(wait.after, wait.ready) for wait in job.task.waits]
        for job in jobs_of(work(decal(1, to_seal=True), sheets=sheets))
    }
    assert waits["base:1"] == [("coat:c:2", NO_WAIT)]
    assert ("coat:c:2", DAY) in waits["clear:1"]


def test_a_base_laid_once_more_waits_for_its_own_sheet_alone():
    sheets = {"w": sheet("w"), "c": sheet("c", coats_done=0)}
    jobs = {job.task.id: job.task for job in jobs_of(work(decal(1), sheets=sheets))}
    assert jobs["base:1"].waits == ()


def test_coats_on_a_sheet_that_is_begun_go_on_from_the_next():
    running = Until(NOW + 5 * HOUR)
    sheets = {"w": sheet("w", coats_done=1, running=running), "c": sheet("c")}
    jobs = jobs_of(work(decal(1), sheets=sheets))
    assert ids(jobs) == ["coat:w:2", "base:1", "clear:1"]
    assert jobs[0].task.waits[0].ready == running
    assert jobs[0].task.airbrush


def test_a_coat_serves_every_project_on_the_sheet():
    sheets = {"w": sheet("w", coats_done=1), "c": sheet("c")}
    jobs = jobs_of(work(decal(1), decal(2, project="P-02"), sheets=sheets))
    assert jobs[0].task.projects == ("P-01", "P-02")


def test_a_sheet_that_no_decal_needs_any_more_is_left_alone():
    only_clear = decal(1, layers=((Doing.CLEAR, "c"),))
    sheets = {"w": sheet("w", coats_done=0), "c": sheet("c")}
    assert ids(jobs_of(work(only_clear, sheets=sheets))) == ["clear:1"]


def test_decals_of_a_model_that_stand_alike_go_together():
    jobs = jobs_of(work(decal(1, place="Cap"), decal(2, place="Cap"), decal(3, place="Bow")))
    assert ids(jobs) == ["base:1", "clear:1"]
    assert jobs[0].task.words == "base layer: Cap ×2 and Bow"
    assert jobs[0].task.minutes == 45
    assert jobs[0].decals == (1, 2, 3)


def test_decals_of_two_models_do_not():
    assert ids(jobs_of(work(decal(1), decal(2, project="P-02")))) == [
        "base:1",
        "clear:1",
        "base:2",
        "clear:2",
    ]


def test_a_lot_goes_into_a_session():
    assert [job.task.minutes for job in jobs_of(work(*map(decal, range(1, 7))))] == [60, 60, 30, 30]
    short = tuple(replace(session, end=session.start + HOUR / 2) for session in EVENINGS)
    jobs = jobs_of(work(*map(decal, range(1, 5)), sessions=short))
    assert [job.task.minutes for job in jobs] == [30, 30, 30, 30]


def test_decals_that_dry_until_the_same_session_go_together():
    overnight = [Until(NOW + hours * HOUR) for hours in (6, 20)]
    one, other = (decal(n, layers=BOTH[1:], running=r) for n, r in enumerate(overnight, 1))
    (job,) = jobs_of(work(one, other))
    assert job.task.waits[0].ready == overnight[1]


def test_decals_that_dry_into_different_sessions_do_not():
    running = [Until(NOW + hours * HOUR) for hours in (6, 30)]
    decals = [decal(n, layers=BOTH[1:], running=r) for n, r in enumerate(running, 1)]
    assert ids(jobs_of(work(*decals))) == ["clear:1", "clear:2"]


def test_what_never_dries_is_said_and_the_rest_is_planned_without_it():
    stuck = decal(1, layers=BOTH[1:], running=Never())
    found = plan(work(stuck, decal(2)))
    assert [placed.task.id for placed in found.tasks] == ["base:2", "clear:2"]
    (left,) = found.unplanned
    assert left.words == (
        "‘clear layer: place 1’ is left out: the base layer never dries in this room."
    )


def test_one_overcoat_a_model_comes_after_all_of_its_decals():
    decals = (
        decal(1, overcoat=True),
        decal(2, layers=(), running=Until(NOW + 90 * HOUR), overcoat=True),
    )
    *_, coat = jobs_of(work(*decals))
    assert coat.task.id == "overcoat:P-01"
    assert coat.decals == (1, 2)
    assert [wait.after for wait in coat.task.waits] == ["clear:1", None]
    assert coat.task.dries.ready == DAY
    assert coat.task.airbrush


def test_without_an_overcoat_the_last_layer_dries_last():
    base, clear = jobs_of(work(decal(1)))
    assert base.task.dries is None
    assert clear.task.dries.ready == NIGHT


def test_a_pinned_decal_leaves_its_lot_and_the_others_keep_their_session_free():
    pins = {"base:2": EVENINGS[3]}
    jobs = jobs_of(work(decal(1), decal(2), decal(3), pins=pins))
    pinned = {job.task.id: job.task.pinned_session for job in jobs}
    assert pinned == {"base:1": None, "clear:1": None, "base:2": EVENINGS[3], "clear:2": None}
    found = {p.task.id: p.session for p in plan(work(decal(1), decal(2), pins=pins)).tasks}
    assert found["base:2"] == EVENINGS[3]
    assert found["base:1"] == EVENINGS[0]


def test_the_name_of_a_task_outlives_steps_of_other_decals():
    before = ids(jobs_of(work(decal(1), decal(2), decal(3, project="P-02"))))
    after = ids(jobs_of(work(decal(1, layers=BOTH[1:]), decal(2), decal(3, project="P-02"))))
    assert {"base:3", "clear:3", "clear:1"} <= set(before) & set(after)


def test_works_name_every_decal_so_that_pins_outlive_the_lot():
    base, _ = jobs_of(work(decal(1), decal(2)))
    assert base.works == ("base:1", "base:2")


KEYS = ("a", "b", "c", "d")
SHEETS = st.fixed_dictionaries(
    {
        key: st.builds(
            lambda key, printed, done, wanted: sheet(
                key,
                printed=printed,
                coats_done=min(done, wanted) if printed else 0,
                coats_wanted=wanted,
            ),
            st.just(key),
            st.booleans(),
            st.integers(0, 4),
            st.integers(1, 4),
        )
        for key in KEYS
    }
)
LAYERS = st.lists(
    st.tuples(st.sampled_from([Doing.BASE, Doing.CLEAR]), st.sampled_from(KEYS)),
    max_size=2,
    unique_by=lambda layer: layer[0],
)
STANDING = st.tuples(
    LAYERS,
    st.sampled_from(["P-01", "P-02", "P-03"]),
    st.none() | st.integers(-5, 60).map(lambda hours: Until(NOW + hours * HOUR)),
    st.booleans(),
    st.booleans(),
)


@given(SHEETS, st.lists(STANDING, max_size=12))
def test_whatever_stands_at_the_bench_becomes_tasks_that_a_planner_takes(sheets, standing):
    decals = [
        decal(
            number,
            layers=tuple(sorted(layers)),
            project=project,
            running=running,
            overcoat=overcoat,
            to_seal=to_seal,
        )
        for number, (layers, project, running, overcoat, to_seal) in enumerate(standing, 1)
    ]
    bench = work(*decals, sheets=sheets)
    jobs = jobs_of(bench)
    names = ids(jobs)
    assert len(set(names)) == len(names)
    for place, job in enumerate(jobs):  # what is waited for stands before
        assert {wait.after for wait in job.task.waits} - {None} <= set(names[:place])
    laid = [(job.doing, pk) for job in jobs if job.doing in LAYER_WORDS for pk in job.decals]
    wanted = [(doing, one.pk) for one in decals for doing, _ in one.layers]
    assert sorted(laid) == sorted(wanted)
    coats = {key: sum(job.sheet == key and job.coat > 0 for job in jobs) for key in KEYS}
    needed = {key for one in decals for _, key in one.layers}
    assert coats == {
        key: (sheets[key].coats_wanted - sheets[key].coats_done) * (key in needed) for key in KEYS
    }
    tasks = tuple(job.task for job in jobs)
    planned = make_plan(PlanInput(NOW, tasks, (), EVENINGS), iterations=0)
    assert {p.task.id for p in planned.tasks} | {u.task.id for u in planned.unplanned} == set(names)
