"""Sizes of files as people read them."""

UNITS = (("GB", 10**9), ("MB", 10**6), ("kB", 1000))


def file_size(size: int) -> str:
    """Bytes in decimal units (SI; IEC 80000-13 calls the powers of 1024 kibi, mebi, gibi)."""
    for unit, bytes_ in UNITS:
        if size >= bytes_:
            return f"{size / bytes_:,.1f} {unit}"
    return f"{size} bytes" if size != 1 else "1 byte"
