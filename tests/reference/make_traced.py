"""Makes traced.json and traced/*.png, which tests/tests/against_tracer.rs holds our light against: illuminances at
faces, hair, walls, floors and in the room, and luminance pictures, by the path tracer of a general-purpose physically
based renderer (the Python package `mitsuba`, variant llvm_ad_rgb), in rooms that traced_world.py and traced_light.py
build from the plan files alone.

    pip install mitsuba colour-science
    python make_traced.py [seconds [NAME …]]

The renderer's compiler wants an LLVM library of version 16 or later (DRJIT_LIBLLVM_PATH names one). What exists is
kept; the script stops after the seconds given and goes on where it was when called again; with names only those are made. Plans are those of
traced_plans.py and, by seed, plausible.json, which TAPEMARK_TRACED=plans cargo test --test against_tracer writes.
"""

import json
import math
import pathlib
import sys
import time

import drjit as dr
import mitsuba as mi
import numpy as np

mi.set_variant("llvm_ad_rgb")
dr.set_thread_count(1)

import traced_light as tl
import traced_plans as tp
import traced_world as tw

HERE = pathlib.Path(__file__).parent
OUT, PICTURES = HERE / "traced.json", HERE / "traced"
SIDE = 192  # a receiver's first directions are spread over SIDE × SIDE cells, once a run
RUNS = 6  # at most
ENOUGH = 0.004  # standard error as a share of the reading
DARK_LX = 0.5  # below this a place counts as dark
WIDTH, HEIGHT, CELL = 480, 270, 4
FRAME_LIGHT, FRAME_PATHS = 36, 98  # shadow rays a lamp, and paths a run, a pixel
FRAME_RUNS, FRAME_ENOUGH = 24, (0.0066, 0.0198)
LUMINANCE = np.array([0.2126, 0.7152, 0.0722])


class Room:
    """A shot's place and lamps in the renderer."""

    def __init__(self, plan, shot):
        corners, finish, self.kind = tw.world_of(plan, shot).arrays()
        bsdf = mi.load_dict({"type": "twosided", "bsdf": {"type": "diffuse", "reflectance": {"type": "mesh_attribute", "name": "face_color"}}})
        props = mi.Properties()
        props["bsdf"] = bsdf
        props["face_normals"] = True
        n = len(corners)
        mesh = mi.Mesh("world", 3 * n, n, props=props)
        set_to = mi.traverse(mesh)
        set_to["vertex_positions"] = corners.reshape(-1).astype(np.float32)
        set_to["faces"] = np.arange(3 * n, dtype=np.uint32)
        set_to.update()
        mesh.add_attribute("face_color", 3, finish.reshape(-1).astype(np.float32))
        self.lamps = tl.lamps_of(plan, shot)
        tl.LAMPS[:] = self.lamps
        lamps = {f"lamp{i}": {"type": "tapelamp", "number": i} for i in range(len(self.lamps))}
        self.scene = mi.load_dict({"type": "scene", "world": mesh, **lamps})
        self.paths = mi.load_dict({"type": "path", "max_depth": 96, "rr_depth": 8})
        self.kinds = mi.UInt32(self.kind.astype(np.uint32))

    def direct(self, p, n, count, seed):
        """Light straight from the lamps on flat receptors, `count` shadow rays each for those with a size."""
        total = np.zeros((dr.width(p), 3))
        for k, emitter in enumerate(self.scene.emitters()):
            many = count if emitter.lamp["kind"] in ("area", "sky", "open") else 1
            side = int(math.sqrt(many))
            many = side * side
            here = dr.arange(mi.UInt32, dr.width(p) * many)
            at, cell = here // many, here % many
            rng = mi.PCG32(size=dr.width(here), initstate=seed * 64 + k)
            u = (mi.Float(cell % side) + rng.next_float32()) / side
            v = (mi.Float(cell // side) + rng.next_float32()) / side
            it = dr.zeros(mi.SurfaceInteraction3f, dr.width(here))
            it.p, it.n = dr.gather(mi.Point3f, p, at), dr.gather(mi.Normal3f, n, at)
            ds, weight = emitter.sample_direction(it, mi.Point2f(u, v))
            cos = dr.maximum(dr.dot(ds.d, it.n), 0.0)
            hidden = self.scene.ray_test(it.spawn_ray_to(ds.p), cos > 0)
            lit = dr.select(hidden, 0.0, weight * cos)
            total += np.array(lit).T.reshape(-1, many, 3).mean(1)
        return total

    def returned(self, p, n, side, seed):
        """Light that the surfaces return to flat receptors, by side × side paths each: all the paths' values."""
        many = side * side
        here = dr.arange(mi.UInt32, dr.width(p) * many)
        at, cell = here // many, here % many
        sampler = mi.load_dict({"type": "independent"})
        sampler.seed(seed, dr.width(here))
        jitter = sampler.next_2d()
        first = mi.Point2f((mi.Float(cell % side) + jitter.x) / side, (mi.Float(cell // side) + jitter.y) / side)
        it = dr.zeros(mi.SurfaceInteraction3f, dr.width(here))
        it.p, it.n = dr.gather(mi.Point3f, p, at), dr.gather(mi.Normal3f, n, at)
        ray = it.spawn_ray(mi.Frame3f(it.n).to_world(mi.warp.square_to_cosine_hemisphere(first)))
        light, _, _ = self.paths.sample(self.scene, sampler, mi.RayDifferential3f(ray))
        return np.array(light).T.reshape(-1, many, 3) * math.pi


def read_receivers(room, receivers):
    p = mi.Point3f(np.array([r["point_m"] for r in receivers]).T.astype(np.float32))
    n = mi.Normal3f(np.array([r["toward"] for r in receivers]).T.astype(np.float32))
    direct = room.direct(p, n, 64 * 64, 1)
    sums, squares, count = 0.0, 0.0, 0
    for run in range(RUNS):
        values = room.returned(p, n, SIDE, 11 + run)
        sums, squares, count = sums + values.sum(1), squares + ((values @ LUMINANCE) ** 2).sum(1), count + values.shape[1]
        mean = sums / count
        spread = np.maximum(squares / count - (mean @ LUMINANCE) ** 2, 0)
        # First directions are spread evenly, so that this is more than the error there is.
        lux = (direct + mean) @ LUMINANCE
        error = np.where(lux < DARK_LX, 0.0, np.sqrt(spread / count) / np.maximum(lux, DARK_LX))
        if error.max() < ENOUGH:
            break
    for r, d, m, e in zip(receivers, direct, mean, error):
        r["direct_rgb_lx"], r["rgb_lx"], r["error_share"] = [round(float(v), 5) for v in d], [round(float(v), 5) for v in d + m], round(float(e), 5)
    # Noisier ones would say nothing.
    return [r for r in receivers if r["error_share"] <= 0.01]


def frame(room, plan, shot, name):
    """A luminance picture of rays through the pixels' middles, averaged over squares of pixels: paths are added until
    its error is a third of what is allowed, or for so long."""
    c = next(c for c in plan["cameras"] if c["id"] == shot["camera"])
    w, h = c["format"]["width_mm"], c["format"]["height_mm"]
    w, h = (w, w / c["aspect"]) if c["aspect"] >= w / h else (h * c["aspect"], h)
    forward, right, up = (mi.Vector3f(*[float(q) for q in a]) for a in tl.aim(c))
    eye = mi.Point3f(*[float(v) for v in (*c["position_m"], c["lens_height_m"])])
    rows, columns, focal = HEIGHT // CELL, WIDTH // CELL, c["lens"]["focal_mm"]
    i = dr.arange(mi.UInt32, WIDTH * rows * CELL)
    u = (2 * (mi.Float(i % WIDTH) + 0.5) / WIDTH - 1) * (w / (2 * focal))
    v = (1 - 2 * (mi.Float(i // WIDTH) + 0.5) / HEIGHT) * (h / (2 * focal))
    d = dr.normalize(forward + right * u + up * v)
    si = room.scene.ray_intersect(mi.Ray3f(eye, d))
    p, n = mi.Point3f(si.p), mi.Normal3f(dr.select(dr.dot(si.n, d) > 0, -si.n, si.n))
    kind = np.array(dr.select(si.is_valid(), dr.gather(mi.UInt32, room.kinds, si.prim_index, si.is_valid()), 9))
    albedo = np.array(si.bsdf().eval_diffuse_reflectance(si, si.is_valid())).T
    dr.eval(p, n)
    places = [np.array(a).T for a in (p, n)]
    squares = lambda y: y.reshape(rows, CELL, columns, CELL).mean((1, 3))
    apart = (kind >= 3).reshape(rows, CELL, columns, CELL).any((1, 3))
    of = lambda k: (mi.Point3f(places[0][k].T), mi.Normal3f(places[1][k].T))
    bands = np.array_split(np.arange(len(kind)), 12)
    direct = np.concatenate([room.direct(*of(k), FRAME_LIGHT, 3) for k in bands])
    halves = np.zeros((2, len(kind)))
    side = int(math.sqrt(FRAME_PATHS // 2))
    for run in range(1, FRAME_RUNS + 1):
        for half in range(2):
            back = [room.returned(*of(k), side, 1000 * run + 100 * half + j).mean(1) for j, k in enumerate(bands)]
            halves[half] += (albedo * np.concatenate(back)) @ LUMINANCE / math.pi
        two = [squares((albedo * direct) @ LUMINANCE / math.pi + half / run) for half in halves]
        mean = (two[0] + two[1]) / 2
        left = ~apart & (mean > 0)
        error = np.abs(two[0] - two[1])[left] / 2 / mean[left]
        errors = float(error.mean()), float(np.quantile(error, 0.95))
        if errors[0] < FRAME_ENOUGH[0] and errors[1] < FRAME_ENOUGH[1]:
            break
    top = float(mean[left].max())
    stored = np.where(left, np.clip(np.round(65535 * np.sqrt(mean / top)), 1, 65535), 0).astype(np.uint16)
    PICTURES.mkdir(exist_ok=True)
    mi.Bitmap(stored[..., None]).write(str(PICTURES / f"{name}.png"))
    return {"file": f"traced/{name}.png", "brightest_cd_m2": top, "width": WIDTH, "height": HEIGHT, "cell": CELL,
            "paths": run * FRAME_PATHS, "error_mean": round(errors[0], 5), "error_95": round(errors[1], 5)}


def main():
    until = time.time() + float(sys.argv[1]) if len(sys.argv) > 1 else math.inf
    mi.register_emitter("tapelamp", tl.Lamp)
    done = json.loads(OUT.read_text()) if OUT.exists() else {}
    for name, plan, wants_frame in tp.plans():
        if sys.argv[2:] and name not in sys.argv[2:]:
            continue
        entry = done.get(name, {})
        if entry.get("plan") == plan and "receivers" in entry and (entry.get("frame") or not wants_frame):
            continue
        if time.time() > until:
            print("stopped; call again")
            break
        start = time.time()
        shot = plan["shots"][0]
        try:
            room = Room(plan, shot)
        except ValueError as why:
            print(name, "left out:", why)
            continue
        if entry.get("plan") != plan or "receivers" not in entry:
            kept = {"frame": entry["frame"]} if entry.get("plan") == plan and entry.get("frame") else {}
            entry = {"plan": plan, "receivers": read_receivers(room, tp.receivers(plan, shot, name)), **kept}
        if wants_frame and not entry.get("frame"):
            entry["frame"] = frame(room, plan, shot, name)
        done[name] = entry
        worst = max([r["error_share"] for r in entry["receivers"]], default=0.0)
        print(name, f"{time.time() - start:.0f} s, error {worst:.4f}", entry.get("frame", ""), flush=True)
        OUT.write_text("{\n" + ",\n".join(f'"{k}": {json.dumps(v, separators=(",", ":"))}' for k, v in sorted(done.items())) + "\n}\n")


if __name__ == "__main__":
    main()
