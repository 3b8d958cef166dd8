"""In which order the shots left are shot, and on which days."""

from shots.trade.plan.asked import ShotToPlan, WorkingDay, find_cycle
from shots.trade.plan.compared import Moved, Saving, moved, saving
from shots.trade.plan.following import following_days
from shots.trade.plan.made import (
    Plan,
    PlannedDay,
    PlannedShot,
    Work,
    film_order_plan,
    make_plan,
)

__all__ = [
    "Moved",
    "Plan",
    "PlannedDay",
    "PlannedShot",
    "Saving",
    "ShotToPlan",
    "Work",
    "WorkingDay",
    "film_order_plan",
    "find_cycle",
    "following_days",
    "make_plan",
    "moved",
    "saving",
]
