"""
Hand-made clouds of a struck girder: numpy only, nothing shared with the reader. A flange is pushed, tilted and lifted along
softened straight legs; its web is bent along a yield line, as an S, or straight; stands see what faces them. The figures
under "Made another way" in src/scan/MODEL.md come from it:

    python3 girder_cloud.py cloud FOLDER '{"push": 0.25, "tilt": 0.3, "lift": 0.1, "web": "s"}' '[[5,4,-3],[14,4,-3]]' 0.012
    sweepbook scan FOLDER/cloud.ply --job FOLDER --cycle 0 --set-up FOLDER/scan.json --json > said.json
    python3 girder_cloud.py score said.json '{"push": 0.25, "tilt": 0.3, "lift": 0.1, "web": "s"}'
    python3 girder_cloud.py fixture FOLDER     # girder-cloud.bin and .json for tests/scan/other-hand.test.ts
"""
import numpy as np, json, sys, os

def softramp(t, r):           # integral of a logistic: a corner rounded over about r
    return r*np.logaddexp(0, t/r)

class Girder:
    def __init__(g, L=19.2, B=0.305, T=0.022, D=0.92, W=0.010, push=0.3, tilt=0.3, lift=0.0, hinge=(5.1, 8.4, 12.9), r=0.12,
                 tiltw=1.6, liftw=1.9, web='yield', kink=0.22, twist_at=None):
        g.__dict__.update({k: v for k, v in locals().items() if k != 'g'})
    def pose(g, x):
        a, b, c = g.hinge; R = softramp
        s1 = g.push/(b-a); s2 = -g.push/(c-b)
        y = s1*R(x-a, g.r) + (s2-s1)*R(x-b, g.r) - s2*R(x-c, g.r)
        bump = lambda w, e: np.cosh((x-b)/w)**-e
        held = np.tanh(x/0.8)**2*np.tanh((g.L-x)/0.8)**2
        return y + 0.002*np.sin(2*np.pi*x/g.L), held*g.lift*bump(g.liftw, 4), held*g.tilt*bump(g.tiltw, 3)
    def flange(g, x, u, v):
        y, z, t = g.pose(x)
        c, s = np.cos(t), np.sin(t)
        return y+u*c-v*s, z+u*s+v*c
    def webat(g, x, s, side):
        """s from 0 (foot) to 1 (head)"""
        fy, fz = g.flange(x, 0*x, g.T+0*x)
        _, _, t = g.pose(x)
        hz = g.D-g.T
        h = hz-fz
        z = fz+s*h
        if g.web == 's':
            h00, h10 = 2*s**3-3*s**2+1, s**3-2*s**2+s
            y = h00*fy - h10*np.sin(t)*h
        elif g.web == 'yield':   # straight from the head to a yield line, then down to the foot square to the flange
            # from the foot it starts off at the flange's own square direction over `kink` of the height, then straight to the head
            k = g.kink
            yk = fy - np.tan(t)*k*h*0.5
            w = 0.05
            lo = fy + (yk-fy)*s/k
            hi = yk + (0-yk)*(s-k)/(1-k)
            m = 0.5*(1+np.tanh((s-k)/w))
            y = lo*(1-m)+hi*m
        elif g.web == 'straight':
            y = fy*(1-s)
        return y + side*g.W/2, z
    def truth(g, x):
        ep = g.flange(x, g.B/2+0*x, g.T/2+0*x); en = g.flange(x, -g.B/2+0*x, g.T/2+0*x)
        un = g.flange(x, 0*x, 0*x); y, z, t = g.pose(x)
        f = g.webat(x, 0*x, 0); h = g.webat(x, 0*x+1, 0)
        return dict(edge=ep[0], other=en[0], camber=un[1], tilt=np.tan(t)*g.B, plumb=h[0]-f[0])

def cloud(g, stands, spacing=0.01, noise=0.002, step=0.0, seed=1, mixed=0.01, neighbour=True, incidence=True):
    rng = np.random.default_rng(seed)
    out = []
    shifts = rng.normal(0, step/np.sqrt(2), (len(stands), 2)); shifts -= shifts.mean(0)
    dens = 1/spacing**2
    def surf(fn, width, n):      # fn(x, s in 0..1) -> y,z
        x = rng.uniform(0.0, g.L, n); s = rng.uniform(0, 1, n)
        y, z = fn(x, s)
        e = 1e-5
        y1, z1 = fn(x+e, s); y2, z2 = fn(x, np.clip(s, 0, 1-1e-4)+1e-4)
        y0, z0 = fn(x, np.clip(s, 0, 1-1e-4))
        tx = np.stack([np.full(n, e), y1-y, z1-z], 1); ts = np.stack([np.zeros(n), y2-y0, z2-z0], 1)
        nrm = np.cross(tx, ts); nrm /= np.linalg.norm(nrm, axis=1)[:, None]
        return np.stack([x, y, z], 1), nrm
    B, T = g.B, g.T
    hw = g.W/2
    faces = [  # fn, width, flip outward
        (lambda x, s: g.flange(x, (s-.5)*B, 0*s), B, None),
        (lambda x, s: g.flange(x, hw+s*(B/2-hw), T+0*s), B/2, None),
        (lambda x, s: g.flange(x, -hw-s*(B/2-hw), T+0*s), B/2, None),
        (lambda x, s: g.flange(x, B/2+0*s, s*T), T, None),
        (lambda x, s: g.flange(x, -B/2+0*s, s*T), T, None),
        (lambda x, s: g.webat(x, s, 1), g.D, None),
        (lambda x, s: g.webat(x, s, -1), g.D, None),
        (lambda x, s: (-B/2+s*B, g.D-T+0*s), B, None),
    ]
    if neighbour:
        faces.append((lambda x, s: (2.1-B/2+s*B, 0*s), B, None))
    for k, st in enumerate(stands):
        st = np.asarray(st, float)
        pts = []
        for i, (fn, width, _) in enumerate(faces):
            # density falls with range and incidence as a scanner's does: sample at the densest and thin
            n = int(g.L*width*dens*1.3)
            p, nrm = surf(fn, width, n)
            # outward: away from the solid's middle
            yc, zc = g.flange(p[:, 0], 0*p[:, 0], T/2+0*p[:, 0])
            if i in (0, 1, 2, 3, 4):
                o = np.stack([0*yc, p[:, 1]-yc, p[:, 2]-zc], 1)
                y, z, t = g.pose(p[:, 0]); c, s_ = np.cos(t), np.sin(t)
                vdir = np.stack([0*c, -s_, c], 1); udir = np.stack([0*c, c, s_], 1)
                want = {0: -vdir, 1: vdir, 2: vdir, 3: udir, 4: -udir}[i]
            elif i == 5: want = np.tile([0, 1., 0], (n, 1))
            elif i == 6: want = np.tile([0, -1., 0], (n, 1))
            else: want = np.tile([0, 0, -1.], (n, 1))
            flip = np.sign((nrm*want).sum(1)); flip[flip == 0] = 1
            nrm *= flip[:, None]
            ray = p-st; R = np.linalg.norm(ray, axis=1); d = ray/R[:, None]
            ci = -(d*nrm).sum(1)
            near = 5.0
            keep = (ci > 0.03) & (rng.uniform(size=n) < np.clip(ci*(near/R)**2, 0, 1)) & (R < 25)
            # hidden by the flange (the web and the top flange) : crossing in the plane across at the same place
            if i >= 5:
                x = p[:, 0]
                a = np.stack(g.flange(x, -B/2+0*x, T/2+0*x), 1); b = np.stack(g.flange(x, B/2+0*x, T/2+0*x), 1)
                q = p[:, 1:]; s0 = np.tile(st[1:], (n, 1))
                cr = lambda u, v: u[:, 0]*v[:, 1]-u[:, 1]*v[:, 0]
                d1 = cr(b-a, s0-a)*cr(b-a, q-a) < 0
                d2 = cr(q-s0, a-s0)*cr(q-s0, b-s0) < 0
                keep &= ~(d1 & d2)
            if i in (1, 2):      # the far upper face behind the web
                side = 1 if i == 1 else -1
                keep &= np.sign(st[1]) == side
            if i == 7: keep &= np.sign(p[:, 1]) == np.sign(st[1])
            p, R, d, ci = p[keep], R[keep], d[keep], ci[keep]
            sd = noise*(np.sqrt(1+0.3*(1/np.maximum(ci, .1)-1)) if incidence else 1)
            p = p+d*(rng.normal(size=len(p))*sd)[:, None]
            mp = rng.uniform(size=len(p)) < (mixed if i in (3, 4) else 0)
            p[mp] += d[mp]*rng.uniform(0, .3, mp.sum())[:, None]
            pts.append(p)
        p = np.concatenate(pts)
        p = p[np.argsort(np.arctan2(p[:, 0]-st[0], abs(p[:, 1]-st[1])) + 1e-9*rng.uniform(size=len(p)))]
        p = p + np.array([0, *shifts[k]])
        out.append(p)
    return np.concatenate(out)

def write_ply(path, p):
    with open(path, 'wb') as f:
        f.write(b'ply\nformat binary_little_endian 1.0\nelement vertex %d\nproperty double x\nproperty double y\nproperty double z\nend_header\n' % len(p))
        f.write(np.ascontiguousarray(p, '<f8').tobytes())

def job(folder, g, p, plumb=True, **setup):
    os.makedirs(folder, exist_ok=True)
    write_ply(folder+'/cloud.ply', p)
    ln = lambda kind: dict(kind=kind, bearings=[0, g.L], positive='river', standoff=0)
    kinds = dict(edge='sweep', other='sweep', camber='camber', tilt='tilt', **({'plumb': 'plumb'} if plumb else {}))
    json.dump(dict(job='Numpy girder', units='si', member=dict(span=g.L, yieldStress='345 MPa', flangeWidth=1000*g.B, flangeThickness=1000*g.T,
        webThickness=1000*g.W, depth=1000*g.D), lines={n: ln(k) for n, k in kinds.items()},
        acceptance=[dict(line='edge', limit=12, over='whole line')]), open(folder+'/job.json', 'w'))
    x = np.array([0, g.L])
    on = lambda u, v: [[float(xx), float(yy), float(zz)] for xx, yy, zz in zip(x, *g.flange(x, u+0*x, v+0*x))]
    mk = lambda pk, dr, **m: {'from': pk[0], 'to': pk[1], 'direction': dr, **m}
    L = dict(edge=mk(on(g.B/2, g.T/2), [0, 1, 0], edge='positive'), other=mk(on(-g.B/2, g.T/2), [0, 1, 0], edge='negative'),
             camber=mk(on(0, 0), [0, 0, 1]), tilt=mk(on(0, 0), [0, 0, 1], across=[0, 1, 0]))
    if plumb: L['plumb'] = mk([[0, 0, g.D/2], [g.L, 0, g.D/2]], [0, 1, 0], across=[0, 0, 1])
    json.dump(dict(units='m', leastSd=0, lines=L, **setup), open(folder+'/scan.json', 'w'))

def score(said, g):
    """Errors of the lines that `sweepbook scan --json` said."""
    res = {}
    for l in json.loads(said)['lines']:
        n, st = l['line']['name'], l['stations']
        x, o, u = (np.array([s[k] for s in st]) for k in ('station', 'offset', 'u'))
        truth = g.truth(x)[n]
        if n in ('edge', 'other', 'camber'):   # from the chord between the picks
            e = g.truth(np.array([0, g.L]))[n]
            truth = truth - (e[0] + (e[1] - e[0]) * x / g.L)
        err = o - truth
        w = np.argmax(abs(err))
        res[n] = dict(n=len(x), un=len(l['unread']), worst=1000*err[w], at=x[w], uw=1000*u[w], rms=1000*np.sqrt((err**2).mean()),
                      cov=100*(abs(err) <= 1.96*u).mean(), over4=int((abs(err) > 4*u).sum()), mu=1000*np.median(u))
    return res

def show(name, res):
    for n, r in res.items():
        print(f'{name:32s} {n:7s} worst {r["worst"]:7.2f} at {r["at"]:5.2f} u {r["uw"]:5.2f} rms {r["rms"]:5.2f} med u {r["mu"]:5.2f} cov {r["cov"]:4.0f}% n {r["n"]:3d} un {r["un"]:2d} over4 {r["over4"]}', flush=True)

QUANTUM = 0.00025             # m: the fixture's coordinates as 16-bit whole numbers of this

def fixture(folder):
    """A short girder from two stands, in integers, and what it is at every half metre."""
    g = Girder(L=7.0, hinge=(1.9, 3.2, 4.7), push=0.14, tilt=0.3, lift=0.09, web='s', tiltw=0.7, liftw=0.8, D=0.6)
    p = cloud(g, [[2, 4, -3], [5.2, 4, -3]], spacing=0.016, step=0.002, neighbour=False, seed=7)
    np.round(p/QUANTUM).astype('<i2').tofile(folder+'/girder-cloud.bin')
    x = np.arange(0, g.L+0.01, 0.5)
    t = g.truth(x)
    chord = lambda n: t[n] - (t[n][0] + (t[n][-1] - t[n][0])*x/g.L)
    on = lambda u, v: [[float(a), float(b), float(c)] for a, b, c in zip([0, g.L], *g.flange(np.array([0, g.L]), u, v))]
    json.dump(dict(quantum=QUANTUM, points=len(p), span=g.L, width=g.B, thickness=g.T, depth=g.D, web=g.W, stations=x.tolist(),
        picks=dict(edge=on(g.B/2, g.T/2), other=on(-g.B/2, g.T/2), face=on(0, 0)),
        truth={n: [round(float(v), 7) for v in (chord(n) if n in ('edge', 'other', 'camber') else t[n])] for n in t}),
        open(folder+'/girder-cloud.json', 'w'), indent=1)

if __name__ == '__main__':
    if sys.argv[1] == 'fixture':
        fixture(sys.argv[2])
    elif sys.argv[1] == 'cloud':
        girder = Girder(**json.loads(sys.argv[3]))
        job(sys.argv[2], girder, cloud(girder, json.loads(sys.argv[4]), spacing=float(sys.argv[5])))
    else:
        show('', score(open(sys.argv[2]).read(), Girder(**json.loads(sys.argv[3]))))
