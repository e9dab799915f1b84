"""Makes assets/bench/large-day.tapemark.json: 30 rooms, 1000 pieces, 200 lamps in ten rigs, 60 shots. Invented, for
measuring only. Run from this folder: python make_large.py.
"""
import json
import random

random.seed(30)
W, D = 6.0, 5.0
rooms, openings, pieces, circuits, outlets = [], [], [], [], []
for n in range(30):
    i, j = n % 6, n // 6
    x, y = i * W, j * D
    rooms.append({"id": f"room-{n}", "name": f"Room {n + 1}", "outline_m": [[x, y], [x + W, y], [x + W, y + D], [x, y + D]], "ceiling_m": 2.7})
    if i < 5:
        openings.append({"id": f"east-{n}", "room": f"room-{n}", "edge": 1, "offset_m": 2.0, "width_m": 0.9, "head_m": 2.05,
                         "kind": {"type": "door", "hinge": "near", "swing": "in", "open_deg": [0, 80][n % 2]}})
    if j < 4:
        openings.append({"id": f"north-{n}", "room": f"room-{n}", "edge": 2, "offset_m": 2.5, "width_m": 1.0, "head_m": 2.05, "kind": {"type": "passage"}})
    if j == 0:
        openings.append({"id": f"window-{n}", "room": f"room-{n}", "edge": 0, "offset_m": 2.0, "width_m": 1.4, "sill_m": 0.9, "head_m": 2.1,
                         "kind": {"type": "window", "transmittance": 0.8}})
    circuits.append({"id": f"circuit-{n}", "name": f"circuit {n + 1}", "breaker_a": 16})
    outlets.append({"id": f"outlet-{n}", "circuit": f"circuit-{n}", "position_m": [x + 0.05, y + 1.0]})
for n in range(1000):
    room = n % 30
    x, y = (room % 6) * W, (room // 6) * D
    # Along the walls, so that people can stand in the middle.
    side, along = random.randrange(4), random.uniform(0.5, 1.0)
    u, v = random.uniform(0.4, W - 0.4), random.uniform(0.4, D - 0.4)
    at = [(u, 0.3), (u, D - 0.3), (0.3, v), (W - 0.3, v)][side]
    shape = {"type": "box", "width_m": round(random.uniform(0.3, 0.9), 2), "depth_m": 0.4} if n % 4 else {"type": "round", "diameter_m": 0.4}
    pieces.append({"id": f"piece-{n}", "name": f"piece {n}", "position_m": [round(x + at[0], 2), round(y + at[1], 2)],
                   "rotation_deg": [0, 180, 90, 270][side], "shape": shape, "top_m": round(along, 2)})
heads = [{"type": "soft-box", "width_m": 0.6, "height_m": 0.6}, {"type": "open-face", "beam_deg": 50, "field_deg": 80},
         {"type": "panel", "width_m": 0.6, "height_m": 0.3, "beam_deg": 110}, {"type": "practical"}, {"type": "fresnel", "flood": 0.5}]
rigs, shots, cast, cameras = [], [], [], []
for p in range(6):
    cast.append({"id": f"person-{p}", "name": f"Person {p + 1}", "height_m": 1.6 + 0.05 * p})
for r in range(10):
    fixtures = []
    for k in range(20):
        room = (r * 3 + k % 3) % 30
        x, y = (room % 6) * W, (room // 6) * D
        fixtures.append({"id": f"lamp-{r}-{k}", "head": heads[k % 5], "lamp": "led", "watts": 60.0, "cct_k": 5600.0, "power_factor": 0.9,
                         "position_m": [round(x + random.uniform(0.8, W - 0.8), 2), round(y + random.uniform(0.8, D - 0.8), 2)],
                         "height_m": 2.0, "pan_deg": random.randrange(360), "tilt_deg": -15.0, "outlet": f"outlet-{room}"})
    rigs.append({"id": f"rig-{r}", "name": f"Rig {r + 1}", "fixtures": fixtures})
for s in range(60):
    room = s % 30
    x, y = (room % 6) * W, (room // 6) * D
    cameras.append({"id": f"camera-{s}", "name": f"Camera {s + 1}", "position_m": [x + 1.2, y + 1.2], "pan_deg": 50.0, "lens_height_m": 1.5,
                    "lens": {"focal_mm": 28.0, "t_stop": 2.8, "widest_t_stop": 2.0, "close_focus_m": 0.3}})
    marks = [{"id": f"mark-{s}-{k}", "person": f"person-{(s + k) % 6}", "position_m": [round(x + 3.0 + 0.9 * k, 2), round(y + 2.6 + 0.5 * k, 2)],
              "facing_deg": 230.0} for k in range(2)]
    shots.append({"id": f"shot-{s}", "name": str(s + 1), "rig": f"rig-{s % 10}", "camera": f"camera-{s}", "marks": marks, "length_s": 8})
plan = {"format": "tapemark-plan", "version": 1, "title": "Large day", "location": {"name": "A house of thirty rooms", "rooms": rooms, "openings": openings,
        "pieces": pieces, "circuits": circuits, "outlets": outlets}, "cast": cast, "cameras": cameras, "rigs": rigs, "shots": shots}
with open("../../assets/bench/large-day.tapemark.json", "w") as f:
    json.dump(plan, f, separators=(",", ":"))
    f.write("\n")
