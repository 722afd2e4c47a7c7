"""Groups of projects that frames look at together."""

from decaljobs.craft.plan.framegroups import groups_of
from tests.craft.plan.deals import many_sessions, sessions_of
from tests.craft.plans import after, task


def test_projects_that_share_nothing_stand_alone():
    groups = groups_of(sessions_of([task(f"t{n}", project=f"p{n}") for n in range(3)]))
    assert [group.projects for group in groups] == [(0,), (1,), (2,)]


def test_a_chain_of_shared_work_is_one_group():
    # p0 and p1 share a sheet, p1 and p3 another, and p2 waits for p3.
    tasks = [
        task("sheet", project="p0", also_for=("p1",)),
        task("other", project="p1", also_for=("p3",)),
        task("lay", 30, after("other", 12), project="p2"),
        task("alone", project="p4"),
    ]
    assert [group.projects for group in groups_of(sessions_of(tasks))] == [(0, 1, 2, 3), (4,)]


def test_every_task_stands_once_after_those_it_waits_for():
    sessions = many_sessions()
    groups = groups_of(sessions)
    assert sorted(task for group in groups for task in group.tasks) == list(range(10))
    assert sorted(project for group in groups for project in group.projects) == list(range(6))
    for group in groups:
        for place, task_number in enumerate(group.tasks):
            waited = {group.tasks[link.task] for link in group.waits_for[place]}
            assert waited == {other for other, _ in sessions.model.before[task_number]}
            assert all(link.task < place for link in group.waits_for[place])
            awaited = {group.tasks[link.task] for link in group.awaited_by[place]}
            assert awaited == set(sessions.model.after[task_number])
