"""Making previews: asked for from a page, made as long work, kept in place of the one before."""

from pathlib import Path
from tempfile import TemporaryDirectory

from django.core.files import File
from django.db import transaction
from django.utils import timezone

from shots.models import Picture, Preview, Production, Shot
from shots.preview_film import PictureLost, frame_size, write_preview
from shots.queries.pictures import stored_bytes
from shots.queries.previews import PreviewPlan, preview_plan
from studio import long_work
from studio.errors import NotPossible
from studio.models import Person

NO_PICTURES = "There are no pictures yet: add some to a shot first."


@transaction.atomic
def ask_for_preview(production: Production, shot: Shot | None, person: Person) -> Preview:
    """Have the preview of a shot, or of the whole film, made; once, however often it is asked for.

    Raises NotPossible where there is no picture.
    """
    Production.objects.select_for_update().get(pk=production.pk)  # one asks at a time
    preview, _ = Preview.objects.get_or_create(production=production, shot=shot)
    if preview.work and not preview.work.is_over:
        return preview
    kept = Picture.objects.kept().filter(shot__production=production)
    if not (kept.filter(shot=shot) if shot else kept).exists():
        raise NotPossible(NO_PICTURES)
    title = f"Preview of {preview}"
    preview.work = long_work.begin(make_preview, title, person, preview_id=preview.pk)
    preview.save(update_fields=["work"])
    return preview


@long_work.long_work
def make_preview(report: long_work.Report, *, preview_id: int) -> str:
    """Write the film and put it in the place of the one before."""
    preview = Preview.objects.select_related("production", "shot").filter(pk=preview_id).first()
    if preview is None:
        raise NotPossible("The shot is not there any more.")
    plan = preview_plan(preview.production, preview.shot)
    if plan.first is None:
        raise NotPossible(NO_PICTURES)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "preview.mp4"
        write_preview(
            path,
            plan.stretches,
            preview.production.rate,
            frame_size(plan.first.width, plan.first.height),
            lambda key: largest_kept(plan.pictures[key]),
            lambda done, total: report.progress(done, total, f"frame {done} of {total}"),
        )
        _keep(preview, path, plan)
    report.result_at(preview.get_absolute_url())
    return f"{plan.frames} frames from {len(plan.pictures)} pictures."


def largest_kept(picture: Picture) -> bytes:
    """The original, else the thumbnail. Raises PictureLost where neither can be read."""
    content = stored_bytes(picture.original) or stored_bytes(picture.thumbnail)
    if not content:
        raise PictureLost
    return content


@transaction.atomic
def _keep(preview: Preview, path: Path, plan: PreviewPlan) -> None:
    before = preview.file.name
    with path.open("rb") as film:
        preview.file.save("preview.mp4", File(film), save=False)
    preview.frames, preview.pictures, preview.small = plan.frames, len(plan.pictures), plan.small
    preview.flashes = plan.flashes(preview.production.rate)
    preview.made_at = timezone.now()
    preview.save(update_fields=["file", "frames", "pictures", "small", "flashes", "made_at"])
    if before:
        transaction.on_commit(lambda: preview.file.storage.delete(before))
