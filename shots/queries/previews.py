"""What a preview shows, and what its page says."""

from dataclasses import dataclass
from fractions import Fraction

from shots.models import Picture, Preview, Production, Shot
from shots.queries.pictures import shown_again
from shots.trade.flashes import is_flashing
from shots.trade.preview import (
    KeptPicture,
    ShotSoFar,
    Stretch,
    film_stretches,
    length,
    shot_stretches,
)

GREY_CARD = 0.18
"""Relative luminance."""


@dataclass(frozen=True)
class PreviewPlan:
    """The stretches of a preview, and the pictures they show by their key."""

    stretches: tuple[Stretch, ...]
    pictures: dict[int, Picture]

    @property
    def frames(self) -> int:
        return length(self.stretches)

    @property
    def small(self) -> int:
        """Pictures of which only the thumbnail was kept."""
        return sum(not picture.original for picture in self.pictures.values())

    def flashes(self, rate: Fraction) -> bool:
        """Whether it flashes when played at that rate."""
        return is_flashing(
            [self._brightness(one) for one in self.stretches],
            [float(one.frames / rate) for one in self.stretches],
        )

    def _brightness(self, one: Stretch) -> float:
        return GREY_CARD if one.picture is None else self.pictures[one.picture].brightness

    @property
    def first(self) -> Picture | None:
        """The picture whose shape the preview takes."""
        return next(iter(self.pictures.values()), None)


def preview_plan(production: Production, shot: Shot | None) -> PreviewPlan:
    """What the preview of a shot, or of the whole film, would show now."""
    if shot is not None:
        shots, taken = _so_far([shot])
        return PreviewPlan(shot_stretches(shots[0]), taken)
    in_film = list(Shot.objects.in_film().filter(production=production))
    shots, taken = _so_far(in_film)
    return PreviewPlan(film_stretches(shots), taken)


def _so_far(shots: list[Shot]) -> tuple[list[ShotSoFar], dict[int, Picture]]:
    """The shots with their kept pictures, in one query."""
    rows = (
        Picture.objects.filter(shot__in=shots)
        .slim()
        .defer("flags", "found", "settings", "not_measurable")
        .order_by("shot__position", "shot_id", "place", "id")
    )
    of_shot: dict[int, list[Picture]] = {}
    for row in rows:
        of_shot.setdefault(row.shot_id, []).append(row)
    kept = {row.pk: row for row in rows if not row.is_discarded}
    return [_shot_so_far(shot, of_shot.get(shot.pk, [])) for shot in shots], kept


def _shot_so_far(shot: Shot, pictures: list[Picture]) -> ShotSoFar:
    numbers = {row.pk: number for number, row in enumerate(pictures, 1)}
    return ShotSoFar(
        code=shot.code,
        description=shot.description,
        exposure=shot.exposure,
        frames=shot.screen_frames + shot.handle_frames,
        reused_frames=shot.reused_frames,
        pictures=tuple(
            KeptPicture(
                row.pk, numbers[row.pk], row.frames, not row.original, shown_again(row, numbers)
            )
            for row in pictures
            if not row.is_discarded
        ),
        is_done=shot.is_done,
    )


def find_preview(production: Production, shot: Shot | None) -> Preview | None:
    """The preview of a shot, or of the whole film, with its latest making."""
    found = Preview.objects.filter(production=production, shot=shot)
    return found.select_related("production", "shot", "work").first()


@dataclass(frozen=True)
class PreviewPage:
    """The page of one preview."""

    production: Production
    shot: Shot | None
    preview: Preview | None
    has_film: bool
    pictures_now: int

    @property
    def is_lost(self) -> bool:
        """It was made, and its film is gone: no backup holds it."""
        return self.preview is not None and bool(self.preview.file) and not self.has_film

    @property
    def is_making(self) -> bool:
        work = self.preview and self.preview.work
        return work is not None and not work.is_over

    @property
    def is_behind(self) -> bool:
        """Another number of pictures is kept now than it shows."""
        return self.has_film and self.preview.pictures != self.pictures_now


def preview_page(production: Production, shot: Shot | None) -> PreviewPage:
    """Three queries, however many pictures there are."""
    kept = Picture.objects.kept()
    if shot is not None:
        kept = kept.filter(shot=shot)
    else:
        kept = kept.filter(shot__in=Shot.objects.in_film().filter(production=production))
    preview = find_preview(production, shot)
    has_film = bool(preview and preview.file and preview.file.storage.exists(preview.file.name))
    return PreviewPage(production, shot, preview, has_film, kept.count())
