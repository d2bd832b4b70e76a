"""Fourteen jobs whose flange runs over diaphragms that give, for tests/heats/springs.test.ts.

    python3 make_springs.py > springs.json        (numpy 1.24 or later, make-jacking.py beside it)

Nothing here comes from the product. Each job is solved three times by the displacement method of make-jacking.py: with
rigid diaphragms, with springs as stiff as likely, and with springs softer by exp(2 u). What the blow left is the moment
of its forces at the diaphragms on a simple beam between the bearings, from statics. The ceiling is the lowest gauge
pressure at which jacks and what is locked in, where both bend alike, reach the share; looked for on a fine grid.
Inches, kips, ksi.
"""
import importlib.util
import json
import math
import pathlib
import random

import numpy as np

spec = importlib.util.spec_from_file_location("jacking", pathlib.Path(__file__).with_name("make-jacking.py"))
jacking = importlib.util.module_from_spec(spec)
spec.loader.exec_module(jacking)


def simple(forces, length):
    """Moment of point forces on a simple beam, from statics."""
    left = sum(p * (length - x) / length for x, p in forces)
    return lambda x: left * x - sum(p * max(0.0, x - a) for a, p in forces)


def case(rng, i):
    spans = [round(rng.uniform(9.1, 22.7) * 12, 1) for _ in range(rng.choice([2, 3, 3, 4, 5]))]
    stations = [0.0]
    for s in spans:
        stations.append(round(stations[-1] + s, 1))
    length = stations[-1]
    b, t, fy = round(rng.uniform(8.3, 17.1), 2), round(rng.uniform(0.57, 1.41), 3), rng.choice([33.0, 36.0, 50.0])
    k = round(rng.uniform(0.23, 0.5), 3)
    Z, EI = jacking.plastic_modulus(b, t), jacking.E * jacking.inertia(b, t)
    bay = length / len(spans)
    # EI/k in in³, about 0.001 to 0.03 bay³; some are not shown by the fit and are taken as usual, exp(-5.5) bay³, u 2.
    shown = i % 4 != 3
    springs = [
        (x, math.exp(rng.uniform(-7, -3.5)) * bay**3 if shown else math.exp(-5.5) * bay**3,
         round(rng.uniform(0.13, 1.7), 2) if shown else 2.0)
        for x in stations[1:-1]]
    jacks = []
    for _ in range(rng.choice([1, 1, 2])):
        at = rng.randrange(len(spans))
        jacks.append((round(stations[at] + spans[at] * rng.uniform(0.17, 0.83), 1), round(rng.uniform(2.1, 11.7), 2)))
    push = rng.choice([1, -1])
    kinks = [(x, rng.uniform(-1, 1) * k * fy * Z / bay / 3) for x in stations[1:-1]] if i % 2 else []
    locked = simple(kinks, length)

    def ways(name):
        if name == "rigid":
            return [(x, None) for x in stations]
        soft = (lambda u: math.exp(2 * u)) if name == "soft" else (lambda u: 1.0)
        return [(0.0, None)] + [(x, EI / (c * soft(u))) for x, c, u in springs] + [(length, None)]

    forces = [(x, push * a) for x, a in jacks]
    solved = {name: jacking.solve(ways(name), forces, EI) for name in ("rigid", "likely", "soft")}
    grid = sorted(set(np.linspace(0, length, 8001)) | set(stations) | {x for x, _ in jacks})
    lowest = None
    for name, (moment, _) in solved.items():
        for x in grid:
            m = moment(x)
            if abs(m) < 1e-9:
                continue
            alike = abs(locked(x)) if locked(x) * m > 0 else 0.0
            p = max(0.0, k * fy * Z - alike) / abs(m)
            if lowest is None or p < lowest[0] - 1e-12:
                lowest = (p, name, float(x))
    p = math.floor(lowest[0] * 1000 + 1e-9) / 1000  # marks of 1 psi
    reactions = [max((r[j] for _, r in solved.values()), key=abs) * p for j in range(len(stations))]
    return dict(
        stations=stations, b=b, t=t, fy=fy, fraction=k, push=push, shown=shown,
        springs=[dict(x=x, compliance=c, logU=u) for x, c, u in springs],
        jacks=[dict(x=x, area=a) for x, a in jacks],
        # Kink of M/EI per inch at each diaphragm, as a fit gives it.
        kinks=[dict(x=x, coefficient=f / EI) for x, f in kinks],
        psi=lowest[0] * 1000, governs=lowest[1], governsAt=lowest[2], reactions=reactions,
        diagram=[dict(x=x, rigid=solved["rigid"][0](x) * p, soft=solved["soft"][0](x) * p)
                 for x in stations[1:-1] + [x for x, _ in jacks]])


rng = random.Random(1503)
print(json.dumps([case(rng, i) for i in range(14)], indent=1))
