"""How much of a face a lens sees, by Monte Carlo rays through Embree, kept in sight.json.

Run: python make_sight.py > sight.json  (needs numpy, trimesh, embreex)

520 random set-ups: two to four people with one or two marks each, a moment in the middle of their move, boxes
in the way, one lens. Bodies are those of docs/method.md (chest, neck and head on Drillis & Contini's shares),
built here again from that text as fine meshes. A face is the front half of its head; points are spread over its
area at random, at least 60 000 a face,
and where possible 40 000 that are turned to the lens.
"""

import json
import math
import numpy as np
import trimesh
from trimesh.ray.ray_pyembree import RayMeshIntersector

rng = np.random.default_rng(11)
BUILDS = {"slight": 0.9, "medium": 1.0, "broad": 1.25}
TURN_S = 0.5


def direction(deg):
    return np.array([math.sin(math.radians(deg)), math.cos(math.radians(deg))])


def bearing(v):
    return math.degrees(math.atan2(v[0], v[1])) % 360


def turn(a, b):
    d = (b - a) % 360
    return d - 360 if d > 180 else d


def place(person, t):
    """Where a person is and faces at a second: walks straight, turns over half a second at either end."""
    first = person["marks"][0]
    if len(person["marks"]) == 1 or t <= first["to_s"]:
        return np.array(first["at"]), first["facing"]
    last = person["marks"][1]
    if t >= last["from_s"]:
        return np.array(last["at"]), last["facing"]
    a, b = np.array(first["at"]), np.array(last["at"])
    whole = last["from_s"] - first["to_s"]
    at = a + (b - a) * (t - first["to_s"]) / whole
    way, turning = bearing(b - a), min(TURN_S, whole / 3)
    if np.linalg.norm(b - a) <= 0.3:
        return at, first["facing"] + turn(first["facing"], last["facing"]) * (t - first["to_s"]) / whole
    left = (last["from_s"] - t) / turning
    if left < 1:
        return at, last["facing"] + turn(last["facing"], way) * left
    return at, first["facing"] + turn(first["facing"], way) * min(1.0, (t - first["to_s"]) / turning)


def frame(facing):
    front, across = direction(facing), direction(facing + 90)
    m = np.eye(4)
    m[:2, 0], m[:2, 1] = across, front
    m[2, 2] = 1
    return m


def ellipsoid(centre, half, facing, detail=4):
    mesh = trimesh.creation.icosphere(subdivisions=detail)
    # Corners lie on the sphere: let the mean radius of the facets be the sphere's.
    mesh.apply_scale(1 / math.sqrt(mesh.area / (4 * math.pi)))
    mesh.apply_transform(np.diag([*half, 1.0]))
    mesh.apply_transform(frame(facing))
    mesh.apply_translation(centre)
    return mesh


def cylinder(at, half, z, facing):
    # A ring of 64 corners with the area of the ellipse.
    n = 64
    r = 1 / math.sqrt(n / (2 * math.pi) * math.sin(2 * math.pi / n))
    mesh = trimesh.creation.cylinder(radius=r, height=1.0, sections=n)
    mesh.apply_transform(np.diag([half[0], half[1], z[1] - z[0], 1.0]))
    mesh.apply_transform(frame(facing))
    mesh.apply_translation([at[0], at[1], (z[0] + z[1]) / 2])
    return mesh


def body(person, at, facing):
    h, wide = person["height"], BUILDS[person["build"]]
    crown = {"standing": h, "seated": 0.45 + 0.520 * h, "kneeling": h * (1 - 0.285)}[person["pose"]]
    up = h * (1 - 0.870) / 2
    head = np.array([at[0], at[1], crown - up])
    half = np.array([h * 0.152 / 1.75 / 2, h * 0.195 / 1.75 / 2, up])
    shoulder = crown - h * (1 - 0.818)
    chest = cylinder(at, (h * 0.259 / 2 * wide, h * 0.07 * wide), (0, shoulder), facing)
    neck = cylinder(at, (half[0] * 0.8, half[0] * 0.8), (shoulder, crown - 2 * up + up * 0.5), facing)
    return head, half, [chest, neck, ellipsoid(head, half, facing)]


def face_points(head, half, facing, n):
    """Points evenly over the area of the head's front half, with normals."""
    mesh = trimesh.creation.icosphere(subdivisions=5)
    mesh.apply_transform(np.diag([*half, 1.0]))
    points, _ = trimesh.sample.sample_surface(mesh, 2 * n, seed=int(rng.integers(1 << 30)))
    points = points[points[:, 1] > 0][:n]
    unit = points / half
    unit /= np.linalg.norm(unit, axis=1)[:, None]
    points, normals = unit * half, unit / half
    m = frame(facing)[:3, :3]
    return points @ m.T + head, normals @ m.T


setups = []
while len(setups) < 520:
    people = []
    for i in range(int(rng.integers(2, 5))):
        a = rng.uniform([-1.4, -0.6], [1.4, 1.6])
        first = {"at": a.round(3).tolist(), "facing": round(float(rng.uniform(110, 250)), 1), "to_s": 2.0}
        marks = [first]
        if rng.random() < 0.7:
            b = a + rng.uniform(-1.2, 1.2, 2)
            marks.append({"at": b.round(3).tolist(), "facing": round(float(rng.uniform(110, 250)), 1), "from_s": 5.0})
        people.append({"height": round(float(rng.uniform(1.5, 1.95)), 3), "build": str(rng.choice(list(BUILDS))),
                       "pose": str(rng.choice(["standing", "standing", "seated", "kneeling"])), "marks": marks})
    boxes = [{"at": rng.uniform([-1.5, -1.8], [1.5, -0.4]).round(3).tolist(),
              "size": rng.uniform(0.05, 0.6, 2).round(3).tolist(), "turn": round(float(rng.uniform(0, 90)), 1),
              "top": round(float(rng.uniform(0.8, 2.0)), 3)} for _ in range(int(rng.integers(0, 3)))]
    eye = rng.uniform([-1.5, -4.5, 1.0], [1.5, -2.4, 1.9]).round(3)
    t = round(float(rng.uniform(1.5, 5.5)), 2)
    placed = [(*place(p, t),) for p in people]
    bodies = [body(p, at, f) for p, (at, f) in zip(people, placed)]
    blocks = []
    for b in boxes:
        mesh = trimesh.creation.box([*b["size"], b["top"]])
        m = np.eye(4)
        m[:2, 0], m[:2, 1] = direction(b["turn"] + 90), direction(b["turn"])
        mesh.apply_transform(m)
        mesh.apply_translation([*b["at"], b["top"] / 2])
        blocks.append(mesh)
    # Nobody stands in another, and the lens in nobody.
    spots = [p[0] for p in placed]
    if any(np.linalg.norm(spots[i] - spots[j]) < 0.5 for i in range(len(spots)) for j in range(i)):
        continue
    faces = []
    for i, (head, half, _) in enumerate(bodies):
        parts, seen, asked = [], 0, 0
        # Until enough points are turned to the lens.
        while asked < 60_000 or (0 < seen < 40_000 and asked < 600_000):
            points, normals = face_points(head, half, placed[i][1], 60_000)
            facing = np.einsum("ij,ij->i", normals, eye - points) > 0
            parts.append(points[facing])
            seen, asked = seen + int(facing.sum()), asked + len(points)
        turned = seen / asked
        others = [m for j, b in enumerate(bodies) if j != i for m in b[2]] + blocks
        p = np.concatenate(parts)
        d = eye - p
        if len(p) == 0:
            faces.append({"turned": turned, "clear": None})
            continue
        scene = RayMeshIntersector(trimesh.util.concatenate(others), scale_to_box=False)
        length = np.linalg.norm(d, axis=1)
        hit = np.full(len(p), np.inf)
        locations, rays, _ = scene.intersects_location(p, d / length[:, None], multiple_hits=False)
        if len(rays):
            hit[rays] = np.linalg.norm(locations - p[rays], axis=1)
        faces.append({"turned": round(turned, 4), "clear": round(float((hit > length).mean()), 4)})
    setups.append({"eye": eye.tolist(), "at_s": t, "people": people, "boxes": boxes, "faces": faces})
print(json.dumps({"by": f"trimesh {trimesh.__version__}, embreex", "setups": setups}))
