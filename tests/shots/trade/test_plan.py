import random
from datetime import date, timedelta
from itertools import permutations

import pytest

from shots.trade.plan import (
    ShotToPlan,
    WorkingDay,
    film_order_plan,
    find_cycle,
    following_days,
    make_plan,
    moved,
    saving,
)

MONDAY = date(2026, 3, 2)


def days(count, hours=6.0, people=None):
    """Working days from a Monday on, weekends left out."""
    found = []
    day = MONDAY
    while len(found) < count:
        if day.weekday() < 5:
            found.append(WorkingDay(day, hours, people))
        day += timedelta(days=1)
    return found


def shots(*rows):
    """Shots from "code set-up hours" with "after A10 A20" behind."""
    made = []
    for row in rows:
        code, setup, hours, *after = row.split()
        made.append(ShotToPlan(code, float(hours), setup, tuple(after[1:])))
    return made


def order(plan):
    return [shot.code for shot in plan.shots]


def dates_of(plan):
    return {shot.code: (shot.first.day, shot.last.day) for shot in plan.shots}


def test_shots_of_one_set_up_are_shot_together():
    asked = shots("A10 wide 2", "A20 close 2", "A30 wide 2", "A40 close 2")
    plan = make_plan(asked, days(3), setup_hours={"wide": 1, "close": 1})
    assert order(plan) == ["A10", "A30", "A20", "A40"]
    assert plan.setup_changes == plan.fewest_changes == 2


def test_it_says_what_grouping_saves_against_film_order():
    asked = shots("A10 wide 2", "A20 close 2", "A30 wide 2", "A40 close 2")
    hours = {"wide": 2, "close": 2}
    # film order: 8 h of shots and 4 set-ups of 2 h = 16 h on 6 h days; grouped: 12 h
    plan = make_plan(asked, days(5), setup_hours=hours)
    film = film_order_plan(asked, days(5), setup_hours=hours)
    assert order(film) == ["A10", "A20", "A30", "A40"]
    assert (film.setup_changes, film.days_used) == (4, 3)
    assert (plan.setup_changes, plan.days_used) == (2, 2)
    assert (saving(plan, film).setup_changes, saving(plan, film).days) == (2, 1)


def test_the_saving_is_at_least_so_much_where_film_order_does_not_fit_the_days():
    asked = shots("A10 wide 3", "A20 close 3", "A30 wide 3")
    hours = {"wide": 1.5, "close": 1.5}
    plan = make_plan(asked, days(2), setup_hours=hours)
    film = film_order_plan(asked, days(2), setup_hours=hours)
    assert not plan.left_out
    assert saving(plan, film).at_least


def test_the_set_up_that_stands_comes_first_and_is_not_built_again():
    asked = shots("A10 wide 2", "A20 close 2")
    plan = make_plan(asked, days(2), setup_hours={"close": 3, "wide": 1}, standing="close")
    assert order(plan) == ["A20", "A10"]
    assert plan.setup_changes == 1


def test_a_set_destroyed_in_one_shot_comes_after_all_that_need_it():
    asked = shots("A40 wide 1 after A50 A60", "A50 close 1", "A60 wide 1")
    assert order(make_plan(asked, days(2))) == ["A50", "A60", "A40"]


def test_an_order_that_forces_a_return_goes_back_to_the_set_up_once():
    asked = shots("A10 wide 1", "A20 close 1 after A10", "A30 wide 1 after A20")
    plan = make_plan(asked, days(2))
    assert order(plan) == ["A10", "A20", "A30"]
    assert (plan.setup_changes, plan.fewest_changes) == (3, 2)


@pytest.mark.parametrize(
    ("after", "sentence"),
    [
        ((("A10", "A10"),), "in a circle: A10 after A10."),
        ((("A10", "A20"), ("A20", "A10")), "A10 after A20, A20 after A10"),
        (
            (("A10", "A30"), ("A30", "A20"), ("A20", "A10")),
            "A10 after A30, A30 after A20, A20 after A10. Remove one",
        ),
    ],
)
def test_shots_waiting_in_a_circle_are_refused_with_the_circle_named(after, sentence):
    asked = [
        ShotToPlan(code, 1.0, after=tuple(b for a, b in after if a == code))
        for code in ("A10", "A20", "A30")
    ]
    with pytest.raises(ValueError, match=sentence):
        make_plan(asked, days(3))


def test_a_long_chain_is_not_a_circle():
    chain = {f"A{n}": (f"A{n - 1}",) for n in range(1, 5000)}
    assert find_cycle(chain) == []
    assert len(find_cycle({**chain, "A0": ("A4999",)})) == 5001


def test_waiting_for_a_shot_that_is_finished_already_waits_for_nothing():
    assert order(make_plan(shots("A20 wide 1 after A10"), days(1))) == ["A20"]


def test_a_shot_longer_than_a_day_is_split_and_said():
    plan = make_plan(shots("A10 wide 14"), days(3), setup_hours={"wide": 1})
    first, second, third = (day.work for day in plan.days)
    assert [(work.shot, work.hours) for work in first] == [(None, 1), ("A10", 5)]
    assert [(work.part, work.parts, work.hours) for work in second + third] == [
        (2, 3, 6),
        (3, 3, 3),
    ]
    assert plan.notes == (
        "A10 takes 14.0 h, longer than a day: it is split from 2 March 2026 to 4 March 2026.",
    )


def hours_by_day(plan):
    """Hours of each shot (None: of building) day by day, days without work left out."""
    return [[(work.shot, work.hours) for work in day.work] for day in plan.days if day.work]


def test_a_scrap_left_for_the_next_day_stays_with_the_day():
    # 6.2 h on days of 6 h: 12 minutes would wait for the second morning
    plan = make_plan(shots("A10 wide 6.2", "A20 wide 3"), days(3))
    assert hours_by_day(plan) == [[("A10", 6.2)], [("A20", 3.0)]]
    assert dates_of(plan) == {"A10": (2, 2), "A20": (3, 3)}
    assert plan.notes == ()


def test_a_scrap_is_not_begun_at_the_end_of_a_day():
    # 5.8 h leave 12 minutes of the first day
    plan = make_plan(shots("A10 wide 5.8", "A20 wide 3"), days(3))
    assert hours_by_day(plan) == [[("A10", 5.8)], [("A20", 3.0)]]
    assert dates_of(plan) == {"A10": (2, 2), "A20": (3, 3)}


def test_half_an_hour_is_no_scrap():
    plan = make_plan(shots("A10 wide 5.5", "A20 wide 7"), days(3))
    assert hours_by_day(plan) == [[("A10", 5.5), ("A20", 0.5)], [("A20", 6.0)], [("A20", 0.5)]]


def test_a_set_up_is_not_begun_for_a_scrap_either():
    asked = shots("A10 wide 5.9", "A20 close 3")
    plan = make_plan(asked, days(3), setup_hours={"close": 1}, standing="wide")
    assert hours_by_day(plan) == [[("A10", 5.9)], [(None, 1.0), ("A20", 3.0)]]


def test_a_scrap_that_is_a_whole_shot_fills_the_day():
    plan = make_plan(shots("A10 wide 5.9", "A20 wide 0.1"), days(2))
    assert hours_by_day(plan) == [[("A10", 5.9), ("A20", 0.1)]]


def test_a_pinned_shot_is_begun_on_its_day_even_for_a_scrap():
    asked = [
        ShotToPlan("A10", 5.9, "wide", pinned=MONDAY),
        ShotToPlan("A20", 3.0, "wide", pinned=MONDAY),
    ]
    assert dates_of(make_plan(asked, days(3))) == {"A10": (2, 2), "A20": (2, 3)}


def test_what_ends_on_the_deadline_but_for_a_scrap_makes_it():
    plan = make_plan(shots("A10 wide 6.1"), days(3), deadline=MONDAY)
    assert (plan.slipping, plan.days_used) == ((), 1)


def test_no_plan_has_a_scrap_and_no_day_runs_over_by_more_than_two():
    for seed in range(40):
        dice = random.Random(seed)
        asked = [
            ShotToPlan(f"A{n}", dice.uniform(0.3, 9), f"S{dice.randrange(5)}") for n in range(30)
        ]
        plan = make_plan(asked, days(60), setup_hours={f"S{n}": 0.7 for n in range(5)})
        pieces = [work for day in plan.days for work in day.work if work.parts > 1]
        assert pieces
        assert min(work.hours for work in pieces) >= 20 / 60
        assert max(day.filled for day in plan.days) < 6 + 40 / 60


def test_every_hour_of_every_shot_is_on_some_day():
    asked = shots("A10 wide 2.75", "A20 close 4.1", "A30 wide 7.3", "A40 top 0.2")
    plan = make_plan(asked, days(5, hours=5), setup_hours={"wide": 0.5, "top": 0.75})
    for shot in asked:
        worked = sum(w.hours for day in plan.days for w in day.work if w.shot == shot.code)
        assert worked == pytest.approx(shot.hours)


def test_what_ends_after_the_deadline_slips():
    plan = make_plan(shots("A10 wide 6", "A20 wide 6"), days(3), deadline=MONDAY)
    assert plan.slipping == ("A20",)
    assert [day.late for day in plan.days] == [False, True, True]


def test_priority_decides_who_slips():
    asked = [ShotToPlan("A10", 6.0, "wide"), ShotToPlan("A20", 6.0, "close", priority=2)]
    assert make_plan(asked, days(3), deadline=MONDAY).slipping == ("A10",)


def test_priority_never_costs_a_set_up_change():
    asked = [
        ShotToPlan("A10", 1.0, "wide"),
        ShotToPlan("A20", 1.0, "close", priority=1),
        ShotToPlan("A30", 1.0, "wide", priority=2),
    ]
    plan = make_plan(asked, days(1))
    assert order(plan) == ["A30", "A10", "A20"]
    assert plan.setup_changes == 2


def test_no_working_day_before_the_deadline_is_said():
    plan = make_plan(shots("A10 wide 1"), days(1), deadline=date(2026, 2, 28))
    assert plan.slipping == ("A10",)
    assert plan.notes == ("There is no working day left up to the deadline, 28 February 2026.",)


def test_without_any_working_day_every_shot_is_left_out_with_the_reason():
    plan = make_plan(shots("A10 wide 1"), [], deadline=MONDAY)
    assert plan.left_out == (("A10", "there is no working day to put it on"),)
    assert (plan.setup_changes, plan.finish) == (0, None)


def test_without_shots_the_plan_is_empty():
    plan = make_plan([], days(2), setup_hours={"wide": 3})
    assert (plan.shots, plan.setup_changes, plan.days_used) == ((), 0, 0)


def test_a_shot_is_shot_only_when_those_it_needs_are_there():
    asked = [
        ShotToPlan("A10", 3.0, "wide", people=frozenset({"Mira"})),
        ShotToPlan("A20", 6.0, "wide"),
    ]
    there = [
        WorkingDay(date(2026, 3, 2), 6.0, frozenset({"Jo"})),
        WorkingDay(date(2026, 3, 3), 6.0, frozenset({"Jo", "Mira"})),
    ]
    assert dates_of(make_plan(asked, there)) == {"A20": (2, 2), "A10": (3, 3)}


def test_a_shot_is_not_begun_with_somebody_who_leaves_halfway_if_it_can_wait():
    mira = frozenset({"Mira"})
    there = [
        WorkingDay(date(2026, 3, 2), 4.0, mira),
        WorkingDay(date(2026, 3, 3), 4.0, frozenset()),
        WorkingDay(date(2026, 3, 4), 4.0, mira),
        WorkingDay(date(2026, 3, 5), 4.0, mira),
    ]
    plan = make_plan([ShotToPlan("A10", 6.0, people=mira)], there)
    assert dates_of(plan) == {"A10": (4, 5)}


def half_days(count, of, hours=6.0):
    """Working days of which Mira is there for the first `of` hours only."""
    both, jo = frozenset({"Jo", "Mira"}), frozenset({"Jo"})
    return [
        WorkingDay(day.date, length, people)
        for day in days(count)
        for length, people in ((of, both), (hours - of, jo))
    ]


def test_a_shot_is_shot_while_those_it_needs_have_not_left():
    asked = [
        ShotToPlan("A10", 2.0, "wide", people=frozenset({"Mira"})),
        ShotToPlan("A20", 2.0, "wide", people=frozenset({"Mira"})),
        ShotToPlan("A30", 1.0, "wide"),
    ]
    plan = make_plan(asked, half_days(3, of=3))
    assert hours_by_day(plan) == [[("A10", 2.0), ("A30", 1.0)], [("A20", 2.0)]]
    assert [day.hours for day in plan.days] == [6.0, 6.0, 6.0]


def test_shots_of_those_who_leave_go_first_where_that_costs_no_set_up_change():
    mira = frozenset({"Mira"})
    asked = [
        *shots("A10 wide 3"),
        ShotToPlan("A20", 3.0, "wide", people=mira),
        ShotToPlan("A30", 3.0, "close", people=mira),
    ]
    plan = make_plan(asked, half_days(3, of=3))
    assert hours_by_day(plan) == [[("A20", 3.0), ("A10", 3.0)], [("A30", 3.0)]]


@pytest.mark.parametrize("seed", range(30))
def test_nobody_works_longer_than_they_are_there(seed):
    dice = random.Random(seed)
    mira = frozenset({"Mira"})
    asked = [
        ShotToPlan(
            f"A{n}",
            dice.uniform(0.5, 4),
            f"S{dice.randrange(4)}",
            people=mira if dice.random() < 0.5 else frozenset(),
            pinned=date(2026, 3, dice.randrange(2, 7)) if dice.random() < 0.2 else None,
        )
        for n in range(12)
    ]
    plan = make_plan(asked, half_days(40, of=2.5), setup_hours={f"S{n}": 0.5 for n in range(4)})
    assert not plan.left_out
    hers = {shot.code for shot in asked if shot.people}
    for day in plan.days:
        assert sum(work.hours for work in day.work if work.shot in hers) < 2.5 + 40 / 60
        assert day.filled < 6 + 40 / 60
    placed = sum(work.hours for day in plan.days for work in day.work if work.shot)
    assert placed == pytest.approx(sum(shot.hours for shot in asked), abs=12 / 60)


def test_what_needs_nobody_goes_on_when_somebody_has_left():
    plan = make_plan([ShotToPlan("A10", 8.0, "wide")], half_days(3, of=3))
    assert hours_by_day(plan) == [[("A10", 6.0)], [("A10", 2.0)]]


def test_a_set_up_is_built_the_day_before_for_somebody_with_a_short_day():
    asked = [ShotToPlan("A10", 2.5, "wide", people=frozenset({"Mira"}))]
    plan = make_plan(asked, half_days(3, of=3), setup_hours={"wide": 1})
    assert hours_by_day(plan) == [[(None, 1.0)], [("A10", 2.5)]]
    assert plan.left_out == ()


def test_a_shot_longer_than_somebodys_day_is_split_and_said():
    asked = [ShotToPlan("A10", 5.0, people=frozenset({"Mira"}))]
    plan = make_plan(asked, half_days(3, of=3))
    assert hours_by_day(plan) == [[("A10", 3.0)], [("A10", 2.0)]]
    assert plan.notes == (
        "A10 takes 5.0 h, longer than a day of Mira: it is split from 2 March 2026 to "
        "3 March 2026.",
    )


def test_pins_and_dates_hold_on_days_somebody_leaves():
    tuesday = date(2026, 3, 3)
    asked = [
        *shots("A10 wide 6", "A20 wide 6"),
        ShotToPlan("A30", 4.0, "close", pinned=tuesday),
        ShotToPlan("A40", 2.0, "close", pinned=tuesday, people=frozenset({"Mira"})),
        ShotToPlan("A50", 6.0, "close", latest=MONDAY),
    ]
    plan = make_plan(asked, half_days(6, of=3), deadline=date(2026, 3, 5))
    assert plan.notes == ()
    assert {shot.code: shot.first.day for shot in plan.shots} == {
        "A50": 2, "A40": 3, "A30": 3, "A10": 4, "A20": 5,
    }  # fmt: skip
    assert plan.slipping == ()


def test_somebody_who_never_comes_is_named():
    plan = make_plan(
        [
            ShotToPlan("A10", 1.0, people=frozenset({"Mira"})),
            ShotToPlan("A20", 1.0, after=("A10",)),
        ],
        days(2, people=frozenset({"Jo"})),
    )
    assert plan.left_out == (
        ("A10", "Mira cannot be there on any working day"),
        ("A20", "it comes after A10, which found no place either"),
    )


def test_a_pinned_shot_starts_on_its_day_and_the_rest_flows_round_it():
    asked = shots("A10 close 4", "A20 close 4", "A30 wide 4")
    assert dates_of(make_plan(asked, days(3))) == {"A10": (2, 2), "A20": (2, 3), "A30": (3, 3)}
    asked[0] = ShotToPlan("A10", 4.0, "close", pinned=date(2026, 3, 3))
    assert dates_of(make_plan(asked, days(3))) == {"A30": (2, 2), "A20": (2, 3), "A10": (3, 3)}


def test_a_pin_on_the_first_day_comes_before_everything():
    asked = [*shots("A10 wide 6"), ShotToPlan("A20", 6.0, "close", pinned=MONDAY)]
    assert dates_of(make_plan(asked, days(2))) == {"A20": (2, 2), "A10": (3, 3)}


@pytest.mark.parametrize(
    ("pinned", "why"),
    [
        (
            ShotToPlan("A20", 1.0, pinned=date(2026, 3, 7)),
            "A20 is pinned to 7 March 2026, but that is not a working day: it starts 9 March 2026.",
        ),
        (
            ShotToPlan("A20", 1.0, pinned=MONDAY, earliest=date(2026, 3, 4)),
            "A20 is pinned to 2 March 2026, but it may not be shot before 4 March 2026: "
            "it starts 4 March 2026.",
        ),
        (
            ShotToPlan("A20", 1.0, pinned=MONDAY, after=("A10",)),
            "A20 is pinned to 2 March 2026, but what comes before it, or is pinned with it, "
            "fills that day: it starts 3 March 2026.",
        ),
    ],
)
def test_a_pin_that_cannot_hold_says_why_and_where_the_shot_goes(pinned, why):
    plan = make_plan([ShotToPlan("A10", 6.0), pinned], days(7))
    assert plan.notes == (why,)


def test_what_a_pinned_shot_waits_for_is_shot_in_time():
    asked = [
        ShotToPlan("A10", 6.0, "wide"),
        ShotToPlan("A20", 6.0, "wide", pinned=date(2026, 3, 3), after=("A30",)),
        ShotToPlan("A30", 6.0, "close"),
    ]
    assert dates_of(make_plan(asked, days(3))) == {"A30": (2, 2), "A20": (3, 3), "A10": (4, 4)}


def test_a_stage_hire_bounds_when_its_shots_are_shot():
    hire = {"earliest": date(2026, 3, 3), "latest": date(2026, 3, 4)}
    asked = [
        *shots("A10 wide 6", "A20 wide 6", "A30 wide 6"),
        ShotToPlan("B10", 6.0, "stage", **hire),
        ShotToPlan("B20", 6.0, "stage", **hire),
    ]
    plan = make_plan(asked, days(5))
    assert (dates_of(plan)["B10"], dates_of(plan)["B20"]) == ((3, 3), (4, 4))
    assert plan.notes == ()


def test_a_latest_date_that_cannot_be_kept_is_said():
    plan = make_plan([ShotToPlan("A10", 12.0, latest=MONDAY)], days(3))
    assert "A10 must be shot by 2 March 2026, but ends 3 March 2026." in plan.notes


def test_a_day_off_inserted_over_a_planned_day_moves_what_was_on_it():
    asked = shots("A10 wide 6", "A20 wide 6")
    before = make_plan(asked, days(3))
    after = make_plan(asked, [days(3)[0], days(3)[2]])
    assert [change.sentence for change in moved(before, after)] == [
        "A20 moves from 3 March to 4 March."
    ]


def test_the_difference_names_shots_that_came_and_went():
    before = make_plan(shots("A10 wide 9", "A20 wide 1"), days(3))
    after = make_plan(shots("A10 wide 9", "A30 wide 1"), days(3))
    assert [change.sentence for change in moved(before, after)] == [
        "A30 is new, on 3 March.",
        "A20 is no longer planned; it was on 3 March.",
    ]


@pytest.mark.parametrize(
    ("hours", "building", "starts"),
    [
        ([3, 3, 3], 0, [2, 2, 3]),
        ([3, 3, 3], 2, [2, 2, 3]),  # the second starts at 5 h of 6
        ([3, 3, 3], 3, [2, 3, 3]),
        ([5.9, 3], 0, [2, 3]),  # six minutes are no start
        ([5.9, 0.1], 0, [2, 2]),
        ([14, 2, 9, 1], 0, [2, 4, 4, None]),  # the third day of three ends at 18 h
        ([1], 13, [4]),
        ([1], 20, [None]),
        ([], 1, []),
    ],
)
def test_shots_that_follow_each_other_start_where_the_one_before_ends(hours, building, starts):
    asked = [ShotToPlan(f"A{n}", float(one)) for n, one in enumerate(hours)]
    found = following_days(asked, days(3), building)
    assert [day and day.day for day in found.values()] == starts


def test_days_somebody_leaves_are_followed_as_whole_days():
    found = following_days(shots("A10 wide 5", "A20 wide 2"), half_days(3, of=3), 0)
    assert [day.day for day in found.values()] == [2, 2]


@pytest.mark.parametrize(
    ("asked", "there", "sentence"),
    [
        ([ShotToPlan("A10", -1.0)], days(1), "A10 needs hours from 0 .* got -1.0"),
        ([ShotToPlan("A10", float("nan"))], days(1), "got nan"),
        ([ShotToPlan("A10", 1.0)] * 2, days(1), "A10 is there 2 times"),
        ([ShotToPlan("A10", 1.0, priority=-1)], days(1), "starts at 0"),
        (
            [ShotToPlan("A10", 1.0, earliest=date(2026, 3, 4), latest=MONDAY)],
            days(1),
            "from 2026-03-04 but only until 2026-03-02",
        ),
        ([], [WorkingDay(MONDAY, 25.0)], "from 0 to 24 hours"),
        ([], days(2)[::-1], "must follow each other"),
    ],
)
def test_what_cannot_be_planned_is_refused_in_a_sentence(asked, there, sentence):
    with pytest.raises(ValueError, match=sentence):
        make_plan(asked, there)


def test_the_same_question_gets_the_same_plan():
    asked = random_shots(random.Random(5), 40, 8)
    assert make_plan(asked, days(30)) == make_plan(asked, days(30))


# --- against exhaustive search: every order of a small film, tried by other means ---


def random_shots(dice, count, setups):
    return [
        ShotToPlan(
            f"A{n}",
            dice.choice([1.0, 2.5, 4.0]),
            f"S{dice.randrange(setups)}",
            after=tuple(f"A{m}" for m in range(count) if m < n and dice.random() < 0.25),
        )
        for n in dice.sample(range(count), count)
    ]


def fewest_changes_of_all_orders(asked):
    fewest = len(asked)
    for candidate in permutations(asked):
        shot_already = set()
        changes, standing = 0, None
        for shot in candidate:
            if not shot_already.issuperset(shot.after):
                break
            changes += shot.setup != standing
            standing = shot.setup
            shot_already.add(shot.code)
        else:
            fewest = min(fewest, changes)
    return fewest


@pytest.mark.parametrize("seed", range(60))
def test_no_order_of_a_small_film_changes_set_up_less_or_ends_sooner(seed):
    asked = random_shots(random.Random(seed), 6, 3)
    best = fewest_changes_of_all_orders(asked)
    plan = make_plan(asked, days(10), setup_hours={"S0": 1.5, "S1": 1.5, "S2": 1.5})
    assert plan.setup_changes == best
    hours = sum(shot.hours for shot in asked) + 1.5 * best
    assert plan.days_used == -(-hours // 6)
