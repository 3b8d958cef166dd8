"""The invented films of the demo studio: set-ups, shots, and the days they were shot."""

from dataclasses import dataclass


@dataclass(frozen=True)
class DemoShot:
    """A shot of the demo: length in frames, and how many of its frames are held or reused."""

    code: str
    setup: str
    difficulty: str
    frames: int
    description: str
    held: int = 0
    holds: int = 0
    reused: int = 0


@dataclass(frozen=True)
class DemoDay:
    """One day's session: working days ago, hours, set-up minutes, and kept/discarded by shot."""

    days_ago: int
    hours: float
    setup_minutes: int
    output: dict[str, tuple[int, int]]
    incident: tuple[str, str] | None = None


FOX_SETUPS = [
    ("K1", "Kitchen, wide", "50.0", "8.0", "1/4", [("Key through the window", 650), ("Fill", 150)]),
    ("K2", "Kitchen, close on the fox", "85.0", "5.6", "1/2", [("Key", 300), ("Rim", 150)]),
    ("S1", "Street, the bus stop", "35.0", "8.0", "1/4", [("Sky", 650), ("Street lamp", 60)]),
    ("B1", "Inside the bus", "50.0", "5.6", "1/2", [("Window bank", 300), ("Ceiling", 100)]),
]
FOX_SHOTS = [
    DemoShot("010", "K1", "easy", 60, "Alarm clock rings; the fox sleeps on", held=24, holds=1),
    DemoShot("020", "K2", "medium", 48, "Fox opens one eye, then the other"),
    DemoShot("030", "K1", "hard", 72, "Fox leaps out of bed, blanket flies"),
    DemoShot("040", "K2", "medium", 36, "Toast pops; fox catches it in the scarf"),
    DemoShot("050", "K1", "medium", 60, "Out of the door; the hat stays", held=12, holds=1),
    DemoShot("060", "S1", "hard", 96, "Fox runs to the stop, three strides a cycle", reused=32),
    DemoShot("070", "S1", "easy", 48, "The bus waits, engine trembling", reused=24),
    DemoShot("080", "S1", "medium", 60, "The doors close on the tip of the tail"),
    DemoShot("090", "S1", "hard", 72, "Fox tugs; the tail comes free; fox sits down hard"),
    DemoShot("100", "S1", "easy", 36, "The bus leaves; felt dust settles", held=18, holds=1),
    DemoShot("110", "B1", "medium", 48, "Driver sees the hat in the mirror"),
    DemoShot("120", "B1", "medium", 48, "Driver brakes; passengers lean, one cup falls"),
    DemoShot("130", "S1", "medium", 60, "The bus comes back, backwards"),
    DemoShot("140", "B1", "easy", 36, "Fox gets in, out of breath"),
    DemoShot("150", "K1", "easy", 60, "The hat on its hook; the kettle boils", held=30, holds=2),
]  # fmt: skip
FOX_DAYS = [
    DemoDay(10, 6.5, 90, {"010": (19, 1)}),
    DemoDay(9, 7.0, 20, {"030": (22, 4)}),
    DemoDay(8, 6.0, 15, {"030": (14, 6)}, ("bump", "Elbow on the table at picture 31")),
    DemoDay(7, 7.0, 10, {"050": (25, 0)}),
    DemoDay(6, 4.0, 75, {"020": (14, 2)}),
    DemoDay(5, 7.0, 10, {"020": (10, 0), "040": (18, 1)}),
    DemoDay(4, 6.5, 110, {"070": (12, 0)}, ("lamp", "Street lamp replaced")),
    DemoDay(3, 3.0, 30, {"060": (0, 9)}, ("puppet", "Left knee wire broke; mended overnight")),
    DemoDay(2, 7.0, 10, {"060": (21, 3)}),
    DemoDay(1, 6.5, 10, {"060": (11, 0), "100": (10, 1)}),
]
BOAT_SHOTS = [
    DemoShot("A1", "W1", "easy", 60, "Rain fills the gutter; a paper boat unfolds"),
    DemoShot("A2", "W1", "medium", 72, "The boat turns into the current", reused=24),
    DemoShot("A3", "W1", "hard", 96, "Rapids of crumpled foil"),
    DemoShot("A4", "W2", "medium", 60, "A wire heron watches", held=30, holds=1),
    DemoShot("A5", "W2", "hard", 72, "The heron strikes; the boat ducks"),
    DemoShot("A6", "W2", "easy", 48, "Harbour of bottle caps", held=24, holds=1),
]
ORCHESTRA_SHOTS = [
    DemoShot("1", "H1", "easy", 48, "The conductor taps the stand", held=12, holds=1),
    DemoShot("2", "H1", "medium", 72, "Strings lean into the first bar"),
    DemoShot("3", "H1", "medium", 60, "The triangle misses its cue"),
    DemoShot("4", "H2", "hard", 84, "The tuba swells, and swells"),
    DemoShot("5", "H2", "hard", 60, "The tuba bursts into pigeons"),
    DemoShot("6", "H1", "easy", 48, "Silence; one clay hand claps", held=30, holds=1),
    DemoShot("7", "H1", "medium", 48, "Curtain", reused=20),
]
ORCHESTRA_DAYS = [
    DemoDay(90, 7.0, 100, {"1": (19, 1)}),
    DemoDay(89, 7.0, 15, {"2": (36, 5)}),
    DemoDay(88, 6.0, 10, {"3": (30, 2)}),
    DemoDay(87, 6.5, 10, {"6": (10, 0), "7": (14, 0)}),
    DemoDay(86, 5.0, 95, {"4": (12, 3)}),
    DemoDay(85, 7.0, 10, {"4": (21, 6)}),
    DemoDay(84, 6.5, 20, {"4": (9, 0), "5": (13, 2)}),
    DemoDay(83, 7.0, 10, {"5": (17, 4)}),
]
