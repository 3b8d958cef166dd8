"""Pace by difficulty, from sessions that mixed them."""

from decimal import Decimal as D

from shots.trade.measured_pace import SessionOutput, pace_records

ASSUMED = {"easy": D(20), "hard": D(5)}


def test_the_hours_of_a_mixed_session_are_shared_as_the_assumed_pace_says():
    # 40 easy pictures at 20 take 2 hours, 20 hard ones at 5 take 4: of 3 hours, 1 and 2.
    records = pace_records([SessionOutput(D(3), {"easy": 40, "hard": 20})], ASSUMED)
    assert (records["easy"].hours, records["hard"].hours) == (1, 2)
    assert (records["easy"].pace, records["hard"].pace) == (40, 10)


def test_sessions_add_up():
    sessions = [SessionOutput(D(2), {"easy": 30}), SessionOutput(D(4), {"easy": 60})]
    easy = pace_records(sessions, ASSUMED)["easy"]
    assert (easy.pictures, easy.hours, easy.sessions, easy.pace) == (90, 6, 2, 15)


def test_no_hours_measure_no_pace():
    assert pace_records([SessionOutput(D(0), {"easy": 3})], ASSUMED)["easy"].pace is None
