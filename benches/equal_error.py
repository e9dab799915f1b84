"""Time to the same error: this project against two general-purpose renderers, in the reference rooms.

    pip install mitsuba pyradiance numpy
    mkdir -p target/compare
    TAPEMARK_ROOMS_OUT=$PWD/target/compare cargo bench -p tapemark-core --bench how_soon_is_a_room_lit
    python benches/equal_error.py target/compare

For every room, all receivers are answered from nothing by each. The error is the root mean square of the relative
errors against tests/reference/rooms.json. The path tracer (mitsuba) is timed after a warm-up, without building its
scenes; it renders a receiver on one processor, so its time is divided by their number, and it is scaled to our error
by the square law of its noise. The ray tracer with cached ambient light
(pyradiance, rtrace) is run at finer and finer settings until its error is ours or less, and its start-up is taken
off. Both use all processors.
"""
import json
import os
import pathlib
import statistics
import sys
import tempfile
import time

import mitsuba as mi
import numpy as np
import pyradiance

root = pathlib.Path(__file__).parent.parent
sys.path.insert(0, str(root / "tests/reference"))
from make_reference import SCENES, quads, receiver, world  # noqa: E402

LUMINANCE = np.array([0.2126, 0.7152, 0.0722])
RADIANCE_LUMINANCE = np.array([0.265, 0.670, 0.065]) * 179.0
mi.set_variant("scalar_rgb")


def rms(levels, wanted):
    return float(np.sqrt(np.mean((np.asarray(levels) / wanted - 1.0) ** 2)))


def path_traced(plan, receivers, wanted, ours):
    """Seconds to our error, and the error and seconds measured."""
    built = [mi.load_dict(world(mi, plan) | receiver(mi, r["point_m"], r["toward"])) for r in receivers]
    integrator = mi.load_dict({"type": "path", "max_depth": 40, "rr_depth": 8})

    def run(spp, seed):
        start = time.perf_counter()
        seen = [mi.render(b, integrator=integrator, spp=spp, seed=seed + 1000 * i) for i, b in enumerate(built)]
        seconds = (time.perf_counter() - start) / os.cpu_count()
        return seconds, np.pi * np.array([np.array(s).reshape(3) for s in seen]) @ LUMINANCE

    run(16, 99)
    spp = 64
    while True:
        runs = [run(spp, seed) for seed in range(5)]
        seconds = statistics.median(t for t, _ in runs)
        error = float(np.sqrt(np.mean([rms(v, wanted) ** 2 for _, v in runs])))
        if error < 1.5 * ours or spp >= 32768:
            return seconds * (error / ours) ** 2, error, seconds
        spp *= 4


def ambient_cached(plan, receivers, wanted, ours):
    lines = []
    for i, (c, u, v, r) in enumerate(quads(plan)):
        lines.append(f"void plastic m{i} 0 0 5 {r[0]} {r[1]} {r[2]} 0 0")
        corners = [[c[k] + a * u[k] + b * v[k] for k in range(3)] for a, b in ((0, 0), (1, 0), (1, 1), (0, 1))]
        lines.append(f"m{i} polygon q{i} 0 0 12 " + " ".join(f"{x:.6f}" for p in corners for x in p))
    f = plan["rigs"][0]["fixtures"][0]
    x, y, z = [*f["position_m"], f["height_m"]]
    if f["head"]["type"] == "bare-bulb":
        radius = 0.01
        radiance = f["output_lm"] / (4 * np.pi) / (np.pi * radius**2) / 179.0
        lines += [f"void light lamp 0 0 3 {radiance} {radiance} {radiance}", f"lamp sphere bulb 0 0 4 {x} {y} {z} {radius}"]
    else:
        w, h, pan = f["head"]["width_m"], f["head"]["height_m"], np.radians(f["pan_deg"])
        front = np.array([np.sin(pan), np.cos(pan), 0.0])
        right = np.array([np.cos(pan), -np.sin(pan), 0.0]) * w / 2
        up = np.array([0, 0, h / 2])
        radiance = f["output_lm"] / (np.pi * w * h) / 179.0
        corners = [np.array([x, y, z]) + a * right + b * up for a, b in ((-1, -1), (-1, 1), (1, 1), (1, -1))]
        normal = np.cross(corners[1] - corners[0], corners[2] - corners[1])
        if normal @ front < 0:
            corners.reverse()
        # Seen through from behind, as the lamp stands in nobody's light.
        lines += [f"void illum lamp 1 void 0 3 {radiance} {radiance} {radiance}",
                  "lamp polygon face 0 0 12 " + " ".join(f"{q:.6f}" for p in corners for q in p)]
    rays = "\n".join(" ".join(map(str, [*r["point_m"], *r["toward"]])) for r in receivers).encode() + b"\n"
    best = (None, float("inf"))
    with tempfile.TemporaryDirectory() as folder:
        rad = pathlib.Path(folder) / "room.rad"
        rad.write_text("\n".join(lines) + "\n")
        octree = pathlib.Path(folder) / "room.oct"
        octree.write_bytes(pyradiance.oconv(str(rad)))

        def run(extra):
            start = time.perf_counter()
            out = pyradiance.rtrace(rays, str(octree), header=False, irradiance=True, params=["-n", str(os.cpu_count()), *extra])
            return time.perf_counter() - start, np.array([[float(q) for q in line.split()] for line in out.decode().split("\n") if line.strip()])

        idle = min(run(["-ab", "0", "-dv-"])[0] for _ in range(3))
        # Plain sampling, then cached ambient light, each finer and finer.
        for ab, ad, sup, aa in ((12, 1000, 0, 0), (16, 8000, 0, 0), (20, 64000, 0, 0), (8, 256, 64, 0.2), (12, 512, 128, 0.15), (12, 1024, 256, 0.1), (16, 2048, 512, 0.1),
                                (16, 4096, 1024, 0.05), (20, 8192, 2048, 0.05)):
            extra = f"-ab {ab} -ad {ad} -as {sup} -aa {aa} -ar 256 -lw 1e-5 -lr -20 -dj 0 -ds 0.02 -dt 0 -dc 1".split()
            runs = [run(extra) for _ in range(3)]
            seconds = max(statistics.median(t for t, _ in runs) - idle, 1e-4)
            error = rms(runs[0][1] @ RADIANCE_LUMINANCE, wanted)
            if error <= ours:
                return seconds, error, True
            if error < best[1]:
                best = (seconds, error)
            if seconds > 5 and aa:
                break
    return best[0], best[1], False


folder = pathlib.Path(sys.argv[1])
errors = json.loads((folder / "rooms.json").read_text())
reference = json.loads((root / "tests/reference/rooms.json").read_text())
print(f"mitsuba {mi.__version__} ({mi.variant()}), pyradiance {pyradiance.__version__}, {os.cpu_count()} processors")
print(f"{'room':12} {'error':>7} {'ours':>9} | {'mitsuba':>9} {'ratio':>7} | {'rtrace':>9} {'ratio':>7}")
ratios = [[], []]
for name in SCENES:
    room = reference[name]
    wanted = np.array([r["total_rgb_lx"] for r in room["receivers"]]) @ LUMINANCE
    estimate = root / f"target/criterion/room lit/{name}/new/estimates.json"
    ours = json.loads(estimate.read_text())["median"]["point_estimate"] * 1e-9
    error = errors[name]
    traced, _, _ = path_traced(room["plan"], room["receivers"], wanted, error)
    cached, reached, met = ambient_cached(room["plan"], room["receivers"], wanted, error)
    ratios[0].append(traced / ours)
    ratios[1].append(cached / ours)
    note = "" if met else f"  (its error stays at {reached:.2%})"
    print(f"{name:12} {error:7.2%} {ours * 1e3:7.2f}ms | {traced * 1e3:7.0f}ms {traced / ours:7.0f} | {cached * 1e3:7.0f}ms {cached / ours:7.0f}{note}", flush=True)
print("geometric means of the ratios:", *(f"{statistics.geometric_mean(r):.0f}" for r in ratios))
