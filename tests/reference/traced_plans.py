"""The plans that are traced, and where they are read: some of ours that show one thing each, and, where plausible.json
lies here, plans by lot from the generator of the acceptance checks (tests/src/plausible.rs)."""

import json
import math
import pathlib
import random

import numpy as np

import traced_world as tw

HERE = pathlib.Path(__file__).parent


def finish(*r):
    return {"reflectance_rgb": list(r) if len(r) == 3 else [r[0]] * 3}


def room(id, outline, ceiling=2.5, walls=(0.6,), floor=(0.25,), over=(0.75,)):
    return {"id": id, "name": id, "outline_m": outline, "ceiling_m": ceiling,
            "finishes": {"walls": finish(*walls), "floor": finish(*floor), "ceiling": finish(*over)}}


def rect(x0, y0, x1, y1):
    return [[x0, y0], [x1, y0], [x1, y1], [x0, y1]]


def hole(id, in_room, edge, offset, width, head=2.05, sill=0.0, **kind):
    return {"id": id, "room": in_room, "edge": edge, "offset_m": offset, "width_m": width, "sill_m": sill, "head_m": head,
            "kind": kind or {"type": "passage"}}


def box(id, x, y, w, d, top, turn=0.0, base=0.0, r=(0.35, 0.3, 0.25)):
    return {"id": id, "position_m": [x, y], "rotation_deg": turn, "shape": {"type": "box", "width_m": w, "depth_m": d},
            "base_m": base, "top_m": top, "finish": finish(*r)}


def sheet(id, x, y, turn, width, base, top, lean=0.0, r=0.85, kind="board"):
    return {"id": id, "kind": kind, "position_m": [x, y], "rotation_deg": turn, "shape": {"type": "sheet", "width_m": width, "lean_m": lean},
            "base_m": base, "top_m": top, "finish": finish(r)}


def lamp(id, x, y, z, pan, tilt, watts, cct=5600.0, lamp="led", more=None, **head):
    return {"id": id, "head": head, "lamp": lamp, "watts": watts, "cct_k": cct, "position_m": [x, y], "height_m": z,
            "pan_deg": pan, "tilt_deg": tilt, "mount": "clamp", **(more or {})}


def bulb(id, x, y, z, watts=60.0, cct=2700.0):
    return lamp(id, x, y, z, 0.0, 0.0, watts, cct, type="bare-bulb") | {"mount": "ceiling"}


def soft(id, x, y, z, pan, tilt, w=0.8, h=0.8, watts=150.0):
    return lamp(id, x, y, z, pan, tilt, watts, type="soft-box", width_m=w, height_m=h)


def plan(rooms, lamps, camera, people=(), openings=(), pieces=(), wall=0.12, **more):
    x, y, pan, tilt, focal = camera
    format = {"name": "APS-C", "width_mm": 22.3, "height_mm": 14.9}
    lens = {"focal_mm": focal, "t_stop": 2.8, "widest_t_stop": 1.8, "close_focus_m": 0.25}
    out = {
        "format": "tapemark-plan", "version": 1, "title": "", "exposure": {"ei": 800.0, "frame_rate": 25.0, "shutter_deg": 180.0, "white_balance_k": 4300.0, "receptor": "flat"},
        "location": {"wall_thickness_m": wall, "rooms": rooms, "openings": list(openings), "pieces": list(pieces)},
        "cast": [{"id": f"p{i}", "name": f"P{i}", "height_m": h} for i, (_, _, _, h, *_) in enumerate(people)],
        "cameras": [{"id": "cam", "position_m": [x, y], "lens_height_m": 1.5, "pan_deg": pan, "tilt_deg": tilt, "format": format, "aspect": 16 / 9, "lens": lens}],
        "rigs": [{"id": "rig", "name": "rig", "fixtures": lamps}],
        "shots": [{"id": "shot", "name": "1", "rig": "rig", "camera": "cam", "faces": [f"p{i}" for i in range(len(people))],
                   "marks": [{"id": f"m{i}", "person": f"p{i}", "position_m": [px, py], "facing_deg": f, "pose": (pose or ["standing"])[0]}
                             for i, (px, py, f, _, *pose) in enumerate(people)]}],
    }
    out["location"] |= more.pop("location", {})
    return out | more


DAY = {"location": {"latitude_deg": 52.0, "longitude_deg": 9.0}}


def ours():
    hall = json.loads((HERE / "hall-beside-room.tapemark.json").read_text())
    hall["cameras"] = [{"id": "cam", "position_m": [5.0, 2.1], "lens_height_m": 1.5, "pan_deg": 290.0, "tilt_deg": 0.0, "format": {"name": "APS-C", "width_mm": 22.3, "height_mm": 14.9},
                        "aspect": 16 / 9, "lens": {"focal_mm": 16.0, "t_stop": 2.8, "widest_t_stop": 1.8, "close_focus_m": 0.25}}]
    hall["shots"] = [{"id": "shot", "name": "1", "rig": "rig", "camera": "cam"}]
    yield "a-hall-beside-room", hall, False
    slant = [[0, 0], [5, 0], [6.2, 3.4], [0.6, 4.6]]
    yield "b-oblique", plan(
        [room("r", slant, 2.7, (0.62, 0.58, 0.5), (0.3, 0.22, 0.16), (0.8,))],
        [lamp("key", 0.9, 0.9, 2.0, 50.0, -12.0, 650.0, 3200.0, "tungsten", {"dimmer": 0.6}, type="fresnel", flood=0.6), soft("fill", 5.2, 1.0, 1.9, -40.0, -12.0, 1.2, 0.8, 60.0)],
        (1.1, 0.7, 40.0, 0.0, 20.0), [(3.4, 2.6, 225.0, 1.72), (4.4, 2.9, 240.0, 1.83, "seated")],
        pieces=[box("table", 4.2, 1.6, 1.4, 0.8, 0.75, 20.0), box("shelf", 3.0, 3.75, 1.2, 0.35, 1.9, -12.0, r=(0.5, 0.4, 0.3))]), True
    low, tall = room("low", rect(0, 0, 4, 3.6), 2.4), room("tall", rect(4, 0.5, 8, 5), 4.2, (0.7, 0.66, 0.6), (0.4,), (0.8,))
    yield "c-unequal-ceilings", plan(
        [low, tall], [soft("key", 7.4, 1.4, 2.6, 300.0, -20.0, 1.0, 1.0), bulb("bulb", 1.6, 2.0, 1.6, 12.0)], (0.5, 1.2, 75.0, 4.0, 18.0), [(5.6, 2.6, 265.0, 1.75)],
        [hole("arch", "tall", 3, 2.0, 1.6, 2.2)]), True
    yield "d-l-shape", plan(
        [room("r", [[0, 0], [6, 0], [6, 2.4], [2.6, 2.4], [2.6, 5.5], [0, 5.5]], 2.55, (0.66, 0.7, 0.72), (0.25, 0.2, 0.17), (0.82,))],
        [lamp("panel", 5.5, 0.6, 1.8, 285.0, -8.0, 90.0, type="panel", width_m=0.5, height_m=0.3, beam_deg=60.0), bulb("bulb", 1.2, 4.4, 1.7, 15.0)],
        (0.6, 0.6, 62.0, 0.0, 18.0), [(3.6, 1.4, 250.0, 1.68), (1.3, 3.2, 160.0, 1.8)], pieces=[box("chest", 0.4, 4.0, 0.5, 1.2, 0.9)]), True
    yield "e-stairwell", plan(
        [room("stair", rect(0, 0, 2.2, 2.6), 6.0, (0.72,), (0.3,), (0.8,)), room("low", rect(2.2, 0, 6.2, 3.4), 2.3, (0.55,), (0.2,), (0.75,))],
        [bulb("high", 1.1, 1.3, 4.2, 100.0), lamp("work", 5.8, 3.0, 1.6, 240.0, -5.0, 300.0, 3000.0, "tungsten", type="work-light", beam_deg=80.0, field_deg=120.0)],
        (5.7, 0.6, 305.0, 3.0, 18.0), [(1.2, 1.0, 90.0, 1.77)], [hole("arch", "low", 3, 1.2, 1.3, 2.1)]), True
    yield "f-boards-and-flags", plan(
        [room("r", rect(0, 0, 5.5, 4.5), 2.6, (0.3,), (0.15,), (0.6,))],
        [soft("key", 4.8, 0.7, 2.0, 310.0, -10.0, 0.9, 0.6, 200.0),
         lamp("back", 0.6, 4.1, 2.3, 130.0, -18.0, 650.0, 3200.0, "tungsten",
              {"barn_doors": {"left_deg": 35.0, "right_deg": 60.0, "top_deg": 20.0, "bottom_deg": 70.0}, "gels": [{"type": "correction", "name": "half CTB", "mired_shift": -78.0, "transmittance": 0.52}]},
              type="fresnel", flood=1.0)],
        (4.9, 0.5, 318.0, 0.0, 22.0), [(2.4, 2.9, 140.0, 1.7)],
        pieces=[sheet("board", 1.4, 2.4, 70.0, 1.2, 0.7, 1.7, 0.5), sheet("flag", 3.9, 1.7, 140.0, 0.9, 1.6, 2.3, 0.0, 0.04, "flag"), sheet("over", 2.6, 3.6, 180.0, 1.2, 2.1, 2.2, -1.0, 0.8)]), True
    yield "g-rooms-apart", plan(
        [room("a", rect(0, 0, 4, 3.5), 2.5, (0.68, 0.6, 0.5)), room("b", rect(4.12, 0.4, 7.6, 3.9), 2.7, (0.5, 0.6, 0.68), (0.35,))],
        [soft("key", 0.7, 0.7, 1.8, 60.0, -8.0), bulb("bulb", 6.0, 2.6, 1.8, 10.0)], (0.5, 2.6, 98.0, 0.0, 20.0), [(5.2, 2.0, 270.0, 1.74)],
        [hole("arch", "b", 3, 1.0, 1.4, 2.1), hole("door", "a", 1, 0.5, 0.6, 2.0, type="door", hinge="near", swing="in", open_deg=70.0)]), True
    yield "h-oblique-apart", plan(
        [room("a", [[0, 0], [4.0, 0], [3.8, 4.0], [0, 4.0]], 2.5, (0.7,)), room("b", [[4.14, 0.2], [8, 0.2], [8, 4], [3.97, 4]], 2.4, (0.6,), (0.4,))],
        [lamp("key", 0.5, 3.5, 1.9, 118.0, -10.0, 500.0, 3200.0, "tungsten", type="open-face", beam_deg=50.0, field_deg=80.0)],
        (0.6, 0.9, 70.0, 0.0, 20.0), [(5.6, 2.2, 280.0, 1.8)], [hole("arch", "a", 1, 1.2, 1.5, 2.1)], wall=0.2), True
    sky = dict(DAY, daylight={"date": "2026-03-20", "clock": "11:30", "utc_offset_h": 1.0, "sky_type": 1, "ground_reflectance": 0.2})
    yield "i-overcast", plan(
        [room("r", rect(0, 0, 5, 4), 2.6, (0.65,), (0.3,), (0.8,)), room("next", rect(5, 0, 7.5, 4), 2.6, (0.6,), (0.3,), (0.8,))], [], (4.6, 3.5, 235.0, 0.0, 18.0), [(2.2, 1.8, 40.0, 1.7)],
        [hole("w1", "r", 0, 0.8, 1.4, 2.1, 0.9, type="window", transmittance=0.8), hole("w2", "r", 3, 1.2, 1.0, 2.0, 0.8, type="window", transmittance=0.8),
         hole("arch", "r", 1, 1.4, 1.1, 2.05)], [box("sofa", 1.4, 3.2, 1.8, 0.8, 0.75, r=(0.3, 0.25, 0.35))], **sky), True
    sun = dict(DAY, daylight={"date": "2026-06-21", "clock": "16:45", "utc_offset_h": 2.0, "sky_type": 12, "ground_reflectance": 0.2})
    yield "j-sun", plan(
        [room("r", rect(0, 0, 5, 4), 2.6, (0.65,), (0.3,), (0.8,))], [soft("fill", 4.4, 3.4, 1.9, 230.0, -8.0, 0.8, 0.8, 40.0)], (4.5, 0.6, 300.0, 0.0, 18.0), [(2.4, 2.0, 110.0, 1.75)],
        [hole("w", "r", 3, 1.4, 1.5, 2.1, 0.8, type="window", transmittance=0.85)], [box("table", 3.3, 2.9, 1.0, 0.7, 0.74)], **sun), False
    yield "k-round-and-outline", plan(
        [room("r", rect(0, 0, 4.4, 5.2), 2.45, (0.6, 0.62, 0.5), (0.33, 0.25, 0.2), (0.8,))],
        [lamp("bank", 0.5, 1.0, 2.0, 65.0, -15.0, 120.0, 4300.0, "fluorescent", {"grid_cutoff_deg": 50.0}, type="fluorescent-bank", width_m=1.2, height_m=0.4),
         lamp("table", 3.6, 4.4, 1.15, 0.0, 0.0, 9.0, 2700.0, type="practical")],
        (3.9, 0.5, 335.0, -2.0, 18.0), [(2.2, 2.9, 150.0, 1.6), (1.4, 3.3, 140.0, 1.78)],
        pieces=[{"id": "post", "position_m": [3.1, 2.0], "shape": {"type": "round", "diameter_m": 0.45}, "top_m": 2.45, "finish": finish(0.6)},
                {"id": "desk", "position_m": [3.5, 4.4], "rotation_deg": 0.0, "shape": {"type": "outline", "points_m": [[-0.7, -0.4], [0.6, -0.4], [0.6, 0.5], [0.1, 0.5], [0.1, 0.0], [-0.7, 0.0]]},
                 "base_m": 0.7, "top_m": 0.76, "finish": finish(0.4, 0.3, 0.2)}]), True
    yield "l-diffused", plan(
        [room("r", rect(0, 0, 6, 4.5), 2.8, (0.5, 0.52, 0.55), (0.2,), (0.7,))],
        [lamp("key", 1.0, 0.8, 2.1, 35.0, -12.0, 800.0, 3200.0, "tungsten",
              {"diffusion": {"name": "half diffusion", "transmittance": 0.6, "spread_deg": 25.0}, "gels": [{"type": "correction", "name": "full CTB", "mired_shift": -137.0, "transmittance": 0.34}]},
              type="open-face", beam_deg=50.0, field_deg=80.0),
         lamp("kick", 5.4, 4.0, 2.2, 230.0, -15.0, 800.0, 3200.0, "tungsten", {"dimmer": 0.4, "scrim_stops": 0.5}, type="open-face", beam_deg=50.0, field_deg=80.0)],
        (0.8, 1.6, 60.0, 0.0, 24.0), [(3.4, 2.6, 230.0, 1.71)], pieces=[box("block", 4.6, 1.2, 0.7, 0.7, 1.1, 30.0)]), True


    yield "m-two-doors", plan(
        [room("a", rect(0, 0, 3.6, 4.2), 2.5, (0.75, 0.73, 0.68), (0.4, 0.3, 0.2), (0.85,)), room("b", rect(3.6, 1.0, 5.2, 4.2), 2.3, (0.6,), (0.3,)), room("c", rect(0, 4.2, 5.2, 7.0), 2.6, (0.4, 0.45, 0.5), (0.2,))],
        [soft("key", 0.6, 0.6, 1.7, 35.0, -6.0, 0.6, 0.9, 120.0), bulb("bulb", 2.6, 5.6, 1.7, 8.0)], (3.2, 0.4, 335.0, 0.0, 18.0), [(1.6, 2.6, 160.0, 1.66)],
        [hole("d1", "a", 1, 1.6, 0.9, 2.0, type="door", hinge="far", swing="out", open_deg=65.0), hole("d2", "c", 0, 0.9, 0.9, 2.0, type="door", hinge="near", swing="in", open_deg=95.0)]), True
    yield "n-low-attic", plan(
        [room("r", [[0, 0], [7, 0], [7, 3], [5.2, 4.2], [0, 4.2]], 2.1, (0.8, 0.78, 0.74), (0.45, 0.35, 0.25), (0.85,))],
        [lamp("panel", 6.4, 0.7, 1.6, 300.0, -4.0, 60.0, type="panel", width_m=0.6, height_m=0.6, beam_deg=120.0)], (6.2, 1.4, 285.0, 0.0, 18.0), [(2.2, 2.2, 100.0, 1.7), (3.4, 1.2, 110.0, 1.6, "seated")],
        pieces=[box("beam", 3.4, 2.1, 0.2, 4.0, 2.1, base=1.85, r=(0.4, 0.3, 0.2)), box("chest", 1.0, 0.4, 1.0, 0.5, 0.6)]), True


    yield "o-crowd", plan(
        [room("r", rect(0, 0, 5, 4), 2.5, (0.62, 0.58, 0.5), (0.22, 0.2, 0.18), (0.75,))],
        [soft("key", 3.9, 0.9, 1.9, 310.0, -12.0, 0.8, 0.8, 120.0), bulb("bulb", 1.4, 2.4, 2.0, 25.0)], (4.2, 1.2, 300.0, 0.0, 18.0), [(2.0, 2.3, 120.0, 1.7), (2.9, 2.9, 160.0, 1.8)],
        pieces=jars(220, 5.0, 4.0, 7)), False
    yield "p-crowd-under-the-ceiling", plan(
        [room("r", rect(0, 0, 6, 3.4), 2.3, (0.75,), (0.4, 0.3, 0.2), (0.8,)), room("next", rect(6, 0.4, 8.4, 3.4), 2.3, (0.5,), (0.3,))],
        [lamp("panel", 5.3, 0.8, 1.7, 300.0, -5.0, 80.0, type="panel", width_m=0.6, height_m=0.3, beam_deg=110.0)], (5.0, 0.8, 300.0, 0.0, 18.0), [(2.6, 1.7, 110.0, 1.66)],
        [hole("arch", "next", 3, 0.9, 1.2, 2.05)], pieces=jars(450, 6.0, 3.4, 8, (0.0, 0.9, 1.5, 2.0))), False
    # What stands outside before an opening: another wing with the sun on it, a leaf that swings out, a hedge; and a chest
    # that goes through the wall.
    wings = [[0, 0], [9, 0], [9, 6], [6, 6], [6, 3], [3, 3], [3, 6], [0, 6]]
    for name, clock, type in (("q-court-in-the-sun", "16:30", 12), ("q-court-grey", "11:00", 1)):
        yield name, plan(
            [room("r", wings, 2.6, (0.7,), (0.3,), (0.8,))], [bulb("bulb", 8.0, 1.0, 2.1, 6.0)], (0.6, 0.6, 30.0, 0.0, 18.0), [(1.4, 4.2, 100.0, 1.75)],
            [hole("w", "r", 5, 0.6, 1.8, 2.2, 0.7, type="window", transmittance=0.8)], **(DAY | {"daylight": sun["daylight"] | {"clock": clock, "sky_type": type}})), False
    yield "r-out-of-the-door", plan(
        [room("r", rect(0, 0, 5, 4), 2.5, (0.6,), (0.25,), (0.75,))], [bulb("bulb", 4.4, 0.6, 2.0, 6.0)], (4.5, 0.6, 300.0, 0.0, 18.0), [(2.4, 2.0, 110.0, 1.75)],
        [hole("d", "r", 3, 1.2, 1.1, 2.05, type="door", hinge="far", swing="out", open_deg=50.0), hole("w", "r", 2, 1.5, 1.6, 2.1, 0.8, type="window", transmittance=0.85)],
        [box("hedge", 2.6, 5.6, 4.0, 0.6, 1.8, r=(0.08, 0.14, 0.05)), box("chest", 4.9, 2.6, 0.9, 1.2, 0.8)], **sun), False


def jars(count, wide, deep, seed, shelves=(0.0, 0.8, 1.3)):
    """Many small things along the walls of a room."""
    lot = random.Random(seed)
    out = []
    for n in range(count):
        near, side = lot.uniform(0.12, 0.4), lot.randrange(4)
        u, v = lot.uniform(0.15, wide - 0.15), lot.uniform(0.15, deep - 0.15)
        x, y = [(u, near), (u, deep - near), (near, v), (wide - near, v)][side]
        base = lot.choice(shelves)
        grey = lot.uniform(0.15, 0.7)
        out.append(box(f"jar{n}", round(x, 3), round(y, 3), round(lot.uniform(0.06, 0.2), 3), round(lot.uniform(0.06, 0.15), 3), round(base + lot.uniform(0.06, 0.28), 3),
                       round(lot.uniform(0, 360), 1), base, (round(grey, 3), round(grey * 0.9, 3), round(grey * 0.8, 3))))
    return out


def stands_free(p):
    """Whether no lamp's face reaches into a body or beyond its room: nobody could set it up so."""
    shot = p["shots"][0]
    bodies = tw.bodies(p, shot)
    for f in [f for r in p["rigs"] for f in r["fixtures"]] + shot.get("lamps", []):
        pan, tilt = math.radians(f.get("pan_deg", 0.0)), math.radians(f.get("tilt_deg", 0.0))
        right = np.array([math.cos(pan), -math.sin(pan), 0.0])
        up = np.array([-math.sin(pan) * math.sin(tilt), -math.cos(pan) * math.sin(tilt), math.cos(tilt)])
        w, h = (f["head"].get(k, 0.1) / 2 for k in ("width_m", "height_m"))
        at = np.array([*f["position_m"], f["height_m"]])
        corners = [at + right * w * u + up * h * v for u in (-1, 0, 1) for v in (-1, 0, 1)]
        rooms = [r for r in p["location"]["rooms"] if tw.inside(at[:2], r["outline_m"])]
        if rooms and any(not tw.inside(c[:2], rooms[0]["outline_m"]) or not 0 < c[2] < rooms[0].get("ceiling_m", 2.5) for c in corners):
            return False
        if any(np.linalg.norm(c[:2] - b["at"]) < b["chest"][0] + 0.05 and c[2] < b["crown"] + 0.05 for b in bodies for c in corners):
            return False
    return True


def plans():
    yield from ours()
    lot = HERE / "plausible.json"
    if lot.exists():
        for seed, p in sorted(json.loads(lot.read_text()).items(), key=lambda kv: int(kv[0])):
            if p["shots"] and stands_free(trimmed(p)):
                yield f"lot-{int(seed):04}", trimmed(p), False


def trimmed(p):
    """A plan with its first shot alone, and without what has nothing to do with light."""
    shot = {k: v for k, v in p["shots"][0].items() if k not in ("cuts_with", "variant_of", "picture", "notes", "description", "takes")}
    rig = next(r for r in p["rigs"] if r["id"] == shot["rig"])
    camera = [c for c in p.get("cameras", []) if c["id"] == shot.get("camera")]
    place = {k: v for k, v in p["location"].items() if k not in ("circuits", "outlets", "underlay", "name", "mains_v")}
    plain = lambda items: [{k: v for k, v in i.items() if k not in ("name", "outlet", "from", "until", "cable_mm2", "power_factor")} for i in items]
    place |= {k: plain(place.get(k, [])) for k in ("rooms", "openings", "pieces")}
    out = {k: p[k] for k in ("format", "version", "exposure", "daylight") if k in p}
    if shot.get("lamps"):
        shot["lamps"] = plain(shot["lamps"])
    return out | {"title": "", "location": place, "cast": [c | {"name": c["id"]} for c in plain(p.get("cast", []))], "cameras": camera,
                  "rigs": [{"id": rig["id"], "name": rig["id"], "fixtures": plain(rig["fixtures"])}], "shots": [shot]}


# --- where they are read ----------------------------------------------------------------------------------------------


def unit(v):
    return np.asarray(v, float) / np.linalg.norm(v)


def receivers(p, shot, name):
    """At faces and hair, on walls and floors, and in the room: by lot, free of what stands there."""
    lot = random.Random("receivers " + name)
    place = p["location"]
    bodies = tw.bodies(p, shot)
    camera = next((c for c in p.get("cameras", []) if c["id"] == shot.get("camera")), None)
    eye = np.array([*camera["position_m"], camera["lens_height_m"]]) if camera else None
    lamps = next(r for r in p["rigs"] if r["id"] == shot["rig"])["fixtures"]
    out = []

    def add(group, point, toward):
        out.append({"group": group, "point_m": [round(float(v), 4) for v in point], "toward": [float(v) for v in unit(toward)]})

    def free(point, gap=0.08):
        q = np.asarray(point[:2])
        for b in bodies:
            if np.linalg.norm(q - b["at"]) < 0.35:
                return False
        for piece in place.get("pieces", []):
            ring = tw.ring_of(piece)
            if ring is None:
                if np.linalg.norm(q - np.array(piece["position_m"])) < piece["shape"]["width_m"] / 2 + 0.1:
                    return False
                continue
            ring = [np.asarray(v) for v in ring]
            near = min(np.linalg.norm(q - (a + (b - a) * np.clip(np.dot(q - a, b - a) / np.dot(b - a, b - a), 0, 1))) for a, b in zip(ring, ring[1:] + ring[:1]))
            if (tw.inside(q, ring) or near < gap) and piece.get("base_m", 0.0) - 0.1 < point[2] < piece["top_m"] + 0.1:
                return False
        return all(np.linalg.norm(np.asarray(point) - [*f["position_m"], f["height_m"]]) > 0.6 for f in lamps)

    for b in bodies[:2]:
        front = np.array([*tw.bearing(b["facing"]), 0.0])
        at = b["head"] + front * (b["half"][1] + 0.03)
        if eye is not None and np.dot(eye - at, front) > 0.2:
            add("face", at, eye - at)
        else:
            add("face", at, front)
        if eye is not None:
            away = unit(np.array([*(b["head"] - eye)[:2], 0.0]))
            toward = unit(away + [0, 0, 1])
            add("hair", b["head"] + [0, 0, b["half"][2]] + toward * 0.03, toward)
    rooms = place["rooms"]
    for _ in range(200 if rooms else 0):
        if sum(r["group"] == "wall" for r in out) >= 2:
            break
        r = lot.choice(rooms)
        e = tw.Edge(r, lot.randrange(len(r["outline_m"])))
        if e.length < 1.0:
            continue
        s, z = lot.uniform(0.25, e.length - 0.25), lot.uniform(0.5, min(e.ceiling, 2.6) - 0.3)
        q = e.a + e.along * s
        if any(h["room"] == r["id"] and h["edge"] == e.index and h["offset_m"] - 0.2 < s < h["offset_m"] + h["width_m"] + 0.2 for h in place.get("openings", [])):
            continue
        if any(o["room"] != r["id"] and math.dist(q, tw_middle(place, o)) < o["width_m"] / 2 + 0.4 for o in place.get("openings", [])):
            continue
        if free([*q, z], 0.25):
            add("wall", [*(q + e.inward * 0.005), z], [*e.inward, 0.0])
    tries = 0
    while rooms and sum(r["group"] in ("floor", "room") for r in out) < 3 and tries < 200:
        tries += 1
        r = lot.choice(rooms)
        o = np.array(r["outline_m"])
        q = np.array([lot.uniform(*sorted((o[:, k].min(), o[:, k].max()))) for k in (0, 1)])
        edges = [tw.Edge(r, i) for i in range(len(o))]
        if not tw.inside(q, r["outline_m"]) or any(abs(np.dot(q - e.a, e.inward)) < 0.3 for e in edges):
            continue
        on_floor = sum(x["group"] == "floor" for x in out) == 0
        z = 0.005 if on_floor else lot.uniform(0.9, 1.7)
        turn, up = lot.uniform(0, 2 * math.pi), lot.uniform(-0.4, 0.6)
        if free([*q, z], 0.25):
            add("floor" if on_floor else "room", [*q, z], [0, 0, 1] if on_floor else [math.cos(turn), math.sin(turn), up])
    return out


def tw_middle(place, o):
    r = next(r for r in place["rooms"] if r["id"] == o["room"])
    e = tw.Edge(r, o["edge"])
    return e.a + e.along * (o["offset_m"] + o["width_m"] / 2)
