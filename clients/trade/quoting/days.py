"""From hours to days: the forecast of a film of which no picture has been taken yet."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache

from clients.trade.quoting.pricing import SessionsAt
from shots.trade.forecast import Answer, History, forecast
from shots.trade.forecast.beliefs import believe
from shots.trade.forecast.history import PastProduction, Shot
from studio.trade.calendar import WorkCalendar

# Half the draws of a running production's forecast: a builder recalculates as its user types.
DRAWS = 2000

# Hours of animation by difficulty and the number of set-ups, to the forecast.
Forecasts = Callable[[Mapping[str, float], int], Answer]


@dataclass(frozen=True)
class Studio:
    """What the forecast knows before a film begins.

    `pace` is the pictures an hour assumed by difficulty; `day_before` the day before shooting
    starts; `past` the studio's finished productions.
    """

    pace: Mapping[str, float]
    day_before: date
    calendar: WorkCalendar
    past: tuple[PastProduction, ...] = ()


def unshot_history(hours: Mapping[str, float], setups: int, studio: Studio) -> History:
    """A production to come: the pictures of each difficulty, laid evenly over its set-ups."""
    shares = _setups_by_difficulty(hours, setups)
    shots = []
    for difficulty, own in shares.items():
        pictures = hours[difficulty] * float(studio.pace[difficulty])
        shots += [
            Shot(f"{difficulty} {n + 1}", difficulty, setup, pictures / len(own))
            for n, setup in enumerate(own)
        ]
    return History(
        shots=tuple(shots),
        calendar=studio.calendar,
        assumed_pictures_per_hour={name: float(pace) for name, pace in studio.pace.items()},
        as_of=studio.day_before,
        past_productions=studio.past,
    )


def forecasts_of(
    studio: Studio, seed: int = 0, draws: int = DRAWS, ask: Callable[..., Answer] = forecast
) -> Forecasts:
    """The forecast of any film this studio might shoot; each question is worked out once.

    Its `finish_dates` are the days promised, its `quote_sessions` those a price is made of. `ask`
    is the forecast, or one that remembers its answers.
    """

    @cache
    def answered(hours: tuple[tuple[str, float], ...], setups: int) -> Answer:
        return ask(unshot_history(dict(hours), setups, studio), seed=seed, draws=draws)

    return lambda hours, setups: answered(tuple(hours.items()), setups)


def an_hour_of_each(studio: Studio) -> History:
    """A production to come with an hour of every difficulty, to be asked for its pace."""
    return unshot_history(dict.fromkeys(studio.pace, 1.0), 0, studio)


def expected_pace(history: History) -> dict[str, float]:
    """Pictures an hour the forecast reckons with, by difficulty: the pace assumed, as optimistic
    as the studio's finished films say such assumptions are."""
    return believe(history).pace.expected()


def sessions_by(forecasts: Forecasts) -> SessionsAt:
    """The sessions a price is made of, from the forecast."""
    return lambda hours, setups: forecasts(hours, setups).quote_sessions


def _setups_by_difficulty(hours: Mapping[str, float], setups: int) -> dict[str, list[str | None]]:
    """Share set-ups out by hours, one shot each; difficulties share where there are too few."""
    whole = sum(hours.values())
    shares: dict[str, list[str | None]] = {}
    begun, so_far = 0, 0.0
    for difficulty, own in hours.items():
        so_far += own
        upto = round(setups * so_far / whole) if whole else 0
        # A difficulty that gets no set-up of its own is shot in the one before it.
        names = [f"S{n + 1}" for n in range(begun, upto)]
        shares[difficulty] = names or [f"S{max(begun, 1)}" if setups else None]
        begun = upto
    return shares
