"""Thirty worked jacking cases with odd numbers, for tests/heats/worked-jacking.test.ts.

    python3 make-jacking.py > jacking.json        (numpy 1.24 or later)

Nothing here comes from the product: beams are solved by the displacement method (matrix stiffness, two degrees of
freedom a node: Przemieniecki, Theory of Matrix Structural Analysis, 1968, from memory of it), section moduli by adding
up thin strips, and the ceiling is looked for on a fine grid of stations. Inches, kips, ksi throughout.
"""
import json
import random

import numpy as np

E = 29000.0


def solve(supports, forces, EI):
    """supports: (x, stiffness or None for rigid); forces: (x, P). Returns moment function and reactions."""
    xs = sorted({x for x, _ in supports} | {x for x, _ in forces})
    n = len(xs)
    K = np.zeros((2 * n, 2 * n))
    f = np.zeros(2 * n)
    for i in range(n - 1):
        L = xs[i + 1] - xs[i]
        k = EI / L**3 * np.array(
            [[12, 6 * L, -12, 6 * L], [6 * L, 4 * L**2, -6 * L, 2 * L**2],
             [-12, -6 * L, 12, -6 * L], [6 * L, 2 * L**2, -6 * L, 4 * L**2]])
        K[2 * i:2 * i + 4, 2 * i:2 * i + 4] += k
    for x, p in forces:
        f[2 * xs.index(x)] += p
    fixed = [2 * xs.index(x) for x, k in supports if k is None]
    for x, k in supports:
        if k is not None:
            K[2 * xs.index(x), 2 * xs.index(x)] += k
    free = [i for i in range(2 * n) if i not in fixed]
    u = np.zeros(2 * n)
    u[free] = np.linalg.solve(K[np.ix_(free, free)], f[free])
    reactions = []
    for x, k in supports:
        i = 2 * xs.index(x)
        reactions.append(float(f[i] - K[i] @ u) if k is None else float(k * u[i]))

    def moment(x):
        # From statics alone: M = sum of what stands to the left, support forces up, loads down.
        return sum(r * max(0.0, x - s) for (s, _), r in zip(supports, reactions)) - sum(
            p * max(0.0, x - a) for a, p in forces)

    return moment, reactions


def plastic_modulus(b, t, n=20000):
    y = (np.arange(n) + 0.5) / n * b - b / 2
    return float(np.sum(np.abs(y)) * t * b / n)


def inertia(b, t, n=20000):
    y = (np.arange(n) + 0.5) / n * b - b / 2
    return float(np.sum(y**2) * t * b / n)


def case(rng, i):
    spans = [round(rng.uniform(7.3, 26.9) * 12, 1) for _ in range(rng.choice([1, 2, 3, 3, 4, 4, 5]))]
    stations = [0.0]
    for s in spans:
        stations.append(round(stations[-1] + s, 1))
    b, t = round(rng.uniform(7.1, 17.9), 2), round(rng.uniform(0.51, 1.63), 3)
    fy = rng.choice([33.0, 36.0, 50.0])
    k = round(rng.uniform(0.21, 0.5), 3)
    Z, I = plastic_modulus(b, t), inertia(b, t)
    soft = i % 3 == 2 and len(spans) > 1
    supports = [(x, None) for x in stations]
    if soft:
        supports = [(x, None if x in (0.0, stations[-1]) else round(rng.uniform(2.0, 60.0), 2)) for x in stations]
    jacks = []
    for _ in range(rng.choice([1, 1, 2, 3])):
        bay = rng.randrange(len(spans))
        jacks.append((round(stations[bay] + spans[bay] * rng.uniform(0.13, 0.87), 1), round(rng.uniform(1.9, 21.3), 2)))
    moment, reactions = solve(supports, jacks, E * I)  # ram areas as forces: per ksi of gauge pressure
    # The moment is straight between supports and jacks: a fine grid and those places themselves.
    grid = sorted(set(np.linspace(0, stations[-1], 20001)) | set(stations) | {x for x, _ in jacks})
    worst = max(grid, key=lambda x: abs(moment(x)))
    p = k * fy * Z / abs(moment(worst))
    return dict(
        spans=spans, supports=[dict(x=x, stiffness=s) for x, s in supports], b=b, t=t, fy=fy, fraction=k,
        jacks=[dict(x=x, area=a) for x, a in jacks], psi=p * 1000, governsAt=float(worst),
        reactions=[r * p for r in reactions], Z=Z)


if __name__ == "__main__":
    rng = random.Random(20)
    print(json.dumps([case(rng, i) for i in range(30)], indent=1))
