"""
What could be known of a stall, by another road than verdict-exact.ts: no particles and none of the bench's code. Campaigns with dead
days, slow starts, zones worked by turns, fading, stalls and resumed work are drawn here anew from the same description (in words: the heads of
verdict-days-cases.ts and MODEL.md), and followed by Bayes' rule on a grid: the level in cells of a third of a reading's sd, every kind,
pace, scatter and share of dead days by quadrature, three flags for "moved twice the useful gain in each of the last three cycles".
A stall is called where the chance that any of the three did is below a threshold, which by the Neyman-Pearson lemma no rule on the same readings
can better on the average. "Progressing" needs what the tool's own word needs: a pace of the useful gain with 90 %, no standstill, and a last cycle that
more likely moved than not; what neither reaches is undecided. Unit of length: the useful gain (1/32 in).

    python3 verdict-grid.py [campaigns] [seed] [file]        numpy and scipy; a few seconds a campaign

The file, where one is named, gets each campaign as a line of JSON, for `npm run bench:days -- --from FILE`: the tool on the very same readings.
"""
import json
import sys
import numpy as np
from scipy.special import gammainc
from scipy.stats import norm

SD = 1.2            # crest known to 0.6 of 1/16 in, in useful gains
TOLERANCE = 16.0    # 1/2 in
CELLS, CELL = 37, SD / 3
KINDS = ['dead', 'few', 'slow', 'fading', 'stalling', 'resuming']
THRESHOLDS = [0.2, 0.1, 0.05, 0.02, 0.01, 0.005]
SURE = 0.9


def pace_of(hypothesis, cycle, rng=None):
    """Pace in a cycle that moves; a slow start's share is drawn, or its middle taken by the judge."""
    share = 1.0
    if cycle <= hypothesis['slow']:
        share = rng.uniform(0.05, 0.35) if rng is not None else 0.2
    return hypothesis['pace'] * share * hypothesis['fade'] ** (cycle - 1)


def draw(rng, kind):
    crest = 48 * 6.7 ** rng.uniform()
    to_go = crest - TOLERANCE
    cycles = int(rng.integers(6, 33))
    zones = int(rng.integers(2, 5))
    weights = rng.uniform(0.3, 1, zones)
    weights /= weights.sum()
    h = dict(kind=kind, pace=to_go / (5 * 10 ** rng.uniform()), slow=int(rng.integers(1, 4)) if kind == 'slow' else 0,
             fade=rng.uniform(0.85, 0.97) if kind == 'fading' else 1.0,
             dead=rng.choice([0, 0.1]) if kind in ('stalling', 'resuming') else rng.uniform(0.1, 0.3))
    scatter = rng.uniform(0.15, 0.5)
    worked = int(rng.integers(1, 3)) if kind == 'few' else zones
    last = max(3, min(cycles - 5, int(0.8 * to_go / h['pace'])))
    stall = int(rng.integers(3, last + 1)) if kind in ('stalling', 'resuming') else None
    resume = stall + int(rng.integers(3, 9)) if kind == 'resuming' else (10 ** 6 if stall is not None else None)
    level, dead_left, levels, left = crest, 0, [crest], np.ones(zones)
    for cycle in range(1, cycles + 1):
        stalled = stall is not None and stall < cycle <= resume
        if dead_left > 0:
            dead_left -= 1
        elif rng.uniform() < h['dead'] / (1 - h['dead']) / 1.33:
            dead_left = 2 if rng.uniform() < 0.33 else 1
        if not stalled and dead_left == 0:
            open_zones = np.flatnonzero(left > 0)
            turns = rng.permutation(open_zones)[:worked]
            for z in turns:
                heat = rng.gamma(1 / scatter ** 2) * scatter ** 2
                left[z] = max(0, left[z] - pace_of(h, cycle, rng) / crest * heat * zones / len(turns))
            level = crest * (left * weights).sum()
        levels.append(level)
    until = cycles if kind == 'stalling' else (min(cycles, resume) if kind == 'resuming' else 0)
    own = stall if stall is not None and until - stall >= 4 and stall < cycles else None
    return np.array(levels), cycles, own


def hypotheses(to_go, cycles):
    out = []
    for kind in KINDS:
        cvs = [0.35, 0.6] if kind == 'few' else [0.1, 0.19, 0.3]
        deads = [0.0, 0.1] if kind in ('stalling', 'resuming') else [0.13, 0.2, 0.27]
        for slow in ([1, 2, 3] if kind == 'slow' else [0]):
            for fade in ([0.87, 0.91, 0.95] if kind == 'fading' else [1.0]):
                for pace in to_go / (5 * 10 ** ((np.arange(14) + 0.5) / 14)):
                    for cv in cvs:
                        for dead in deads:
                            n = len(cvs) * len(deads) * 14 * (3 if kind in ('slow', 'fading') else 1)
                            last = max(3, min(cycles - 5, int(0.8 * to_go / pace)))
                            out.append(dict(kind=kind, slow=slow, fade=fade, pace=pace, cv=cv, dead=dead, last=last, prior=1 / n / 6))
    return out


# States: 0 works, 1 a dead day, 2 a dead day with another to come, 3 … 10 stalled for 1 … 8 cycles, 10 also for longer where no work resumes.
STATES = 11


def transition(h, cycle):
    """Chance of each state in a cycle after each before it."""
    t = np.zeros((STATES, STATES))
    start = h['dead'] / (1 - h['dead']) / 1.33
    days = np.zeros(STATES)
    days[[0, 1, 2]] = [1 - start, start * 0.67, start * 0.33]
    stalls = 0.0
    if h['kind'] in ('stalling', 'resuming') and 3 <= cycle - 1 <= h['last']:
        stalls = 1 / (h['last'] - (cycle - 1) + 1)
    t[0] = (1 - stalls) * days
    t[1] = t[0]
    t[2, 1] = 1 - stalls
    t[0:3, 3] = stalls
    for age in range(1, 9):
        s = 2 + age
        if h['kind'] == 'stalling':
            t[s, min(10, s + 1)] = 1
        else:  # lasts 3 to 8 cycles, each as likely
            ends = 0.0 if age < 3 else 1 / (8 - age + 1)
            t[s] += ends * days
            if s < 10:
                t[s, s + 1] += 1 - ends
    return t


def judge(read, cycles):
    """
    After each reading from the first on, the chance that any of the last three cycles moved by twice the useful gain, and whether the steel is
    progressing by the tool's own rule.
    """
    hs = hypotheses(read[0] - TOLERANCE, cycles)
    offsets = (np.arange(CELLS) - CELLS // 2) * CELL
    grid = read[0] + offsets
    level = norm.pdf(grid, read[0], SD)
    weight = np.zeros((len(hs), STATES, 8, CELLS))
    weight[:, 0, 0, :] = np.array([h['prior'] for h in hs])[:, None] * (level / level.sum())
    out = []
    for cycle in range(1, len(read)):
        new_grid = read[cycle] + offsets
        closing = grid[:, None] - new_grid[None, :]
        stay = np.clip(1 - np.abs(closing) / CELL, 0, 1)
        likely = norm.pdf(new_grid, read[cycle], SD)
        moved = np.zeros_like(weight)
        before = np.einsum('hst,hsfl->htfl', np.array([transition(h, cycle) for h in hs]), weight)
        # Levels lie on one grid, so a movement has only 2 * CELLS - 1 sizes: the chance of each, above and below the two gains apart.
        shape = 1 / np.array([h['cv'] for h in hs])[:, None] ** 2
        scale = np.array([pace_of(h, cycle) for h in hs])[:, None] / shape
        edges = grid[0] - new_grid[0] + (np.arange(2 * CELLS) - CELLS + 0.5) * CELL
        below = lambda x: gammainc(shape, np.maximum(0, x) / scale)
        which = np.arange(CELLS)[:, None] - np.arange(CELLS)[None, :] + CELLS - 1
        much = np.diff(below(np.maximum(2, edges)), axis=1)[:, which]
        little = np.diff(below(np.minimum(2, edges)), axis=1)[:, which]
        worked_much, worked_little = before[:, 0] @ much, before[:, 0] @ little
        stood = before[:, 1:] @ stay
        for flags in range(8):
            on = (flags << 1) & 7
            moved[:, 0, on | 1] += worked_much[:, flags]
            moved[:, 0, on] += worked_little[:, flags]
            moved[:, 1:, on] += stood[:, :, flags]
        weight = moved * likely
        weight /= weight.sum()
        share = weight.sum(axis=(1, 2, 3))
        keep = share > 1e-5
        hs = [h for h, k in zip(hs, keep) if k]
        weight = weight[keep] / share[keep].sum()
        grid = new_grid
        by_state = weight.sum(axis=(2, 3))
        # A dead day alone leaves the pace of the job standing; a second in a row, or a stall, does not.
        useful = np.array([pace_of(h, cycle) >= 1 for h in hs])
        paced = by_state[useful][:, [0, 1, 2]].sum()
        progressing = paced >= SURE and by_state[:, 0].sum() > 0.5
        out.append((1 - weight[:, :, 0].sum(), progressing))
    return out


def main(campaigns, seed, file):
    rng = np.random.default_rng(seed)
    false, timely, undecided = ({t: 0 for t in THRESHOLDS} for _ in range(3))
    judged = stalls = verdicts = 0
    out = open(file, 'w') if file else None
    for index in range(campaigns):
        kind = KINDS[index % len(KINDS)]
        levels, cycles, stall = draw(rng, kind)
        read = levels + SD * rng.standard_normal(len(levels))
        inside = np.flatnonzero(levels <= TOLERANCE + 2 * SD)
        end = int(inside[0]) if len(inside) else len(levels)
        if end < 3:
            continue
        judged += 1
        said = judge(read[:end], cycles)
        moved = -np.diff(levels[:end])
        well = [max(moved[max(0, k - 2):k + 1]) >= 2 for k in range(len(moved))]
        read_on = stall is not None and end - 1 >= stall + 4
        stalls += read_on
        late = [k for k in range(1, len(moved)) if k + 1 > 5]
        verdicts += len(late)
        for t in THRESHOLDS:
            called = [k + 1 for k in range(1, len(moved)) if said[k][0] <= t]
            false[t] += any(well[c - 1] for c in called)
            timely[t] += read_on and any(stall < c <= stall + 4 for c in called)
            undecided[t] += sum(said[k][0] > t and not said[k][1] for k in late)
        if out:
            line = dict(kind=kind, stall=stall, level=[round(float(x), 4) for x in levels[:end]], read=[round(float(x), 4) for x in read[:end]])
            print(json.dumps(line), file=out, flush=True)
        if (index + 1) % 12 == 0:
            print(index + 1, {t: (false[t], timely[t], undecided[t]) for t in THRESHOLDS}, judged, stalls, verdicts, file=sys.stderr, flush=True)
    print(f'{judged} campaigns of {campaigns} drawn, seed {seed}, sd 1/16 in')
    for t in THRESHOLDS:
        print(f'chance left {t}: false campaigns {false[t]} ({100 * false[t] / judged:.1f} %), '
              f'stalls called within 4 cycles {timely[t]} of {stalls} ({100 * timely[t] / max(1, stalls):.0f} %), '
              f'undecided after the 5th cycle {undecided[t]} of {verdicts} ({100 * undecided[t] / max(1, verdicts):.1f} %)')


if __name__ == '__main__':
    argument = dict(enumerate(sys.argv))
    main(int(argument.get(1, 300)), int(argument.get(2, 1)), argument.get(3))
