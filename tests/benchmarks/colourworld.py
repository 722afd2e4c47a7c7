"""A made-up world for colour trials: printers, paints and makers' eyes, each with its own faults.

Nothing in decaljobs.craft knows these formulas. A printer bends each channel (its own gamma and
dot gain), lets channels leak into each other, cannot get quite black, tints the paper and
scatters a little from patch to patch. A maker types a first guess that is some way off, ranks
patches with an unsteady eye and sometimes names the wrong fault.
"""

from dataclasses import dataclass

import numpy as np

from decaljobs.craft.colour import ciede2000, lab_from_linear, srgb_from_lab


@dataclass(frozen=True)
class Printer:
    """A printer with one paper or film in it."""

    gamma: np.ndarray  # per channel
    gain: np.ndarray  # dot gain at half coverage, 0 to 0.2
    leak: np.ndarray  # 3 x 3, rows sum to 1
    black: np.ndarray  # reflectance of full ink
    white: np.ndarray  # reflectance of the bare paper
    scatter: float  # standard deviation of a printed patch, CIELAB units

    def light(self, rgb: np.ndarray) -> np.ndarray:
        """Reflected linear light of file values 0 to 255, without scatter."""
        ink = 1 - (np.asarray(rgb, dtype=float) / 255) ** self.gamma
        ink = ink + 4 * self.gain * ink * (1 - ink)
        bare = (1 - ink) @ self.leak.T
        return (self.black + (1 - self.black) * bare) * self.white

    def lab(self, rgb: np.ndarray) -> np.ndarray:
        return lab_from_linear(self.light(rgb))

    def prints(self, rgb: np.ndarray, rng: np.random.Generator) -> np.ndarray:
        """CIELAB of patches as they came out of the printer."""
        lab = self.lab(rgb)
        return lab + rng.normal(0, self.scatter, lab.shape)


def make_printer(rng: np.random.Generator) -> Printer:
    leak = rng.uniform(0.0, 0.10, (3, 3))
    np.fill_diagonal(leak, 0.0)
    np.fill_diagonal(leak, 1.0 - leak.sum(axis=1))
    return Printer(
        gamma=rng.uniform(1.7, 2.7) + rng.uniform(-0.15, 0.15, 3),
        gain=rng.uniform(0.0, 0.15) + rng.uniform(0.0, 0.05, 3),
        leak=leak,
        black=rng.uniform(0.01, 0.04) * rng.uniform(0.8, 1.2, 3),
        white=rng.uniform(0.84, 0.95) * rng.uniform(0.96, 1.0, 3),
        scatter=rng.uniform(0.2, 0.5),
    )


def make_film(printer: Printer, rng: np.random.Generator) -> Printer:
    """The same printer with film in it: other whiteness, other gain, more leak."""
    return Printer(
        gamma=printer.gamma + rng.normal(0, 0.05, 3),
        gain=np.clip(printer.gain + rng.normal(0, 0.015, 3), 0, 0.2),
        leak=printer.leak,
        black=printer.black * rng.uniform(0.7, 1.3),
        white=printer.white * rng.uniform(0.97, 1.03, 3),
        scatter=printer.scatter,
    )


def closest(printer: Printer, paint: np.ndarray) -> tuple[float, np.ndarray]:
    """The smallest difference that the printer can reach, and the file values for it."""
    steps = np.linspace(0, 255, 14)
    rgb = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 3)
    rng = np.random.default_rng(1)
    reach = 12.0
    best = rgb[np.argmin(ciede2000(printer.lab(rgb), paint))]
    for _ in range(6):
        near = np.clip(best + rng.normal(0, reach, (400, 3)), 0, 255)
        near = np.vstack([best, near])
        best = near[np.argmin(ciede2000(printer.lab(near), paint))]
        reach *= 0.5
    return float(ciede2000(printer.lab(best), paint)), best


def make_paint(rng: np.random.Generator) -> np.ndarray:
    """CIELAB of a paint as models wear it: any lightness, mostly muted, some strong."""
    while True:
        chroma, turn = 65 * rng.beta(1.3, 2.0), rng.uniform(0, 2 * np.pi)
        lab = np.array([rng.uniform(15, 90), chroma * np.cos(turn), chroma * np.sin(turn)])
        if srgb_from_lab(lab)[1]:
            return lab


def paint_within(printer: Printer, rng: np.random.Generator) -> np.ndarray:
    """A paint that this printer can match."""
    while True:
        paint = make_paint(rng)
        if closest(printer, paint)[0] < 0.5:
            return paint


def paint_beyond(printer: Printer, rng: np.random.Generator) -> tuple[np.ndarray, float]:
    """A paint that this printer misses by more than 2, and by how much."""
    while True:
        turn, chroma = rng.uniform(0, 2 * np.pi), rng.uniform(20, 100)
        light = rng.uniform(3, 97)
        paint = np.array([light, chroma * np.cos(turn), chroma * np.sin(turn)])
        if srgb_from_lab(paint)[1]:
            limit = closest(printer, paint)[0]
            if limit > 2:
                return paint, limit


@dataclass(frozen=True)
class Maker:
    """A maker's eye: how steadily it ranks, how often a word is wrong, how far a guess is off."""

    unsteady: float = 0.25
    blur: float = 0.5
    wrong_word: float = 0.15
    notice: float = 1.0
    guess: float = 6.0

    def first_guess(self, paint: np.ndarray, rng: np.random.Generator) -> tuple[int, int, int]:
        rgb, _ = srgb_from_lab(paint + rng.normal(0, self.guess, 3))
        red, green, blue = np.rint(rgb).astype(int)
        return int(red), int(green), int(blue)

    def best_three(
        self, seen: np.ndarray, paint: np.ndarray, rng: np.random.Generator
    ) -> list[int]:
        """Positions of the three patches that look nearest, best first."""
        apart = ciede2000(seen, paint)
        felt = apart * np.exp(rng.normal(0, self.unsteady, len(apart)))
        felt = felt + rng.normal(0, self.blur, len(apart))
        return [int(place) for place in np.argsort(felt)[:3]]

    def words(
        self, patch: np.ndarray, paint: np.ndarray, rng: np.random.Generator
    ) -> tuple[str, ...]:
        """How the patch is off: at most two words, the plainest first, now and then wrong."""
        strength = np.hypot(*patch[1:]) - np.hypot(*paint[1:])
        faults = [
            (patch[0] - paint[0], "lighter", "darker"),
            ((patch[1] - paint[1]) * 0.8, "redder", "greener"),
            ((patch[2] - paint[2]) * 0.8, "yellower", "bluer"),
            (strength * 0.6, "stronger", "weaker"),
        ]
        faults = [(size + rng.normal(0, self.blur), more, less) for size, more, less in faults]
        faults.sort(key=lambda fault: -abs(fault[0]))
        named = []
        for size, more, less in faults[:2]:
            if abs(size) >= self.notice:
                truth = size > 0
                slip = rng.random() < self.wrong_word
                named.append(more if truth != slip else less)
        return tuple(named)


def plain_steps(
    printer: Printer, paint: np.ndarray, maker: Maker, rng: np.random.Generator, rounds: int = 3
) -> float:
    """Trial and error as done without help: a few patches a round, each number up or down a step.

    Each round prints the present best and six variations, one channel 12 file values up or down;
    the nicest is kept. Returns how far off the last choice is.
    """
    best = np.array(maker.first_guess(paint, rng), dtype=float)
    for _ in range(rounds):
        tries = np.clip(best + 12 * np.vstack([np.zeros(3), np.eye(3), -np.eye(3)]), 0, 255)
        seen = printer.prints(tries, rng)
        best = tries[maker.best_three(seen, paint, rng)[0]]
    return float(ciede2000(printer.lab(best), paint))
