"""Wall, floor and ceiling areas inside the frame by shapely's polygon clipping, kept in cover.json.

Run: python make_cover.py > cover.json  (needs numpy, shapely)

80 rooms (rectangles and L-shapes with a window and a hung cloth), one or two lenses each. A surface is cut by the
half-planes of the field of view one by one; walls and cloth between lens and surface take away the hull of their
projection. With two lenses the parts are joined.
"""

import json
import math
import numpy as np
import shapely
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

rng = np.random.default_rng(23)
BIG = 1000.0


def axes(pan, tilt):
    p, t = math.radians(pan), math.radians(tilt)
    forward = np.array([math.sin(p) * math.cos(t), math.cos(p) * math.cos(t), math.sin(t)])
    right = np.array([math.cos(p), -math.sin(p), 0.0])
    return right, np.cross(right, forward), forward


def half_plane(a, b, c):
    """The part of the plane where a·x + b·y + c ≥ 0, as a large polygon."""
    n = math.hypot(a, b)
    if n < 1e-12:
        return box(-BIG, -BIG, BIG, BIG) if c >= 0 else Polygon()
    a, b, c = a / n, b / n, c / n
    foot, along, into = np.array([-a * c, -b * c]), np.array([-b, a]), np.array([a, b])
    return Polygon([foot - along * BIG, foot + along * BIG, foot + along * BIG + into * BIG,
                    foot - along * BIG + into * BIG])


def surfaces(outline, ceiling, window):
    n = len(outline)
    out = []
    for i in range(n):
        a, b = np.array(outline[i]), np.array(outline[(i + 1) % n])
        length = np.linalg.norm(b - a)
        u = (b - a) / length
        shape = box(0, 0, length, ceiling)
        if window and window["edge"] == i:
            shape = shape.difference(box(window["offset"], window["sill"], window["offset"] + window["width"],
                                         window["head"]))
        out.append((f"edge {i}", np.append(a, 0.0), np.append(u, 0.0), np.array([0, 0, 1.0]),
                    np.array([-u[1], u[0], 0.0]), shape))
    floor = Polygon(outline)
    out.append(("floor", np.zeros(3), np.array([1.0, 0, 0]), np.array([0, 1.0, 0]), np.array([0, 0, 1.0]), floor))
    out.append(("ceiling", np.array([0, 0, ceiling]), np.array([1.0, 0, 0]), np.array([0, 1.0, 0]),
                np.array([0, 0, -1.0]), floor))
    return out


def panels(outline, ceiling, window, drape):
    out = []
    n = len(outline)
    for i in range(n):
        a, b = np.array(outline[i]), np.array(outline[(i + 1) % n])
        u = (b - a) / np.linalg.norm(b - a)
        spans = [(0, np.linalg.norm(b - a), 0, ceiling)]
        if window and window["edge"] == i:
            s, e = window["offset"], window["offset"] + window["width"]
            spans = [(0, s, 0, ceiling), (e, np.linalg.norm(b - a), 0, ceiling), (s, e, 0, window["sill"]),
                     (s, e, window["head"], ceiling)]
        out += [(a + u * s, a + u * e, z0, z1) for s, e, z0, z1 in spans]
    if drape:
        c, w, d = np.array(drape["at"]), drape["width"] / 2, drape["depth"] / 2
        t = math.radians(drape["turn"])
        across, front = np.array([math.cos(t), -math.sin(t)]), np.array([math.sin(t), math.cos(t)])
        ring = [c - across * w - front * d, c + across * w - front * d, c + across * w + front * d,
                c - across * w + front * d]
        out += [(ring[i], ring[(i + 1) % 4], 0.0, drape["top"]) for i in range(4)]
        out.append((ring, drape["top"]))
    return out


def corners(panel):
    if len(panel) == 2:
        ring, z = panel
        return [np.append(p, z) for p in ring]
    a, b, z0, z1 = panel
    return [np.append(a, z0), np.append(b, z0), np.append(b, z1), np.append(a, z1)]


def seen(surface, camera, blockers):
    _, origin, u, v, normal, shape = surface
    eye = np.array(camera["eye"])
    right, up, forward = axes(camera["pan"], camera["tilt"])
    high = (eye - origin) @ normal
    if high <= 1e-3:
        return Polygon()
    w, h = camera["sensor"][0] / 2 / camera["focal"], camera["sensor"][1] / 2 / camera["focal"]
    planes = [forward * w - right, forward * w + right, forward * h - up, forward * h + up, forward]
    for n in planes:
        shape = shape.intersection(half_plane(n @ u, n @ v, n @ (origin - eye)))
    for blocker in blockers:
        ring = corners(blocker)
        # Points of a fine net over the blocker that lie between lens and surface; their hull is the shadow.
        depth = np.array([(p - origin) @ normal for p in ring])
        if depth.max() < 1e-3 or depth.min() > high * 0.9999:
            continue
        # Cut by depth in the plane of the blocker.
        def clip(points, value, keep):
            out = []
            for i in range(len(points)):
                a, b = points[i], points[(i + 1) % len(points)]
                da, db = value(a), value(b)
                if keep(da):
                    out.append(a)
                if keep(da) != keep(db):
                    out.append(a + (b - a) * (da / (da - db)))
            return out
        part = clip(ring, lambda p: (p - origin) @ normal - 1e-3, lambda d: d >= 0)
        part = clip(part, lambda p: high * 0.9999 - (p - origin) @ normal, lambda d: d >= 0) if part else part
        part = clip(part, lambda p: (p - eye) @ forward - 1e-6, lambda d: d >= 0) if part else part
        if len(part) < 3:
            continue
        thrown = []
        for p in part:
            q = eye + (p - eye) * high / (high - (p - origin) @ normal) - origin
            thrown.append((q @ u, q @ v))
        hull = shapely.MultiPoint(thrown).convex_hull
        if hull.area > 1e-9:
            shape = shape.difference(hull)
    return shape


setups = []
for k in range(80):
    w, d = rng.uniform(3.5, 8, 2).round(2)
    if k % 2:
        cx, cy = (w * rng.uniform(0.35, 0.65)).round(2), (d * rng.uniform(0.35, 0.65)).round(2)
        outline = [[0, 0], [w, 0], [w, cy], [cx, cy], [cx, d], [0, d]]
        stand = [(0.4, 0.4, cx - 0.4, d - 0.4), (0.4, 0.4, w - 0.4, cy - 0.4)]
    else:
        outline = [[0, 0], [w, 0], [w, d], [0, d]]
        stand = [(0.4, 0.4, w - 0.4, d - 0.4)]
    outline = [[float(x), float(y)] for x, y in outline]
    ceiling = round(float(rng.uniform(2.3, 3.2)), 2)
    edge = int(rng.integers(0, 2))
    length = math.dist(outline[edge], outline[(edge + 1) % len(outline)])
    width = round(min(1.4, length * 0.4), 2)
    window = {"edge": edge, "offset": round(length * 0.3, 2), "width": width, "sill": 0.9, "head": 2.1}

    def place():
        r = stand[int(rng.integers(len(stand)))]
        return rng.uniform(r[:2], r[2:]).round(2)

    drape = None
    if rng.random() < 0.6:
        drape = {"at": place().tolist(), "width": round(float(rng.uniform(0.5, 1.6)), 2), "depth": 0.04,
                 "turn": round(float(rng.uniform(0, 180)), 1), "top": round(float(rng.uniform(1.5, 2.2)), 2)}
    cameras = []
    for _ in range(1 + int(rng.random() < 0.4)):
        at = place()
        cameras.append({"eye": [float(at[0]), float(at[1]), round(float(rng.uniform(0.8, 1.8)), 2)],
                        "pan": round(float(rng.uniform(0, 360)), 1), "tilt": round(float(rng.uniform(-12, 12)), 1),
                        "focal": float(rng.choice([14, 18, 24, 35])), "sensor": [22.3, 12.0]})
    blockers = panels(outline, ceiling, window, drape)
    areas = {}
    for s in surfaces(outline, ceiling, window):
        joined = unary_union([seen(s, c, blockers) for c in cameras])
        if joined.area > 1e-6:
            areas[s[0]] = round(joined.area, 6)
    setups.append({"outline": outline, "ceiling": ceiling, "window": window, "drape": drape, "cameras": cameras,
                   "areas_m2": areas})
print(json.dumps({"by": f"shapely {shapely.__version__}", "setups": setups}))
