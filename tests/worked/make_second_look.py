"""Odd numbers worked out apart, for tests/worked/second-look.test.ts.

    python3 make_second_look.py > second-look.json        (scipy 1.10 or later)

Nothing here comes from the product; each section names what it is held to. Inches, kips, ksi, °F, feet for stations.
"""
import json
import math
import random

from scipy.stats import norm, t as student

rng = random.Random(1511)


def decisions():
    """JCGM 106:2012, 7.3 (conformance probability), 8.2 (simple), 8.3.2 with w = U = 2u (guarded); clauses from memory."""
    out = []
    for _ in range(24):
        limit = round(rng.uniform(0.13, 0.87), 3)
        u = round(rng.uniform(0.011, 0.097), 4)
        measured = round(limit + rng.uniform(-3.4, 3.4) * u, 4)
        if measured <= 0:
            continue
        guarded = "within" if measured <= limit - 2 * u else "outside" if measured > limit + 2 * u else "undetermined"
        out.append(dict(limit=limit, u=u, measured=measured, guarded=guarded,
                        simple="within" if measured <= limit else "outside",
                        inside=float(norm.cdf((limit - measured) / u))))
    return out


def edges():
    """A tilt limit at each edge from the web: half of what is read edge to edge, and half of its u."""
    out = []
    for _ in range(8):
        limit = round(rng.uniform(0.19, 0.41), 3)
        top = rng.uniform(0.31, 1.03)
        read = [round(rng.uniform(-top, top), 3) for _ in range(9)]
        u = round(rng.uniform(0.009, 0.053), 4)
        worst = max(read, key=abs)
        half, hu = abs(worst) / 2, u / 2
        out.append(dict(limit=limit, read=read, u=u, measured=half, at=2 * read.index(worst),
                        result="within" if half + 2 * hu <= limit else "outside" if half - 2 * hu > limit else "undetermined"))
    return out


def factors():
    """What heats did of what was expected: ratio of sums, scatter that grows with what is expected, Student's t."""
    out = []
    for n in (3, 4, 6, 9):
        steps = [dict(expected=round(rng.uniform(1.3, 9.7), 2), observed=round(rng.uniform(0.2, 8.9), 2), vees=rng.randint(1, 5))
                 for _ in range(n)]
        total = sum(s["expected"] for s in steps)
        value = sum(s["observed"] for s in steps) / total
        s2 = sum((s["observed"] - value * s["expected"]) ** 2 / s["expected"] for s in steps) / (n - 1)
        half = float(student.ppf(0.9, n - 1)) * math.sqrt(s2 / total)
        out.append(dict(steps=steps, value=value, low=value - half, high=value + half, vees=sum(s["vees"] for s in steps)))
    return out


def fy(T):
    return 1 - (T - 100) / 5833 if T <= 800 else (-720000 + 4200 * T - 2.75 * T * T) * 1e-6


def modulus(T):
    return 1 - (T - 100) / 5000 if T <= 700 else (500000 + 1333 * T - 1.111 * T * T) * 1e-6


def hot():
    """Edge stress of a flange on a simple span, one jack at the ceiling, dead load as stated, against Fy(T) of the FHWA guide
    (from memory): sigma = M / (t b^2 / 6)."""
    out = []
    for _ in range(8):
        b, t, F = round(rng.uniform(8.3, 16.9), 2), round(rng.uniform(0.61, 1.37), 3), rng.choice([33.0, 36.0, 50.0])
        span, share = round(rng.uniform(17.3, 29.9), 1), rng.uniform(0.2, 0.8)
        at, area, k = round(span * share, 1), round(rng.uniform(2.3, 9.9), 2), round(rng.uniform(0.21, 0.5), 3)
        dead, T = round(rng.uniform(-11.9, 13.7), 2), round(rng.uniform(713, 1193))
        arm = at * (span - at) / span * 12  # in, moment of 1 kip
        psi = math.floor(k * F * t * b * b / 4 / (area * arm) * 1000 + 1e-9)  # marks of 1 psi
        jacking = psi / 1000 * area * arm / (t * b * b / 6)
        total = abs(dead) + jacking
        low, high, yields = 68.0, 1200.0, None
        if fy(1200) < total / F < fy(68):
            for _ in range(80):
                mid = (low + high) / 2
                low, high = (mid, high) if fy(mid) * F > total else (low, mid)
            yields = low
        out.append(dict(b=b, t=t, fy=F, span=span, at=at, area=area, fraction=k, dead=dead, temperature=T, psi=psi,
                        jacking=jacking, total=total, hotYield=fy(T) * F, modulus=modulus(T), yieldsAt=yields,
                        past=total > fy(T) * F))
    return out


def agency():
    """An agency's own set with odd limits, on a girder of 61.7 ft: what it must come to (C = (F - 32) / 1.8)."""
    c = lambda f: (f - 32) / 1.8
    own = dict(schema="sweepbook/preset/1", key="heron-district", title="Heron district, repaired girders (invented)",
               source="Heron district manual, edition 3",
               note="Read before sunrise.", elements=["welded girder"],
               rules=[dict(kind="sweep", limit="0.437 in", over="whole line", source="clause 4.2"),
                      dict(kind="sweep", limit="0.291 in", over="17.3 ft", source="clause 4.3"),
                      dict(kind="sweep", limit="0.613 in", at="impact", source="clause 4.4"),
                      dict(kind="tilt", limit="0.187 in", over="whole line", edges="from the web", source="clause 5.1")],
               heat=dict(maxTemperature="1131 F", minTemperature="713 F", coolBelow="231 F", veeAngle=["17 deg", "31 deg"],
                         veeDepth=[0.43, 0.71], openWidth=["2.1 in", "5.7 in"], spacing="19.3 in", repairs=1,
                         source="clause 7"))
    # Beside SPD 4-100: 1100 °F, at most half the flange, 3 to 10 in, 12 in apart. The stricter of each pair is in force.
    return dict(file=own, limits=[0.437, 0.291, 0.613, 0.187], chord=17.3,
                alone=dict(maxTemperature=c(1131), minTemperature=c(713), coolBelow=c(231), veeAngle=[17, 31],
                           veeDepth=[0.43, 0.71], openWidth=[2.1, 5.7], spacing=19.3, repairs=1),
                withSpd=dict(maxTemperature=c(1100), minTemperature=c(713), coolBelow=c(231), veeAngle=[17, 31],
                             veeDepth=[0.43, 0.5], openWidth=[3, 5.7], spacing=19.3, repairs=1))


print(json.dumps(dict(decisions=decisions(), edges=edges(), factors=factors(), hot=hot(), agency=agency()), indent=1))
