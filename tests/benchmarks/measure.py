"""How exact and how fast measuring is, and how much memory it takes.

    python -m tests.benchmarks.measure

Exactness is told on shapes whose answer is known (tests/craft/artshapes.py). Each speed is
taken in a process of its own; memory is its peak, with Python and the libraries in it. Times
are the processor's, so that a busy machine does not blur them, with the clock's beside them.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from PIL import Image

from decaljobs.craft.artwork import measure
from decaljobs.craft.knife.kniferoom import LEAST_CLEAR
from decaljobs.craft.pictures import read_picture
from tests.benchmarks.figures import Figure, tell
from tests.craft.artshapes import disc, draw, polygon, star_in_star
from tests.craft.roughart import least_share, rough_art

# seconds and MB that are wanted at most, and aimed at
LIMITS = {
    "20 mm": (1, 0.3, 250),
    "100 mm": (2, 1, 250),
    "A4": (12, 3, 1000),
    "A4, no two alike": (12, 3, 1000),
}


def exactness() -> None:
    turn = np.linspace(0, 2 * np.pi, 100_001)
    widths = np.sqrt(100 + 0.09 - 6 * np.cos(turn)) - 9
    for dpi in (300, 600, 1200):
        found = measure(draw(disc(12.03, 12.01, 10), disc(12.33, 12.01, 9), (24, 24), dpi), dpi=dpi)
        base = _away(found.base.line.rings, 12.03) + _away(found.base.line.rings, 12.33) - 19
        edge = _away([np.array(found.silhouette.geoms[0].exterior.coords)], 12.03) - 10
        clear = _away(found.clear.rings, 12.03) - 11
        band = (
            found.band.min_mm - widths.min(),
            found.band.p05_mm - np.percentile(widths, 5),
            found.band.median_mm - np.median(widths),
        )
        worst = [np.abs(base).max() / 2, np.abs(edge).max(), np.abs(clear).max()]
        most = 0.03 if dpi == 300 else 0.02
        base_off, *others = map(float, worst)
        tell(Figure(f"base cut off the true middle, {dpi} dpi", base_off, "mm", most, 0.005))
        tell(Figure(f"silhouette and clear cut, {dpi} dpi", max(others), "mm", 0.02, 0.005))
        off = float(np.abs(band).max())
        tell(Figure(f"band's least, 5 % and median, {dpi} dpi", off, "mm", 0.02, 0.01))


def _away(rings: list[np.ndarray], x: float) -> np.ndarray:
    return np.hypot(*(np.concatenate(rings) - (x, 12.01)).T)


def pictures(folder: Path) -> dict[str, Path]:
    """A star of 20 mm, one of 100 mm, and an A4 sheet of 180 markings, all at 600 dpi.

    The sheet holds 90 copies of two markings; once more, with every marking of another size.
    """
    saved = {name: folder / f"{name}.png" for name in LIMITS}
    outer, inner = star_in_star(12, 12, 0.8)
    small = draw(polygon(outer), polygon(inner), (24, 24), 600)
    small.save(saved["20 mm"])
    large = draw(polygon(outer * 4.8), polygon(inner * 4.8), (115.2, 115.2), 600, fine=4)
    large.save(saved["100 mm"])
    round_ = draw(disc(7, 7, 6), disc(7, 7, 5.2), (14, 14), 600)
    sheet = Image.new("RGBA", (4960, 7016))
    marks = [small.resize((330, 330)), round_]
    for index in range(12 * 15):
        sheet.paste(marks[index % 2], (100 + 400 * (index % 12), 100 + 450 * (index // 12)))
    sheet.save(saved["A4"])
    for index in range(12 * 15):
        mark = marks[index % 2].resize((300 + index // 4, 300 + index // 3))
        sheet.paste(mark, (100 + 400 * (index % 12), 100 + 450 * (index // 12)))
    sheet.save(saved["A4, no two alike"])
    return saved


def speeds() -> None:
    with tempfile.TemporaryDirectory() as folder:
        for name, path in pictures(Path(folder)).items():
            done = subprocess.run(  # noqa: S603
                [sys.executable, "-m", "tests.benchmarks.measure", str(path)],
                capture_output=True,
                text=True,
                check=True,
            )
            processor, _clock, peak = map(float, done.stdout.split())
            wanted, aim, megabytes = LIMITS[name]
            tell(Figure(f"measuring {name} at 600 dpi", processor, "s of processor", wanted, aim))
            tell(Figure(f"measuring {name} at 600 dpi, memory", peak, "MB", megabytes))


def roughness(pictures: int = 270) -> None:
    """How many pictures of rough art leave the base cut short of 0.35 of the local width."""
    least = []
    for seed in range(pictures):
        image, dpi = rough_art(seed)
        found = measure(image, dpi=dpi)
        if found.base:
            least.append(least_share(found))
    short = sum(share < LEAST_CLEAR for share in least)
    print(f"rough art: the least share {min(least):.3f}")
    tell(Figure(f"pictures of rough art with less than 0.35 clear, of {len(least)}", short, "", 0))


def one(path: str) -> None:
    image = read_picture(Path(path).read_bytes())
    clock, processor = time.perf_counter(), time.process_time()
    measure(image, dpi=600)
    taken = time.process_time() - processor, time.perf_counter() - clock
    print(f"{taken[0]:6.2f} {taken[1]:6.2f} {_peak_mb():6.0f}")


def _peak_mb() -> float:
    """Peak memory of this process alone; the usual count takes in the parent's on Linux."""
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith("VmHWM:"):
            return int(line.split()[1]) / 1024
    raise OSError("this system does not tell the peak of a process's memory")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        one(sys.argv[1])
    else:
        exactness()
        speeds()
        roughness()
