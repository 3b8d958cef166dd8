"""What the pages of pictures show."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby

from django.core.paginator import Page, Paginator
from django.db.models import Count, Q

from shots.documents.contact_sheet import ContactSheet, SheetPicture, SheetShot
from shots.models import Picture, Production, Session, Shot
from shots.queries.picture_log import LogPlan, log_plan
from shots.trade.flashes import is_flashing
from shots.trade.frame_order import Again, Place, Shown, frame_order
from shots.trade.picture_record import settings_in_words
from shots.trade.picture_strips import MeasureStrip, Reading, measure_strip
from shots.trade.pictures import flag_in_words
from shots.trade.pictures.clock import missing_numbers
from studio.models import Studio

ON_A_PAGE = 200
STRIP_KINDS = {
    "light": {"flicker", "drift", "colour"},
    "shift": {"bump", "creep"},
    "sharp": {"focus"},
}
NEIGHBOURS = 2
DENSE = 200


@dataclass(frozen=True)
class ShotCount:
    """One shot in the list of a production's pictures."""

    shot: Shot
    pictures: int
    kept: int
    flagged: int
    unlogged: int


@dataclass(frozen=True)
class PictureShots:
    """A production's shots with their pictures, and what is still to be logged."""

    production: Production
    shots: tuple[ShotCount, ...]
    days: tuple[date, ...]
    plan: LogPlan
    open_sessions: tuple[Session, ...]


def picture_shots(production: Production, now: datetime) -> PictureShots:
    """The production's page of pictures."""
    kept = ~Q(pictures__verdict=Picture.Verdict.DISCARD)
    shots = (
        Shot.objects.in_film()
        .filter(production=production)
        .annotate(
            taken=Count("pictures"),
            in_film_now=Count("pictures", filter=kept),
            to_look_at=Count(
                "pictures",
                filter=Q(pictures__is_flagged=True, pictures__verdict=Picture.Verdict.LEAVE),
            ),
            to_log=Count("pictures", filter=Q(pictures__session__isnull=True)),
        )
    )
    days = (
        Picture.objects.filter(shot__production=production)
        .order_by("-day")
        .values_list("day", flat=True)
        .distinct()[:31]
    )
    return PictureShots(
        production=production,
        shots=tuple(
            ShotCount(shot, shot.taken, shot.in_film_now, shot.to_look_at, shot.to_log)
            for shot in shots
        ),
        days=tuple(days),
        plan=log_plan(production, now),
        open_sessions=recent_sessions(production),
    )


def recent_sessions(production: Production) -> tuple[Session, ...]:
    """Sessions pictures may be put in by hand, the latest first."""
    return tuple(Session.objects.current().filter(production=production)[:30])


@dataclass(frozen=True)
class DiscardedPicture:
    """A picture a session shot again, and why."""

    picture: Picture
    why: str


def discarded_in(session: Session) -> tuple[DiscardedPicture, ...]:
    """The pictures of a session that were discarded, with what was flagged on them."""
    rows = session.pictures.slim().discarded().select_related("shot")
    return tuple(
        DiscardedPicture(row, "; ".join(map(flag_in_words, row.flags)))
        for row in rows.order_by("shot__position", "place")
    )


@dataclass(frozen=True)
class Numbered:
    """A picture with its number in the shot, from 1, and its flags in words."""

    number: int
    picture: Picture
    words: tuple[str, ...]


@dataclass(frozen=True)
class ShotPictures:
    """The contact sheet of one shot, with its strips."""

    shot: Shot
    page: Page
    shown: tuple[Numbered, ...]
    only_flagged: bool
    total: int
    kept: int
    discarded: int
    flagged: int
    unjudged: int
    missing: str
    strips: tuple[MeasureStrip, ...]
    frames: "FrameStrip"
    breaks_of_lock: tuple[str, ...]
    flashes: bool
    plan: LogPlan
    open_sessions: tuple[Session, ...]

    @property
    def budget(self) -> int:
        return self.shot.budget

    @property
    def left(self) -> int:
        return max(self.budget - self.kept, 0)

    @property
    def over(self) -> int:
        return max(self.kept - self.budget, 0)


def shot_pictures(
    shot: Shot, page_number: str | None, only_flagged: bool, now: datetime
) -> ShotPictures:
    """The contact sheet of a shot: all its pictures are read once, without their measures."""
    numbered = _numbered(shot)
    kept = [one for one in numbered if not one.picture.is_discarded]
    chosen = [one for one in numbered if one.picture.needs_a_look] if only_flagged else numbered
    page = Paginator(chosen, ON_A_PAGE).get_page(page_number)
    places = places_of(shot, numbered)
    return ShotPictures(
        shot=shot,
        page=page,
        shown=tuple(page.object_list),
        only_flagged=only_flagged,
        total=len(numbered),
        kept=len(kept),
        discarded=len(numbered) - len(kept),
        flagged=sum(one.picture.needs_a_look for one in numbered),
        unjudged=sum(one.picture.judged_at is None for one in kept),
        missing=_spoken_numbers(missing_numbers([one.picture.name for one in numbered])),
        strips=strips(numbered),
        frames=frame_strip(shot, places),
        breaks_of_lock=_breaks_of_lock(kept),
        flashes=_flashing(shot, numbered, places),
        plan=log_plan(shot.production, now),
        open_sessions=recent_sessions(shot.production),
    )


def _numbered(shot: Shot) -> list[Numbered]:
    return [
        Numbered(number, picture, tuple(map(flag_in_words, picture.flags)))
        for number, picture in enumerate(shot.pictures.for_sheet(), 1)
    ]


def _spoken_numbers(numbers: list[int]) -> str:
    shown = ", ".join(map(str, numbers[:12]))
    return f"{shown} and {len(numbers) - 12} more" if len(numbers) > 12 else shown


def _breaks_of_lock(kept: list[Numbered]) -> tuple[str, ...]:
    """What the very first picture already has against the lock card."""
    if not kept:
        return ()
    return tuple(flag_in_words(flag) for flag in kept[0].picture.flags if flag["kind"] == "exif")


def strips(numbered: list[Numbered]) -> tuple[MeasureStrip, ...]:
    """Light, shift and sharpness over the picture numbers. The shift is the distance from the
    first picture, in pixels of the original."""

    def readings(value_of, kinds: set[str]) -> list[Reading]:
        return [
            Reading(
                one.number,
                None if one.picture.is_discarded else value_of(one.picture.found),
                "; ".join(
                    words
                    for words, flag in zip(one.words, one.picture.flags, strict=True)
                    if flag["kind"] in kinds and not one.picture.is_discarded
                ),
                one.picture.pk,
            )
            for one in numbered
        ]

    def distance(found: dict) -> float | None:
        if found.get("dx") is None:
            return None
        return (found["dx"] ** 2 + found["dy"] ** 2) ** 0.5

    if len(numbered) < 2:
        return ()  # nothing to hold it against
    return (
        measure_strip(
            "Light", readings(lambda f: f.get("gain"), STRIP_KINDS["light"]), 1, 0.02, "%"
        ),
        measure_strip("Shift", readings(distance, STRIP_KINDS["shift"]), 0, 1, "px"),
        measure_strip(
            "Sharpness", readings(lambda f: f.get("sharp"), STRIP_KINDS["sharp"]), 1, 0.05, "%"
        ),
    )


@dataclass(frozen=True)
class FramePicture:
    """One picture in the order of frames, in a long shot all of a kind in a row; `x` and `width`
    in frames, `kind` as it is drawn."""

    first: int
    last: int
    x: int
    width: int
    kind: str  # "once", "held" or "again"

    @property
    def title(self) -> str:
        one = f"Picture {self.first}"
        name = one if self.first == self.last else f"Pictures {self.first} to {self.last}"
        said = {"once": "", "held": ", held", "again": ", again"}[self.kind]
        return f"{name}: {self.width} frame{'s' if self.width != 1 else ''}{said}"


@dataclass(frozen=True)
class FrameStrip:
    """The shot's frames in order: each kept picture as wide as it is held, and once more where it
    is shown again; then what the budget reuses without saying where (`reused_frames`), and what is
    missing. `is_dense`: so many that a line between two pictures would cover them."""

    pictures: tuple[FramePicture, ...]
    is_dense: bool
    frames: int
    screen_frames: int
    again_frames: int
    reused_frames: int

    @property
    def span(self) -> int:
        return max(self.frames + self.reused_frames, self.screen_frames, 1)

    @property
    def wanted(self) -> int:
        """Frames the shot still lacks, reuse counted in."""
        return max(self.screen_frames - self.frames - self.reused_frames, 0)


def frame_strip(shot: Shot, places: list[Place]) -> FrameStrip:
    """Frame order, holds and reuse of the kept pictures, handles included."""
    again = sum(place.frames for place in places if place.is_again)
    is_dense = len(places) > DENSE
    return FrameStrip(
        pictures=tuple(_drawn_together(places, shot.exposure, is_dense)),
        is_dense=is_dense,
        frames=sum(place.frames for place in places),
        screen_frames=shot.screen_frames + shot.handle_frames,
        again_frames=again,
        reused_frames=max(shot.reused_frames - again, 0),
    )


def _drawn_together(places: list[Place], exposure: int, is_dense: bool) -> Iterator[FramePicture]:
    """Each place by itself; where they are dense, those of a kind in a row as one."""

    def alike(place: Place) -> tuple[str, int]:
        return _kind(place, exposure), 0 if is_dense else place.x

    for (kind, _), together in groupby(places, alike):
        row = list(together)
        width = sum(place.frames for place in row)
        yield FramePicture(row[0].number, row[-1].number, row[0].x, width, kind)


def _kind(place: Place, exposure: int) -> str:
    if place.is_again:
        return "again"
    return "held" if place.frames > exposure else "once"


def places_of(shot: Shot, numbered: list[Numbered]) -> list[Place]:
    """The kept pictures of a shot in the order they are shown."""
    numbers = {one.picture.pk: one.number for one in numbered}
    return frame_order(
        [
            Shown(
                one.number, one.picture.frames or shot.exposure, shown_again(one.picture, numbers)
            )
            for one in numbered
            if not one.picture.is_discarded
        ]
    )


def shown_again(picture: Picture, numbers: dict[int, int]) -> Again | None:
    """What follows a picture once more; `numbers` are those of all pictures of the shot."""
    first, last = numbers.get(picture.again_from_id), numbers.get(picture.again_to_id)
    return Again(first, last, picture.again_times) if first and last else None


@dataclass(frozen=True)
class Box:
    """Where something was left in, in per cent of the picture."""

    left: float
    top: float
    width: float
    height: float
    words: str


@dataclass(frozen=True)
class PicturePage:
    """One picture with its neighbours."""

    shot: Shot
    number: int
    total: int
    picture: Picture
    words: tuple[str, ...]
    not_measurable: tuple[str, ...]
    before: Numbered | None
    after: Numbered | None
    neighbours: tuple[Numbered, ...]
    boxes: tuple[Box, ...]
    settings: tuple[tuple[str, str], ...]
    on_screen: dict[str, int | None]
    also_in: tuple[str, ...]


def picture_page(picture: Picture) -> PicturePage:
    """One picture; `picture.shot` with its production is wanted."""
    order = _numbered(picture.shot)
    at = next(n for n, one in enumerate(order) if one.picture.pk == picture.pk)
    here = order[at]
    others = Picture.objects.filter(sha256=picture.sha256).exclude(shot=picture.shot_id)
    return PicturePage(
        shot=picture.shot,
        number=here.number,
        total=len(order),
        picture=picture,
        words=here.words,
        not_measurable=tuple(picture.not_measurable),
        before=order[at - 1] if at else None,
        after=order[at + 1] if at + 1 < len(order) else None,
        neighbours=tuple(order[max(at - NEIGHBOURS, 0) : at + NEIGHBOURS + 1]),
        boxes=tuple(
            _box(picture, flag["box"], flag_in_words(flag))
            for flag in picture.flags
            if flag["kind"] == "intruder"
        ),
        settings=tuple(settings_in_words(picture.settings)),
        on_screen=_on_screen(picture, {one.picture.pk: one.number for one in order}),
        also_in=tuple(
            f"{production} {shot}"
            for production, shot in others.values_list("shot__production__code", "shot__code")[:5]
        ),
    )


def _on_screen(picture: Picture, numbers: dict[int, int]) -> dict[str, int | None]:
    """What is written down of how it is shown, by the names of the form."""
    again = shown_again(picture, numbers)
    return {
        "frames": picture.frames,
        "again_from": again and again.first,
        "again_to": again and again.last,
        "again_times": again.times if again else 1,
    }


def _box(picture: Picture, corners: list[float], words: str) -> Box:
    left, top, right, bottom = corners
    across, down = 100 / picture.width, 100 / picture.height
    return Box(left * across, top * down, (right - left) * across, (bottom - top) * down, words)


def frames_to_play(shot: Shot, address_of) -> dict:
    """What the player needs: rate, and each place's picture number, address and frames."""
    numbered = _numbered(shot)
    pictures = {one.number: one.picture for one in numbered}
    return {
        "rate": float(shot.production.rate),
        "frames": [
            {
                "number": place.number,
                "src": address_of(pictures[place.number]),
                "frames": place.frames,
            }
            for place in places_of(shot, numbered)
        ],
    }


def flashes(shot: Shot) -> bool:
    """Whether playing the shot flashes."""
    numbered = _numbered(shot)
    return _flashing(shot, numbered, places_of(shot, numbered))


def _flashing(shot: Shot, numbered: list[Numbered], places: list[Place]) -> bool:
    brightness = {one.number: one.picture.brightness for one in numbered}
    return is_flashing(
        [brightness[place.number] for place in places],
        [float(place.frames / shot.production.rate) for place in places],
    )


def contact_sheet_of_shot(shot: Shot, studio: Studio, today: date) -> ContactSheet:
    """All pictures of a shot, for paper."""
    production = shot.production
    return ContactSheet(
        title=f"Contact sheet {production.code} {shot.code}",
        production=production.title,
        studio=studio.name,
        printed=f"{today:%d.%m.%Y}",
        shots=(_sheet_shot(shot, _numbered(shot)),),
    )


def contact_sheet_of_day(production: Production, day: date, studio: Studio) -> ContactSheet:
    """All pictures of a day, shot by shot, with their numbers in the shot."""
    shots = Shot.objects.current().filter(production=production, pictures__day=day).distinct()
    return ContactSheet(
        title=f"Contact sheet {production.code}, {day:%d.%m.%Y}",
        production=production.title,
        studio=studio.name,
        printed=f"{day:%d.%m.%Y}",
        shots=tuple(
            _sheet_shot(shot, [one for one in _numbered(shot) if one.picture.day == day])
            for shot in shots
        ),
    )


def _sheet_shot(shot: Shot, numbered: list[Numbered]) -> SheetShot:
    kept = sum(not one.picture.is_discarded for one in numbered)
    return SheetShot(
        code=shot.code,
        description=shot.description,
        standing=f"{kept} kept of {shot.budget} in the budget, {len(numbered) - kept} discarded",
        pictures=tuple(_sheet_picture(one) for one in numbered),
    )


def _sheet_picture(one: Numbered) -> SheetPicture:
    words = list(one.words)
    if one.picture.verdict == Picture.Verdict.KEEP and one.picture.is_flagged:
        words.insert(0, "looked at and kept")
    return SheetPicture(
        number=one.number,
        name=one.picture.name,
        jpeg=stored_bytes(one.picture.thumbnail),
        flags="; ".join(words),
        needs_a_look=one.picture.needs_a_look,
        is_discarded=one.picture.is_discarded,
    )


def stored_bytes(file) -> bytes:
    """What is stored; nothing where the file was lost."""
    try:
        with file.open("rb") as opened:
            return opened.read()
    except (OSError, ValueError):
        return b""
