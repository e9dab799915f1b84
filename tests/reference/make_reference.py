"""Makes the reference illuminances that tests/tests/against_renderer.rs checks.

A general-purpose physically based renderer (the Python package `mitsuba`, variant scalar_rgb) path-traces the
same rooms. Each receiver is a 2 mm diffuse white patch seen by a radiance meter: E = pi * L. Needs:
pip install mitsuba. Run from this folder: python make_reference.py. Takes half an hour on two cores; with names of
rooms after it, only those are made anew.
"""

import json
import math
import pathlib
import sys
from concurrent.futures import ProcessPoolExecutor

SAMPLES = 1_000_000


def finish(r):
    return {"reflectance_rgb": list(r)}


def plan(rooms, openings=(), pieces=(), fixture=None):
    return {
        "format": "tapemark-plan", "version": 1,
        "location": {
            "rooms": [
                {"id": f"room-{i}", "outline_m": o, "ceiling_m": z,
                 "finishes": {"walls": finish(w), "floor": finish(f), "ceiling": finish(c)}}
                for i, (o, z, w, f, c) in enumerate(rooms)
            ],
            "openings": list(openings), "pieces": list(pieces),
        },
        "rigs": [{"id": "rig", "name": "rig", "fixtures": [fixture]}],
        "shots": [{"id": "shot", "name": "1", "rig": "rig"}],
    }


def bulb(x, y, z, candela=100.0):
    return {"id": "lamp", "head": {"type": "bare-bulb"}, "lamp": "led", "watts": 10.0, "cct_k": 5600.0,
            "output_lm": 4 * math.pi * candela, "position_m": [x, y], "height_m": z}


def soft_box(x, y, z, pan, w, h, luminance=1000.0):
    return {"id": "lamp", "head": {"type": "soft-box", "width_m": w, "height_m": h}, "lamp": "led", "watts": 10.0,
            "cct_k": 5600.0, "output_lm": math.pi * luminance * w * h, "position_m": [x, y], "height_m": z, "pan_deg": pan}


def rect(x0, y0, x1, y1):
    return [[x0, y0], [x1, y0], [x1, y1], [x0, y1]]


def box(id, x, y, w, d, top, r):
    return {"id": id, "position_m": [x, y], "shape": {"type": "box", "width_m": w, "depth_m": d}, "top_m": top, "finish": finish(r)}


def passage(room, edge, offset, width, head):
    return {"id": "gap", "room": room, "edge": edge, "offset_m": offset, "width_m": width, "head_m": head, "kind": {"type": "passage"}}


def door(room, edge, offset, width, head, open_deg):
    return {"id": "door", "room": room, "edge": edge, "offset_m": offset, "width_m": width, "head_m": head,
            "kind": {"type": "door", "hinge": "near", "swing": "in", "open_deg": open_deg}}


def board(id, x, y, width, base, top, lean, r):
    """A sheet whose front looks along -y and is tilted up by its lean."""
    return {"id": id, "kind": "board", "position_m": [x, y], "rotation_deg": 180.0, "base_m": base, "top_m": top,
            "shape": {"type": "sheet", "width_m": width, "lean_m": lean}, "finish": finish(r)}


LEAF = (0.5, 0.5, 0.5)  # the finish of every door leaf
DARK = (0.05, 0.05, 0.05)
GREY = (0.5, 0.5, 0.5)
FLOOR = (0.2, 0.2, 0.2)
PALE = (0.75, 0.75, 0.75)
UP, DOWN = [0, 0, 1], [0, 0, -1]
N, S, E, W = [0, 1, 0], [0, -1, 0], [1, 0, 0], [-1, 0, 0]

SCENES = {
    "ajar": (
        plan([(rect(0, 0, 4, 4), 2.5, PALE, FLOOR, PALE), (rect(4, 0, 5.5, 4), 2.5, PALE, FLOOR, PALE)],
             [door("room-0", 1, 1.5, 0.9, 2.0, 35.0)], fixture=bulb(1.0, 3.2, 1.8)),
        [([x, y, z], n) for x, y, z, n in [
            (3, 2, 1.5, W), (1, 1, 1, UP), (3.5, 1.0, 1.2, N), (2, 2, 0.5, UP), (3.2, 3.4, 1.2, S), (4.75, 1.95, 1.2, W),
            (4.75, 0.6, 1.2, N), (4.75, 3.4, 1.2, S), (4.6, 1.2, 1, UP), (5, 3, 1.5, W), (5.2, 1.6, 0.5, UP), (4.4, 2.2, 1.6, W)]],
    ),
    "board": (
        plan([(rect(0, 0, 4, 3), 2.5, DARK, DARK, DARK)], pieces=[board("board", 2.0, 2.4, 1.2, 0.6, 1.4, 0.5, (0.85, 0.85, 0.85))],
             fixture=soft_box(2.0, 1.2, 1.2, 0.0, 0.5, 0.5)),
        [([x, y, z], n) for x, y, z, n in [
            (1.2, 1.5, 1.5, N), (2.8, 1.5, 1.5, N), (2, 0.6, 1.5, N), (2, 2.0, 2.0, DOWN), (1, 2.2, 1.2, E), (3.2, 2.0, 1.6, W),
            (2, 1.6, 1.8, N), (0.6, 0.8, 1.2, N), (2, 2.75, 0.3, N), (2, 1.9, 0.4, N)]],
    ),
    "empty": (
        plan([(rect(0, 0, 4, 3), 2.5, GREY, FLOOR, PALE)], fixture=soft_box(0.6, 1.5, 1.6, 90.0, 0.8, 0.6)),
        [([x, y, z], n) for x, y, z, n in [
            (2, 1.5, 1.5, W), (3, 1, 1.2, W), (3.5, 2.5, 0.8, W), (1.5, 0.5, 1, N), (2.5, 1.5, 0.8, UP), (2, 2.5, 1.5, S),
            (3, 1.5, 1.5, E), (1.2, 1.5, 2.2, UP), (0.3, 0.5, 1, E), (2, 1, 1.8, DOWN)]],
    ),
    "corridor": (
        plan([(rect(0, 0, 4, 4), 2.5, PALE, FLOOR, PALE), (rect(4, 0, 5.5, 4), 2.5, PALE, FLOOR, PALE)],
             [passage("room-0", 1, 1.5, 0.9, 2.0)], fixture=bulb(1.5, 2.0, 1.8)),
        [([x, y, z], n) for x, y, z, n in [
            (3, 2, 1.5, W), (1, 1, 1, UP), (3, 3.5, 1.2, S), (2, 2, 0.5, UP), (4.75, 1.95, 1.2, W), (4.75, 0.6, 1.2, N),
            (4.75, 3.4, 1.2, S), (4.5, 1, 1, UP), (5, 3, 1.5, W), (5.2, 2, 0.5, UP)]],
    ),
    "hall": (
        plan([(rect(0, 0, 20, 15), 6.0, PALE, FLOOR, PALE)], fixture=bulb(6.0, 5.0, 3.0, 2000.0)),
        [([x, y, z], n) for x, y, z, n in [
            (9, 6, 1.5, W), (14, 9, 1.5, W), (18, 13, 1.2, S), (3, 10, 1.5, E), (10, 7.5, 1, UP), (16, 3, 1, UP),
            (10, 12, 1.6, N), (19, 7, 1.5, E), (7, 4, 4.5, DOWN), (2, 2, 1.2, N)]],
    ),
    "l-shape": (
        plan([([[0, 0], [5, 0], [5, 2], [2, 2], [2, 5], [0, 5]], 2.6, GREY, FLOOR, PALE)], fixture=bulb(1.0, 1.0, 2.0)),
        [([x, y, z], n) for x, y, z, n in [
            (3, 1, 1.5, W), (4.5, 1.5, 1.2, W), (1, 3, 1.5, S), (1.5, 4.5, 1.2, S), (4, 0.5, 0.8, UP), (0.5, 4, 0.8, UP),
            (2.5, 1.5, 1.5, N), (1, 2, 1.0, N), (4.5, 1, 1.5, E), (1, 4.5, 1.5, N)]],
    ),
    "furnished": (
        plan([(rect(0, 0, 5, 4), 2.6, GREY, FLOOR, PALE)],
             pieces=[box("table", 2.5, 2.0, 1.6, 0.8, 0.75, (0.4, 0.3, 0.2)), box("shelf", 0.25, 2.0, 0.4, 2.0, 2.0, (0.3, 0.3, 0.3)),
                     box("crate", 4.2, 3.2, 0.8, 0.8, 1.0, (0.6, 0.6, 0.6))],
             fixture=soft_box(2.5, 0.4, 1.9, 0.0, 0.9, 0.9)),
        [([x, y, z], n) for x, y, z, n in [
            (2.5, 3, 1.5, S), (1, 3.2, 1.2, S), (2.5, 2, 1.0, UP), (2.5, 3.5, 0.4, UP), (4, 2, 1.2, S), (3.4, 3.5, 0.5, W),
            (1, 1, 1, E), (4.2, 3.2, 1.3, UP), (2, 3.7, 1.5, S), (4.8, 1, 1.5, W)]],
    ),
    "two-rooms": (
        plan([(rect(0, 0, 3, 3), 2.4, GREY, FLOOR, PALE), (rect(3, 0, 7, 3), 2.4, PALE, GREY, PALE)],
             [passage("room-0", 1, 1.0, 1.4, 2.1)], fixture=soft_box(0.3, 1.5, 1.5, 90.0, 0.7, 0.7)),
        [([x, y, z], n) for x, y, z, n in [
            (2, 1.5, 1.5, W), (1, 0.5, 1, N), (2.5, 2.7, 1.2, W), (4, 1.5, 1.5, W), (5.5, 1.7, 1.2, W), (6.5, 0.5, 1.2, W),
            (5, 2.6, 1, UP), (4, 0.4, 1.2, N), (6, 1.5, 0.5, UP), (3.5, 2.6, 1.5, S)]],
    ),
    "coloured": (
        plan([(rect(0, 0, 3.5, 3), 2.5, (0.7, 0.25, 0.2), (0.3, 0.25, 0.2), (0.8, 0.8, 0.75))], fixture=bulb(1.75, 1.0, 1.6)),
        [([x, y, z], n) for x, y, z, n in [
            (1.75, 2.2, 1.5, S), (0.6, 1.5, 1.2, W), (3, 1.5, 1.2, W), (1.75, 2.5, 0.8, UP), (1, 0.5, 1, UP), (2.5, 2.5, 1.5, N),
            (0.5, 2.5, 1.8, DOWN), (1.75, 1, 2.2, UP), (3, 0.5, 1, N), (1.2, 2, 1.5, E)]],
    ),
}


def quads(p):
    """Surfaces as (corner, edge, edge, reflectance); walls of adjoining rooms once."""
    out, seen = [], set()
    gaps = p["location"]["openings"]
    for r in p["location"]["rooms"]:
        o, z = r["outline_m"], r["ceiling_m"]
        w = r["finishes"]["walls"]["reflectance_rgb"]
        for i, a in enumerate(o):
            b = o[(i + 1) % len(o)]
            key = frozenset((tuple(a), tuple(b)))
            # Both rooms' finish would lie in one plane: the renderer gets each side, a millimetre apart.
            dx, dy = b[0] - a[0], b[1] - a[1]
            length = math.hypot(dx, dy)
            u = (dx / length, dy / length)
            inward = (-u[1] * 1e-3, u[0] * 1e-3)
            cut = [g for g in gaps if g["room"] == r["id"] and g["edge"] == i]
            if key in seen:
                cut = [g for g in gaps if frozenset(map(tuple, edge_of(p, g))) == key]
            seen.add(key)

            def strip(s, e, z0, z1):
                if frozenset((tuple(a), tuple(b))) != key:
                    raise AssertionError
                # Offsets are measured from the first corner of the edge that names the opening.
                out.append(((a[0] + u[0] * s + inward[0], a[1] + u[1] * s + inward[1], z0), (u[0] * (e - s), u[1] * (e - s), 0), (0, 0, z1 - z0), w))

            if cut:
                g = cut[0]
                if g["kind"]["type"] == "door" and g["room"] == r["id"]:
                    # Hinged at the near end; a room's inside lies to the left of its edges.
                    turn = math.radians(g["kind"]["open_deg"])
                    along = (u[0] * math.cos(turn) - u[1] * math.sin(turn), u[1] * math.cos(turn) + u[0] * math.sin(turn))
                    hinge = (a[0] + u[0] * g["offset_m"], a[1] + u[1] * g["offset_m"], 0)
                    out.append((hinge, (along[0] * g["width_m"], along[1] * g["width_m"], 0), (0, 0, g["head_m"]), LEAF))
                ga, gb = edge_of(p, g)
                s, e = g["offset_m"], g["offset_m"] + g["width_m"]
                if tuple(ga) != tuple(a):
                    s, e = length - e, length - s
                strip(0, s, 0, z)
                strip(e, length, 0, z)
                strip(s, e, g["head_m"], z)
            else:
                strip(0, length, 0, z)
        for z0, f in ((0, "floor"), (z, "ceiling")):
            for x0, y0, x1, y1 in rectangles(o):
                out.append(((x0, y0, z0), (x1 - x0, 0, 0), (0, y1 - y0, 0), r["finishes"][f]["reflectance_rgb"]))
    for b in p["location"]["pieces"]:
        x, y = b["position_m"]
        if b["shape"]["type"] == "sheet":
            w, lean, low, high = b["shape"]["width_m"], b["shape"]["lean_m"], b["base_m"], b["top_m"]
            out.append(((x - w / 2, y - lean / 2, low), (w, 0, 0), (0, lean, high - low), b["finish"]["reflectance_rgb"]))
            continue
        w, d, t = b["shape"]["width_m"], b["shape"]["depth_m"], b["top_m"]
        r = b["finish"]["reflectance_rgb"]
        x0, y0 = x - w / 2, y - d / 2
        out += [((x0, y0, 0), (w, 0, 0), (0, 0, t), r), ((x0, y0 + d, 0), (w, 0, 0), (0, 0, t), r),
                ((x0, y0, 0), (0, d, 0), (0, 0, t), r), ((x0 + w, y0, 0), (0, d, 0), (0, 0, t), r),
                ((x0, y0, t), (w, 0, 0), (0, d, 0), r)]
    return out


def edge_of(p, g):
    o = next(r for r in p["location"]["rooms"] if r["id"] == g["room"])["outline_m"]
    return o[g["edge"]], o[(g["edge"] + 1) % len(o)]


def rectangles(o):
    if len(o) == 4:
        return [(o[0][0], o[0][1], o[2][0], o[2][1])]
    return [(0, 0, 5, 2), (0, 2, 2, 5)]  # the one L-shape here


def world(mi, p):
    """A plan's rooms and lamp as the renderer wants them."""
    T = mi.ScalarTransform4f
    scene = {"type": "scene"}
    for i, (c, u, v, r) in enumerate(quads(p)):
        m = [[u[k] / 2, v[k] / 2, 0, c[k] + (u[k] + v[k]) / 2] for k in range(3)] + [[0, 0, 0, 1]]
        n = (u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0])
        length = math.sqrt(sum(q * q for q in n))
        for k in range(3):
            m[k][2] = n[k] / length
        scene[f"q{i}"] = {"type": "rectangle", "to_world": T(m),
                          "bsdf": {"type": "twosided", "bsdf": {"type": "diffuse", "reflectance": {"type": "rgb", "value": [max(q, 1e-6) for q in r]}}}}
    f = p["rigs"][0]["fixtures"][0]
    at = [*f["position_m"], f["height_m"]]
    if f["head"]["type"] == "bare-bulb":
        cd = f["output_lm"] / (4 * math.pi)
        scene["light"] = {"type": "point", "position": at, "intensity": {"type": "rgb", "value": [cd] * 3}}
    else:
        w, h = f["head"]["width_m"], f["head"]["height_m"]
        pan = math.radians(f["pan_deg"])
        to = [at[0] + math.sin(pan), at[1] + math.cos(pan), at[2]]
        scene["light"] = {"type": "rectangle", "to_world": T().look_at(origin=at, target=to, up=[0, 0, 1]) @ T().scale([w / 2, h / 2, 1]),
                          "bsdf": {"type": "null"},
                          "emitter": {"type": "area", "radiance": {"type": "rgb", "value": [f["output_lm"] / (math.pi * w * h)] * 3}}}
    return scene


def receiver(mi, point, normal):
    """A tiny white patch there, and a sensor that looks at it."""
    T = mi.ScalarTransform4f
    up = [0, 0, 1] if normal[2] == 0 else [1, 0, 0]
    front = [point[k] + normal[k] for k in range(3)]
    eye = [point[k] + normal[k] * 1e-2 for k in range(3)]
    return {
        "patch": {"type": "rectangle", "to_world": T().look_at(origin=point, target=front, up=up) @ T().scale([1e-3, 1e-3, 1]),
                  "bsdf": {"type": "diffuse", "reflectance": {"type": "rgb", "value": [1.0] * 3}}},
        "sensor": {"type": "radiancemeter", "to_world": T().look_at(origin=eye, target=point, up=up),
                   "film": {"type": "hdrfilm", "width": 1, "height": 1, "rfilter": {"type": "box"}, "pixel_format": "rgb"}},
    }


def render(job):
    import mitsuba as mi
    import numpy as np

    mi.set_variant("scalar_rgb")
    p, point, normal = job
    scene = world(mi, p) | receiver(mi, point, normal)
    built = mi.load_dict(scene)
    result = []
    for depth in (2, -1):
        integrator = mi.load_dict({"type": "path", "max_depth": depth, "rr_depth": 60})
        n = 0
        total = [0.0] * 3
        samples = SAMPLES if depth < 0 else SAMPLES // 10
        for seed in range(4):
            image = np.array(mi.render(built, integrator=integrator, spp=samples // 4, seed=seed)).reshape(-1)
            value = [float(image[k]) for k in range(3)]
            total = [a + b for a, b in zip(total, value)]
            n += 1
        result.append([math.pi * v / n for v in total])
    return result


if __name__ == "__main__":
    wanted = sys.argv[1:] or list(SCENES)
    jobs = [(name, p, point, normal) for name in wanted for p, points in [SCENES[name]] for point, normal in points]
    with ProcessPoolExecutor(2) as pool:
        values = list(pool.map(render, [j[1:] for j in jobs]))
    kept = pathlib.Path("rooms.json")
    out = json.loads(kept.read_text()) if kept.exists() and sys.argv[1:] else {}
    out |= {name: {"plan": SCENES[name][0], "receivers": []} for name in wanted}
    for (name, _, point, normal), (direct, total) in zip(jobs, values):
        out[name]["receivers"].append({"point_m": point, "toward": normal, "direct_rgb_lx": [round(v, 4) for v in direct], "total_rgb_lx": [round(v, 4) for v in total]})
    with open("rooms.json", "w") as f:
        json.dump(out, f, indent=1)
        f.write("\n")
