"""
Sections reckoned outside the program, from points of rigid plates in the plane (numpy 1.24, run once; sections.json is what
it wrote). A girder of depth 36 in and flange width 12 in; x to the positive side, y up, in inches. Each case moves the
corner points of the two flanges and then reads them as a crew would: the offset of the bottom flange's middle from a
string, a plumb line from the middle of the top flange, a level across the bottom flange, a square held to the web.
    python3 sections.py > sections.json
"""
import json
import numpy as np

D, B = 36.0, 12.0


def rotate(points, about, angle):
    c, s = np.cos(angle), np.sin(angle)
    return (points - about) @ np.array([[c, s], [-s, c]]) + about


def read(top, bottom):
    middle = lambda flange: flange.mean(axis=0)
    edge = bottom[1] - bottom[0]
    web = middle(top) - middle(bottom)
    square = np.array([web[1], -web[0]]) / np.hypot(*web)
    along = edge / np.hypot(*edge)
    return {
        "bottomSweep": middle(bottom)[0],
        "topSweep": middle(top)[0],
        "plumb": middle(bottom)[0] - middle(top)[0],
        "tiltLevel": edge[1],
        "tiltSquare": float(square[0] * along[1] - square[1] * along[0]) * B,
        "camber": middle(bottom)[1],
    }


top0 = np.array([[-B / 2, D], [B / 2, D]])
bottom0 = np.array([[-B / 2, 0.0], [B / 2, 0.0]])
cases = {}
# Held at the top, swung as one body by 1/18 rad about the middle of the top flange.
a = 1 / 18
cases["swung"] = read(rotate(top0, np.array([0, D]), 0), rotate(bottom0, np.array([0, D]), a))
# Both flanges 2 in over, upright.
cases["over"] = read(top0 + [2.0, 0], bottom0 + [2.0, 0])
# Swung by 1/18 rad, and the bottom flange turned by itself another 0.05 rad about its middle.
swung = rotate(bottom0, np.array([0, D]), a)
cases["turned"] = read(top0, rotate(swung, swung.mean(axis=0), 0.05))
# Lifted 1/2 in as a whole, top flange 1/4 in over, bottom 1 1/2 in.
cases["lifted"] = read(top0 + [0.25, 0.5], bottom0 + [1.5, 0.5])
print(json.dumps(cases, indent=1))
