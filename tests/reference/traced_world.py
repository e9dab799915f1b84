"""A plan's rooms as plain triangles with a finish each, read from the plan file by what docs/method.md and
docs/plan-format.md say of it, and by nothing of the program.

Every room has inner wall faces at its outline. Edges of two rooms that face each other within a wall's thickness are
the two faces of one wall: an opening on either cuts both where they lie side by side, and between faces that stand
apart it has jambs, a soffit and a sill.
"""

import math

import numpy as np

LEAF = [0.5, 0.5, 0.5]  # a door leaf
BLACK = [0.0, 0.0, 0.0]  # people stand in the way and return nothing
# Body proportions as shares of stature (docs/method.md, after Drillis & Contini).
CHIN, SHOULDER, BREADTH, KNEE, SITTING = 0.870, 0.818, 0.259, 0.285, 0.520
HEAD_BREADTH, HEAD_LENGTH, SEAT_M = 0.152 / 1.75, 0.195 / 1.75, 0.45
DOUBLE_M = 5e-4  # two faces in one plane: each this far into its own room


def bearing(deg):
    return np.array([math.sin(math.radians(deg)), math.cos(math.radians(deg))])


def turned(v, deg):
    """A vector turned clockwise by a bearing."""
    s, c = math.sin(math.radians(deg)), math.cos(math.radians(deg))
    return np.array([v[0] * c + v[1] * s, -v[0] * s + v[1] * c])


def area(points):
    p = np.asarray(points)
    q = np.roll(p, -1, 0)
    return 0.5 * float(np.sum(p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0]))


def inside(p, points):
    found = False
    for a, b in zip(points, points[1:] + points[:1]):
        if (a[1] > p[1]) != (b[1] > p[1]) and p[0] < (b[0] - a[0]) * (p[1] - a[1]) / (b[1] - a[1]) + a[0]:
            found = not found
    return found


def triangles_of(points):
    """A simple polygon cut into triangles by its ears."""
    ring = [np.asarray(p, float) for p in points]
    if area(ring) < 0:
        ring.reverse()
    cross = lambda a, b, c: (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    out = []
    while len(ring) > 3:
        for i in range(len(ring)):
            a, b, c = ring[i - 1], ring[i], ring[(i + 1) % len(ring)]
            if cross(a, b, c) <= 1e-12:
                continue
            others = [p for p in ring if p is not a and p is not b and p is not c]
            if any(min(cross(a, b, p), cross(b, c, p), cross(c, a, p)) > -1e-12 for p in others):
                continue
            out.append((a, b, c))
            del ring[i]
            break
        else:  # only flat corners are left
            flat = min(range(len(ring)), key=lambda i: abs(cross(ring[i - 1], ring[i], ring[(i + 1) % len(ring)])))
            del ring[flat]
    out.append(tuple(ring))
    return out


class World:
    """Triangles gathered, with a finish and a kind each: 0 room, 1 door leaf, 2 piece, 3 person."""

    def __init__(self):
        self.corners, self.finish, self.kind = [], [], []

    def triangle(self, a, b, c, finish, kind):
        self.corners.append((a, b, c))
        self.finish.append(finish)
        self.kind.append(kind)

    def quad(self, corner, u, v, finish, kind=0):
        a, u, v = np.asarray(corner, float), np.asarray(u, float), np.asarray(v, float)
        self.triangle(a, a + u, a + u + v, finish, kind)
        self.triangle(a, a + u + v, a + v, finish, kind)

    def upright(self, a, b, z0, z1, finish, kind=0):
        if z1 - z0 > 1e-9 and math.dist(a, b) > 1e-9:
            self.quad((*a, z0), (b[0] - a[0], b[1] - a[1], 0), (0, 0, z1 - z0), finish, kind)

    def level(self, points, z, finish, kind=0):
        for t in triangles_of(points):
            self.triangle(*[np.array([*p, z]) for p in t], finish, kind)

    def prism(self, points, z0, z1, finish, kind):
        for a, b in zip(points, points[1:] + points[:1]):
            self.upright(a, b, z0, z1, finish, kind)
        self.level(points, z1, finish, kind)
        if z0 > 0:
            self.level(points, z0, finish, kind)

    def arrays(self):
        return np.array(self.corners, float), np.array(self.finish, float), np.array(self.kind, int)


class Edge:
    """One edge of a room's outline, with its unit vectors along and into the room."""

    def __init__(self, room, index):
        o = room["outline_m"]
        self.room, self.index = room, index
        self.a, self.b = np.array(o[index], float), np.array(o[(index + 1) % len(o)], float)
        self.length = math.dist(self.a, self.b)
        self.along = (self.b - self.a) / self.length
        left = np.array([-self.along[1], self.along[0]])
        self.inward = left if area(o) > 0 else -left
        self.ceiling = room.get("ceiling_m", 2.5)

    def gap_at(self, s, other):
        """How far behind a place of this edge the other's line lies."""
        p = self.a + self.along * s
        return float(np.dot(other.a - p, other.inward) / np.dot(-self.inward, other.inward))

    def faces(self, other, thickness):
        """The stretch of this edge that another faces as the far face of one wall."""
        if self.room is other.room or np.dot(self.inward, other.inward) > -math.cos(math.radians(15.0)):
            return None
        s, t = sorted(float(np.dot(p - self.a, self.along)) for p in (other.a, other.b))
        low, high = max(s, 0.0), min(t, self.length)
        if high - low < 1e-6:
            return None
        gaps = [self.gap_at(q, other) for q in (low, high)]
        return (low, high) if min(gaps) > -0.03 and max(gaps) < thickness + 0.03 else None


def finishes(room):
    grey = lambda r: {"reflectance_rgb": [r] * 3}
    own = room.get("finishes") or {"walls": grey(0.5), "floor": grey(0.2), "ceiling": grey(0.7)}
    return {k: own[k]["reflectance_rgb"] for k in ("walls", "floor", "ceiling")}


def walls(world, place):
    edges = [Edge(r, i) for r in place["rooms"] for i in range(len(r["outline_m"]))]
    thickness = place.get("wall_thickness_m", 0.12)
    holes = {(e.room["id"], e.index): [] for e in edges}
    double = set()
    for e in edges:
        for o in edges:
            found = e.faces(o, thickness)
            if found and abs(e.gap_at(sum(found) / 2, o)) < 2e-3:
                double.add((e.room["id"], e.index))
    for hole in place.get("openings", []):
        e = next(e for e in edges if e.room["id"] == hole["room"] and e.index == hole["edge"])
        s0, s1 = hole["offset_m"], hole["offset_m"] + hole["width_m"]
        sill, head = hole.get("sill_m", 0.0), hole["head_m"]
        holes[e.room["id"], e.index].append((s0, s1, sill, head))
        for o in edges:
            found = e.faces(o, thickness)
            if not found or min(found[1], s1) - max(found[0], s0) < 1e-6:
                continue
            near = [max(found[0], s0), min(found[1], s1)]
            here = [e.a + e.along * s for s in near]
            there = [p - e.inward * e.gap_at(s, o) for p, s in zip(here, near)]
            across = sorted(float(np.dot(p - o.a, o.along)) for p in there)
            holes[o.room["id"], o.index].append((*across, sill, head))
            if max(e.gap_at(s, o) for s in near) <= 2e-3:
                continue
            wall, floor = finishes(e.room)["walls"], finishes(e.room)["floor"]
            top = min(head, e.ceiling, o.ceiling)
            for p, q in zip(here, there):
                world.upright(p, q, sill, top, wall)
            ring = [*here, there[1], there[0]]
            world.level(ring, top, wall)
            world.level(ring, sill, wall if sill > 1e-6 else floor)
        leaf(world, e, hole)
    for e in edges:
        face(world, e, holes[e.room["id"], e.index], DOUBLE_M if (e.room["id"], e.index) in double else 0.0)


def face(world, e, holes, into):
    """A wall's inner face without its holes."""
    finish = finishes(e.room)["walls"]
    cuts = sorted({0.0, e.length, *(min(max(s, 0.0), e.length) for h in holes for s in h[:2])})
    for s, t in zip(cuts, cuts[1:]):
        if t - s < 1e-7:
            continue
        a, b = (e.a + e.along * q + e.inward * into for q in (s, t))
        z = 0.0
        middle = (s + t) / 2
        for _, _, sill, head in sorted((h for h in holes if h[0] < middle < h[1]), key=lambda h: h[2]):
            world.upright(a, b, z, min(max(sill, z), e.ceiling), finish)
            z = max(z, min(head, e.ceiling))
        world.upright(a, b, z, e.ceiling, finish)


def leaf(world, e, hole):
    kind = hole["kind"]
    if kind["type"] != "door":
        return
    near, far = (e.a + e.along * s for s in (hole["offset_m"], hole["offset_m"] + hole["width_m"]))
    hinge, tip = (near, far) if kind["hinge"] == "near" else (far, near)
    side = e.inward if kind["swing"] == "in" else -e.inward
    shut = tip - hinge
    turn = math.radians(min(kind["open_deg"], 177.0))
    tip = hinge + shut * math.cos(turn) + side * math.dist(tip, hinge) * math.sin(turn)
    world.upright(hinge, tip, 0.0, hole["head_m"], LEAF, 1)


def ring_of(piece):
    """A piece's footprint on the plan; none for a sheet."""
    at, shape, by = np.array(piece["position_m"], float), piece["shape"], piece.get("rotation_deg", 0.0)
    if shape["type"] == "box":
        w, d = shape["width_m"] / 2, shape["depth_m"] / 2
        local = [(-w, -d), (w, -d), (w, d), (-w, d)]
    elif shape["type"] == "round":
        n = 96
        r = shape["diameter_m"] / 2 * math.sqrt(2 * math.pi / n / math.sin(2 * math.pi / n))
        local = [(r * math.cos(2 * math.pi * i / n), r * math.sin(2 * math.pi * i / n)) for i in range(n)]
    elif shape["type"] == "outline":
        local = shape["points_m"]
    else:
        return None
    return [at + turned(p, by) for p in local]


def pieces(world, place):
    for piece in place.get("pieces", []):
        finish = piece.get("finish", {"reflectance_rgb": [0.35, 0.3, 0.25]})["reflectance_rgb"]
        base, top = piece.get("base_m", 0.0), piece["top_m"]
        ring = ring_of(piece)
        if ring is not None:
            world.prism(ring, base, top, finish, 2)
            continue
        # A sheet leans about its middle; its front looks along its bearing and, leaning back, up.
        by = piece.get("rotation_deg", 0.0)
        width, lean = piece["shape"]["width_m"], piece["shape"].get("lean_m", 0.0)
        across, back = turned((width, 0.0), by), turned((0.0, -1.0), by) * lean
        corner = np.array(piece["position_m"]) - across / 2 - back / 2
        world.quad((*corner, base), (*across, 0.0), (*back, top - base), finish, 2)


def bodies(plan, shot, at_s=0.0):
    """Everyone present: place, bearing, and the sizes of chest, neck and head. Nobody may be walking."""
    out = []
    for person in plan.get("cast", []):
        marks = sorted((m for m in shot.get("marks", []) if m["person"] == person["id"]), key=lambda m: m.get("from_s", 0.0))
        there = [m for m in marks if m.get("from_s", 0.0) <= at_s + 1e-9]
        if not there:
            continue
        m = there[-1]
        if m.get("to_s") is not None and m["to_s"] < at_s:
            if m is marks[-1]:
                continue
            raise ValueError("someone is walking")
        h = person["height_m"]
        pose = m.get("pose", "standing")
        crown = {"standing": h, "seated": SEAT_M + SITTING * h, "kneeling": h * (1 - KNEE)}[pose]
        wide = {"slight": 0.9, "medium": 1.0, "broad": 1.25}[person.get("build", "medium")]
        up = h * (1 - CHIN) / 2
        out.append({
            "id": person["id"], "at": np.array(m["position_m"], float), "facing": m.get("facing_deg", 0.0), "crown": crown,
            "head": np.array([*m["position_m"], crown - up]), "half": np.array([h * HEAD_BREADTH / 2, h * HEAD_LENGTH / 2, up]),
            "chest": (h * BREADTH / 2 * wide, h * 0.07 * wide), "shoulder": crown - h * (1 - SHOULDER),
        })
    return out


def body(world, p):
    """An elliptical chest down to the floor, a neck, and an ellipsoidal head."""
    across, front = bearing(p["facing"] + 90.0), bearing(p["facing"])

    def column(x, y, z0, z1, n=64):
        ring = [p["at"] + across * x * math.cos(a) + front * y * math.sin(a) for a in np.arange(n) * 2 * math.pi / n]
        world.prism(ring, z0, z1, BLACK, 3)

    column(*p["chest"], 0.0, p["shoulder"])
    chin = p["head"][2] - p["half"][2]
    if chin > p["shoulder"]:
        neck = p["half"][0] * 0.8
        column(neck, neck, p["shoulder"], chin + p["half"][2] / 2)
    x, y, z = np.array([*across, 0.0]) * p["half"][0], np.array([*front, 0.0]) * p["half"][1], np.array([0, 0, p["half"][2]])
    n, m = 32, 64
    at = lambda i, j: p["head"] + z * math.cos(math.pi * i / n) + math.sin(math.pi * i / n) * (
        x * math.cos(2 * math.pi * j / m) + y * math.sin(2 * math.pi * j / m))
    for i in range(n):
        for j in range(m):
            a, b, c, d = at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)
            world.triangle(a, b, c, BLACK, 3)
            world.triangle(a, c, d, BLACK, 3)


def world_of(plan, shot):
    world = World()
    place = plan["location"]
    walls(world, place)
    for r in place["rooms"]:
        f = finishes(r)
        world.level(r["outline_m"], 0.0, f["floor"])
        world.level(r["outline_m"], r.get("ceiling_m", 2.5), f["ceiling"])
    pieces(world, place)
    for p in bodies(plan, shot):
        body(world, p)
    return world
