"""Eight plates on odd readings, for tests/plates/worked-plates.test.ts.

    python3 make_plates.py > plates.json        (numpy 1.24, scipy 1.10 or later)

Nothing here comes from the product. How a rigid plate lies is a linear programme (lowest at its centre of all planes on
or above every reading) given to scipy's HiGHS; gaps are taken from readings as written, string set-up and all, which a
rigid plate does not see. Uncertainty: the plane's weights on its contacts are found by solving for them, then GUM 5.1.2.
Fillers by trying every stack. The force that draws the plate down: the plate as a beam on its contacts by the
displacement method (stiffness of two-node beam elements, from memory of any text), load and deflection at the gap.
Inches, kips, ksi; stations in feet.
"""
import itertools
import json
import math
import random

import numpy as np
from scipy.optimize import linprog

E = 29000.0


def lie(points, centre):
    """points (x, z, h) in inches: plane a + b (x - xc) + c (z - zc), its contacts, weights of the contacts at a place."""
    row = len({z for _, z, _ in points}) == 1
    place = (lambda x, z: [1.0, x - centre[0]]) if row else (lambda x, z: [1.0, x - centre[0], z - centre[1]])
    A = np.array([place(x, z) for x, z, _ in points])
    h = np.array([h for _, _, h in points])
    n = A.shape[1]
    best = linprog([1.0] + [0.0] * (n - 1), A_ub=-A, b_ub=-h, bounds=[(None, None)] * n, method="highs")
    assert best.status == 0, best.message
    plane = best.x
    contacts = [i for i in range(len(points)) if abs(A[i] @ plane - h[i]) < 1e-7]
    assert len(contacts) == n, "the odd numbers are to give one set of contacts"
    inverse = np.linalg.inv(A[contacts])
    return plane, contacts, lambda x, z: np.array(place(x, z)) @ inverse, lambda x, z: float(np.dot(place(x, z), plane))


def stiffness_force(at, gap, rests, EI, held):
    """Point force (kip) that lowers the plate by `gap` at `at`. It rests on the nearest contact either side (off the end:
    on the last two), for a contact only pushes up: beyond its neighbours the plate lifts off. `held`: it cannot turn there."""
    below, above = [x for x in rests if x < at], [x for x in rests if x > at]
    near = [below[-1], above[0]] if below and above else (below[-2:] if below else above[:2])
    xs = sorted(set(near) | {at})
    n = len(xs)
    K = np.zeros((2 * n, 2 * n))
    for i in range(n - 1):
        L = xs[i + 1] - xs[i]
        K[2 * i:2 * i + 4, 2 * i:2 * i + 4] += EI / L**3 * np.array(
            [[12, 6 * L, -12, 6 * L], [6 * L, 4 * L**2, -6 * L, 2 * L**2],
             [-12, -6 * L, 12, -6 * L], [6 * L, 2 * L**2, -6 * L, 4 * L**2]])
    free = [i for i in range(2 * n) if not (xs[i // 2] in near and (held or i % 2 == 0))]
    f = np.zeros(2 * n)
    f[2 * xs.index(at)] = 1.0
    u = np.linalg.solve(K[np.ix_(free, free)], f[free])
    return gap / u[free.index(2 * xs.index(at))]


def fill(gap, stock, plies):
    stacks = [s for k in range(plies + 1) for s in itertools.combinations_with_replacement(stock, k)]
    return max((sum(s) for s in stacks if sum(s) <= gap + 1e-6 / 0.0254), default=0.0)


def case(rng, i):
    kind = ["row", "row", "tilt", "across", "row", "across", "tilt", "row"][i]
    side = "negative" if i in (1, 5) else "positive"
    sign = -1 if side == "negative" else 1
    width_flange = round(rng.uniform(9.1, 16.7), 2)
    width = round(width_flange * rng.uniform(0.61, 0.97), 2) if i % 3 else None
    t = round(rng.uniform(0.31, 0.93), 3)
    sd = round(rng.uniform(0.008, 0.047), 4)
    string = 0.0 if i in (0, 7) else round(rng.uniform(0.011, 0.063), 4)
    stations = [0.0]
    while stations[-1] < 52:
        stations.append(round(stations[-1] + rng.uniform(0.9, 2.3), 2))
    bow = rng.uniform(0.4, 1.3)
    shape = lambda x, k: (bow * ((x - 24.3) / 7) ** 2 if i % 2 == 0 else 0.2 * math.sin(x / 1.9 + k)) + rng.uniform(-0.14, 0.14)
    read = {"flange": {x: round(4.0 + 0.013 * x + shape(x, 0), 3) for x in stations}}
    start, end = round(rng.uniform(17, 19), 2), round(rng.uniform(29, 31), 2)
    plate = dict(name="cover", line="flange", thickness=f"{t} in", side=side, maxPlies=rng.choice([1, 2, 3]),
                 fillers=[f"{s} in" for s in (0.06, 0.13, 0.29)], gapLimit=f"{rng.choice([0.05, 0.09, 0.11])} in",
                 gapLimitSource="worked case", pullIn=f"{round(rng.uniform(0.4, 9.7), 2)} kip", pullInSource="worked case")
    plate["from"], plate["to"] = f"{start} ft", f"{end} ft"
    if width is not None:
        plate["width"] = f"{width} in"
    w = width_flange if width is None else width
    across = {}
    if kind == "tilt":
        plate["tilt"] = "tilt"
        read["tilt"] = {x: round(0.21 + 0.017 * x + rng.uniform(-0.17, 0.17), 3) for x in stations}
    if kind == "across":
        across = {"second": round(rng.uniform(2.3, 5.1), 2), "third": -round(rng.uniform(2.3, 5.1), 2)}
        plate["across"] = [dict(line=n, at=f"{z} in") for n, z in across.items()]
        for k, n in enumerate(across, 1):
            read[n] = {x: round(3.7 - 0.009 * x + shape(x, k), 3) for x in stations}

    def at(line, x):
        xs = sorted(read[line])
        if x in read[line]:
            return {(line, x): 1.0}
        a = max(s for s in xs if s < x)
        b = min(s for s in xs if s > x)
        s = (x - a) / (b - a)
        return {(line, a): 1 - s, (line, b): s}

    value = lambda parts: sum(k * read[n][x] for (n, x), k in parts.items())
    places = sorted({start, end} | {x for x in stations if start <= x <= end})
    points, parts = [], []  # (x in, z in, height toward the plate), readings it rests on with their share
    for line, z in [("flange", 0.0), *across.items()]:
        for x in places:
            own = {k: sign * v for k, v in at(line, x).items()}
            if kind != "tilt":
                points.append((12 * x, z, value(own)))
                parts.append(own)
                continue
            for edge in (1, -1):
                share = edge * sign * (w / 2) / width_flange
                both = dict(own)
                for k, v in at("tilt", x).items():
                    both[k] = both.get(k, 0.0) + share * v
                points.append((12 * x, edge * w / 2, value(both)))
                parts.append(both)
    zs = [z for _, z, _ in points]
    centre = (6 * (start + end), (min(zs) + max(zs)) / 2)
    plane, contacts, weights, level = lie(points, centre)
    rests = sorted({round(points[c][0], 9) for c in contacts})
    stock, EI = [0.06, 0.13, 0.29], E * w * t**3 / 12
    limit, pull = float(plate["gapLimit"].split()[0]), float(plate["pullIn"].split()[0])
    gaps = []
    for k, (x, z, h) in enumerate(points):
        contact = k in contacts
        gap = 0.0 if contact else level(x, z) - h
        u = 0.0
        if not contact:
            shares = {}
            for c, weight in zip(contacts, weights(x, z)):
                for key, v in parts[c].items():
                    shares[key] = shares.get(key, 0.0) + weight * v
            for key, v in parts[k].items():
                shares[key] = shares.get(key, 0.0) - v
            rows = {}
            for (n, _), v in shares.items():
                rows[n] = rows.get(n, 0.0) + v
            u = math.sqrt(sum((sd * v) ** 2 for v in shares.values()) + sum((string * v) ** 2 for v in rows.values()))
        left = max(0.0, gap - fill(gap, stock, plate["maxPlies"]))
        draw = None
        if not contact and left >= 1e-4 and len(rests) > 1 and round(x, 9) not in rests:
            draw = [float(stiffness_force(x, left, rests, EI, held)) for held in (False, True)]
        result = "within" if left + 2 * u <= limit else "outside" if left - 2 * u > limit else "undetermined"
        gaps.append(dict(x=x / 12, z=z, gap=float(gap), u=float(u), contact=contact, left=float(left),
                         draw=draw,
                         closes=None if draw is None or draw[0] <= pull < draw[1] else draw[1] <= pull, result=result))
    return dict(kind=kind, rocks=bool(len(contacts) > 2 and min(abs(weights(*centre))) < 1e-9), flange=width_flange, sd=sd, string=string, plate=plate, gaps=gaps,
                readings=[dict(line=n, station=x, offset=y) for n, r in read.items() for x, y in r.items()],
                lines={n: "tilt" if n == "tilt" else "sweep" for n in read}, end=stations[-1])


rng = random.Random(1504)
print(json.dumps([case(rng, i) for i in range(8)], indent=1))
