"""What no forecast can better: `python3 tests/bench/plan-bound.py [damages] [draws] [seed]` (numpy).

The agencies of plan-agencies.ts, drawn anew from their description in another language, no code shared. For each damage two
forecasters who are never wrong about chance: one knows the very ways of the agency, as no number of past jobs can teach
better; the other knows how agencies differ and nothing of this one, as without a past. Each gives the 80 % interval of the
days straight from the futures themselves, as much left out on either side (and the shortest there is). Printed is the middle
width over the middle of the days, and the ratio of the two: a past can narrow honest intervals by no more than that.
"""
import sys

import numpy as np

DAMAGES, DRAWS, SEED = (int(sys.argv[i]) if len(sys.argv) > i else d for i, d in ((1, 120), (2, 1500), (3, 1)))
rng = np.random.default_rng(SEED)


def ways(n):
    return dict(
        ratio=rng.uniform(0.45, 1.25, n),
        dead=0.03 + 0.25 * rng.uniform(size=n) ** 2,
        vees=rng.uniform(2, 5.5, n),
        paint=rng.uniform(1, 5, n),
        beside=np.array([2, 2, 1, 1]) @ rng.uniform(0.6, 1.5, (4, n)),
        plating=rng.uniform(0.6, 1.5, n),
        scatter=rng.uniform(0.15, 0.5, n),
        per_cycle=rng.uniform(0.8, 1.3, n),
    )


def damage(jobs_done):
    span, size, zones = rng.uniform(12, 40), rng.uniform(0.05, 0.45), rng.integers(1, 4)
    shares = 0.4 + rng.uniform(size=zones)
    at = span * (np.arange(1, zones + 1) / (zones + 1) + rng.uniform(-0.05, 0.05, zones))
    a, b = np.meshgrid(at, at)
    lever = np.where(a <= b, a * (span - b), b * (span - a)) / span
    rotation = shares * size / (lever @ shares).max()
    crew = 1 + 0.15 * min(jobs_done, 3)
    return dict(lever=lever, rotation=rotation, vee=rng.uniform(0.0015, 0.0035), size=size, crew=crew)


def days(d, w, n):
    """Working days of n futures of one damage, ways w (arrays of n)."""
    ratio = w["ratio"] * rng.gamma(12, 1 / 12, n)
    pace = np.maximum(1, w["vees"] * d["crew"] * rng.uniform(0.8, 1.2, n))
    left = np.tile(d["rotation"], (n, 1))
    rows = np.arange(n)
    cycles, spell, carried = np.zeros(n, int), np.zeros(n, int), np.zeros(n)
    going = np.ones(n, bool)
    for _ in range(250):
        going = going & ((left @ d["lever"].T).max(axis=1) > 0.0127)
        if not going.any():
            break
        cycles[going] += 1
        carried += pace
        count = np.maximum(1, np.floor(carried)).astype(int)
        carried = np.maximum(0, carried - count)
        begins = (spell == 0) & (rng.uniform(size=n) < 0.7 * w["dead"])
        spell = np.where(spell > 0, spell - 1, np.where(begins, 1 + (rng.uniform(size=n) < 0.3), 0))
        turned = ratio * (1 + np.sqrt(3) * w["scatter"] * rng.uniform(-1, 1, n))
        for vee in range(count.max()):
            now = going & (spell == 0) & (vee < count)
            most = left.argmax(axis=1)
            step = turned * d["vee"] * rng.uniform(0.7, 1.3, n)
            left[rows[now], most[now]] = np.maximum(0, left[rows[now], most[now]] - step[now])
    heating = np.maximum(1, np.round(cycles * w["per_cycle"] * (1 + 0.05 * rng.normal(size=n))))
    beside = rng.poisson(w["beside"] + (3 if d["size"] > 0.3 else 1) * w["plating"], n)
    return heating + beside + 1 + rng.poisson(w["paint"] * (0.5 + d["size"]))


def widths(x):
    x = np.sort(x)
    low, high = x[int(0.1 * len(x))], x[int(0.9 * len(x))]
    k = int(np.ceil(0.8 * len(x))) - 1
    return high - low, (x[k:] - x[: len(x) - k]).min(), np.median(x)


known, unknown, shortest, blind = [], [], [], []
for _ in range(DAMAGES):
    d = damage(10)
    one = {k: np.repeat(v, DRAWS) for k, v in ways(1).items()}
    a, s, middle = widths(days(d, one, DRAWS))
    b, t, middle_all = widths(days(d, ways(DRAWS), DRAWS))
    known.append(a / middle)
    shortest.append(s / middle)
    unknown.append(b / middle_all)
    blind.append(t / middle_all)
m = np.median
print(f"{DAMAGES} damages, {DRAWS} futures each, seed {SEED}")
print(f"ways known: middle width {m(known):.2f} of the days (shortest interval {m(shortest):.2f})")
print(f"only the population known: {m(unknown):.2f} ({m(blind):.2f})")
print(f"ratio {m(known) / m(unknown):.2f} ({m(shortest) / m(blind):.2f})")
