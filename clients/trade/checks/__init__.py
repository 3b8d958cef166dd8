"""The delivery checks: pure measures over cells and samples, and pure judges over facts."""
