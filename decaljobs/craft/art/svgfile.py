"""SVG drawings told from other files by how they begin."""


def looks_like_svg(data: bytes) -> bool:
    """Whether the bytes begin as an SVG drawing does.

    >>> looks_like_svg(b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg"/>')
    True
    >>> looks_like_svg(b"<!doctype html><p>art")
    False
    """
    start = data[:4096].lstrip(b"\xef\xbb\xbf \t\r\n")
    return start.startswith(b"<") and b"<svg" in data[:65536]
