"""Draws one SVG from standard input as a PNG on standard output, and can do nothing else.

Run by itself in a process of its own (see svg_reading.py), never imported by the program.
"""

import sys

MEMORY_BYTES = 1_500_000_000  # a picture of 40 megapixels takes 160 million, encoding as much
CPU_SECONDS = 20


def close_the_doors() -> None:
    """Cap memory and time, and let no further file be opened, where the system can."""
    try:
        import resource
    except ImportError:  # Windows: the caller's clock and the checked drawing must do
        return
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (CPU_SECONDS, CPU_SECONDS))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    resource.setrlimit(resource.RLIMIT_NOFILE, (3, 3))


def main() -> None:
    import resvg_py

    drawing = sys.stdin.buffer.read().decode()
    close_the_doors()
    picture = resvg_py.svg_to_bytes(svg_string=drawing, skip_system_fonts=True)
    sys.stdout.buffer.write(bytes(picture))


if __name__ == "__main__":
    main()
