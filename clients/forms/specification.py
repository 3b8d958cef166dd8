"""The form of a specification: a field for each item, and what is left out is not checked."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from django import forms

from clients.models import StudioSpecification
from clients.trade.specification import (
    LABELS,
    LARGEST_TEXT,
    MATRICES,
    PRIMARIES,
    READERS,
    TRANSFERS,
    Specification,
    SpecificationRefused,
    from_text,
    to_json,
)
from clients.trade.specification.words import (
    AUDIO_CODECS,
    CHROMAS,
    CONTAINERS,
    RANGES,
    SCANS,
    VIDEO_CODECS,
)
from studio.forms import RateField, VersionedModelForm

NOT_CHECKED = ("", "not checked")
MEGABYTE = 1_000_000  # bytes


def _choice(words: Iterable[str], label: str) -> forms.ChoiceField:
    choices = [NOT_CHECKED, *((word, word) for word in dict.fromkeys(words))]
    return forms.ChoiceField(label=label, required=False, choices=choices)


def _code(names: dict[str, int], label: str) -> forms.ChoiceField:
    """One name for each code number, the plainest."""
    first: dict[int, str] = {}
    for name, code in names.items():
        first.setdefault(code, name)
    choices = [NOT_CHECKED, *((code, f"{name} ({code})") for code, name in first.items())]
    return forms.TypedChoiceField(
        label=label, required=False, choices=choices, coerce=int, empty_value=None
    )


def _whole(label: str, help_text: str = "") -> forms.IntegerField:
    return forms.IntegerField(label=label, required=False, help_text=help_text)


def _number(label: str, help_text: str = "") -> forms.FloatField:
    return forms.FloatField(label=label, required=False, help_text=help_text)


def _text(label: str, help_text: str = "", **kwargs) -> forms.CharField:
    return forms.CharField(label=label, required=False, help_text=help_text, **kwargs)


# The items of several parts: which field holds which part. The first is the one that matters.
PARTS: dict[str, dict[str, str]] = {
    "video_codec": {"codec": "video_codec", "profile": "video_profile"},
    "frame_count": {"frames": "frame_count", "tolerance": "frame_tolerance"},
    "duration": {"seconds": "duration", "tolerance": "duration_tolerance"},
    "black": {"head": "black_head", "inside": "black_inside", "tail": "black_tail"},
    "freeze": {"longest": "freeze"},
    "cadence": {"exposure": "cadence"},
    "loudness": {"target": "loudness", "tolerance": "loudness_tolerance"},
    "captions": {"kind": "captions"},
    "flash": {"general": "flash_general", "red": "flash_red"},
}
NEEDS_FIRST = ("video_codec", "frame_count", "duration", "loudness")
GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("The file", ("container", "size", "name")),
    (
        "Picture",
        (
            "video_codec", "video_profile", "width", "height", "pixel_aspect", "scan",
            "bit_depth", "chroma",
        ),
    ),
    (
        "Time",
        (
            "frame_rate", "constant_rate", "frame_count", "frame_tolerance", "duration",
            "duration_tolerance",
        ),
    ),
    ("Colour", ("colour_primaries", "colour_transfer", "colour_matrix", "colour_range")),
    (
        "What the pictures show",
        (
            "black_head", "black_inside", "black_tail", "frozen", "freeze", "cadence",
            "flash_general", "flash_red",
        ),
    ),
    (
        "Sound",
        (
            "audio", "audio_codec", "sample_rate", "channels", "loudness", "loudness_tolerance",
            "true_peak",
        ),
    ),
    ("Beside the film", ("captions", "stills")),
)  # fmt: skip


@dataclass(frozen=True)
class Group:
    """Fields that stand together."""

    title: str
    fields: tuple[forms.BoundField, ...]


class SpecificationForm(VersionedModelForm):
    """A specification. What its items may be is said once, by the trade's readers."""

    container = _choice(CONTAINERS.values(), "Container")
    size = _number("Largest file", "Megabytes, of a million bytes each.")
    name = _text("File name", "A pattern, as {production}_{deliverable}_v{version}.mp4.")
    video_codec = _choice(VIDEO_CODECS.values(), "Video codec")
    video_profile = _text("Profile", "The codec’s profile, as High.")
    width = _whole("Picture width", "Pixels.")
    height = _whole("Picture height", "Pixels.")
    pixel_aspect = _text("Pixel aspect", "As 1:1.")
    scan = _choice(SCANS.values(), "Scan")
    bit_depth = _whole("Bit depth", "Bits for each colour, as 8 or 10.")
    chroma = _choice(CHROMAS.values(), "Chroma")
    frame_rate = RateField(
        label="Frame rate", required=False, help_text="Exact: 24, 25, 23.976 is 24000/1001."
    )
    constant_rate = forms.BooleanField(label="The rate must be constant", required=False)
    frame_count = _whole("Length", "Frames. Left out, the film’s own length counts.")
    frame_tolerance = _whole("Length may differ by", "Frames.")
    duration = _number("Duration", "Seconds, where length is not said in frames.")
    duration_tolerance = _number("Duration may differ by", "Seconds.")
    colour_primaries = _code(PRIMARIES, "Colour primaries")
    colour_transfer = _code(TRANSFERS, "Transfer curve")
    colour_matrix = _code(MATRICES, "Colour matrix")
    colour_range = _choice(RANGES.values(), "Colour range")
    black_head = _whole("Black at the head", "The most frames allowed, 0 for none.")
    black_inside = _whole("Black inside", "The most frames in one piece, 0 for none.")
    black_tail = _whole("Black at the end", "The most frames allowed, 0 for none.")
    frozen = forms.BooleanField(label="Look for frozen pictures", required=False)
    freeze = _whole("Longest frozen picture", "Frames; left out, one second.")
    cadence = _whole("Frames for each picture", "Left out, the film’s own exposure counts.")
    flash_general = _whole("General flashes", "The most in any second; WCAG 2.2 allows 3.")
    flash_red = _whole("Red flashes", "The most in any second; WCAG 2.2 allows 3.")
    audio = _choice(("present", "none"), "Sound")
    audio_codec = _choice(AUDIO_CODECS, "Audio codec")
    sample_rate = _whole("Sample rate", "Hertz, as 48000.")
    channels = _whole("Channels", "1 mono, 2 stereo, 6 for 5.1.")
    loudness = _number("Integrated loudness", "LUFS (ITU-R BS.1770), as −23.")
    loudness_tolerance = _number("Loudness may differ by", "LU. Left out, 0.5.")
    true_peak = _number("Highest true peak", "dBTP, as −1.")
    captions = _choice(("any", "srt", "webvtt"), "Captions file")
    stills = _whole("Still frames", "How many, as a poster. A person ticks them off.")

    class Meta:
        model = StudioSpecification
        fields = ["title"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.initial |= _initial(self.instance.items)

    @property
    def groups(self) -> list[Group]:
        """The items, those that belong together side by side."""
        return [Group(title, tuple(self[name] for name in names)) for title, names in GROUPS]

    @property
    def compared(self) -> list[str]:
        return ["title", *(field for _, names in GROUPS for field in names)]

    @property
    def changes(self) -> dict:
        return super().changes | {"items": to_json(Specification(**self.read))}

    def clean(self) -> dict:
        cleaned = super().clean()
        self.read: dict[str, object] = {}
        for item, value in _typed(cleaned):
            self._read(item, value)
        return cleaned

    def _read(self, item: str, value: object) -> None:
        """Let the trade read one item; what it refuses stands at the item's own field."""
        parts = PARTS.get(item, {})
        first = next(iter(parts.values()), item)
        if item in NEEDS_FIRST and next(iter(parts)) not in value:
            other = next(parts[part] for part in value)
            label = self.fields[first].label.lower()
            self.add_error(other, f"Say the {label} too, or leave this empty.")
            return
        try:
            self.read[item] = READERS[item](item, value)
        except SpecificationRefused as refusal:
            sentence = str(refusal).replace(item, LABELS[item], 1)
            self.add_error(_field_named(sentence, parts) or first, sentence)


def _field_named(sentence: str, parts: dict[str, str]) -> str | None:
    """The field of the part a refusal speaks of, as in “Loudness tolerance must be …”."""
    return next((field for part, field in parts.items() if f" {part} must" in sentence), None)


def _typed(cleaned: dict) -> Iterator[tuple[str, object]]:
    """Each item that was filled in, as the JSON value it stands for."""
    for item in LABELS:
        value = _value(item, cleaned)
        if value is not None:
            yield item, value


def _value(item: str, cleaned: dict) -> object:
    """What was filled in for one item, as JSON; None where nothing was."""
    if item in PARTS:
        filled = {part: _plain(cleaned.get(field)) for part, field in PARTS[item].items()}
        value = {part: one for part, one in filled.items() if one is not None} or None
    else:
        value = _plain(cleaned.get(item))
    if item == "freeze" and value is None:
        return cleaned.get("frozen") or None
    return round(value * MEGABYTE) if item == "size" and value is not None else value


def _plain(value: object) -> object:
    """A typed value as JSON; None for an empty field and for a box that is not ticked."""
    if value in (None, "") or value is False:
        return None
    return str(value) if isinstance(value, Fraction) else value


def _initial(items: dict) -> dict:
    """What the fields show for items that are kept."""
    initial = {}
    for item, value in items.items():
        fields = PARTS.get(item)
        if fields and isinstance(value, dict):
            initial |= {fields[part]: one for part, one in value.items()}
        elif item == "freeze":
            initial["frozen"] = True
        elif item == "frame_rate":
            initial[item] = Fraction(value)
        elif item == "size":
            initial[item] = value / MEGABYTE
        else:
            initial[item] = value
    return initial


class SpecificationFileForm(forms.Form):
    """A specification from its file, or pasted."""

    file = forms.FileField(label="The file", required=False, help_text="A SPEC.json.")
    pasted = forms.CharField(
        label="Or paste it",
        required=False,
        widget=forms.Textarea(attrs={"rows": 8, "spellcheck": "false"}),
    )

    def clean(self) -> dict:
        cleaned = super().clean()
        file, pasted = cleaned.get("file"), cleaned.get("pasted", "")
        if not file and not pasted:
            self.add_error("file", "Choose a file, or paste what stands in it.")
            return cleaned
        try:
            content = file.read(LARGEST_TEXT + 1) if file else pasted.encode()
            cleaned["specification"] = from_text(content)
        except SpecificationRefused as refusal:
            self.add_error("file" if file else "pasted", str(refusal))
        return cleaned

    @property
    def specification(self) -> Specification:
        return self.cleaned_data["specification"]

    @property
    def title(self) -> str:
        """The title in it, else the file's name."""
        file = self.cleaned_data.get("file")
        stem = file.name.rpartition(".")[0] if file else ""
        return self.specification.title or stem[:120] or "Specification"
