"""Time and memory of the program as plans grow: a table over sizes.

    cargo build --release
    python benches/growth.py target/release/tapemark [ROW …]

Plans are the demo with 0 to 1000 more pieces in its room, the demo tiled 1 to 16 times, and the large day; each command
runs by itself, its wall time in seconds and the most memory it held in MiB are told. A command that takes longer than
`LIMIT_S` is stopped and told as such. ROW names rows to measure; without it all are.
"""
import copy
import json
import pathlib
import random
import resource
import subprocess
import sys
import tempfile
import time

LIMIT_S = 300
ROOT = pathlib.Path(__file__).parent.parent
DEMO = json.loads((ROOT / "assets/demo/last-firing.tapemark.json").read_text())


def crowded(count):
    """The demo with more pieces in the workshop, most of them along its walls."""
    plan = copy.deepcopy(DEMO)
    lot = random.Random(count)
    for n in range(count):
        side = lot.randrange(4)
        u, v = lot.uniform(0.2, 6.0), lot.uniform(0.2, 4.4)
        near = lot.uniform(0.15, 0.6)
        at = [[u, near], [u, 4.6 - near], [near, v], [6.2 - near, v]][side]
        low = lot.choice([0.0, 0.0, 0.9, 1.4])
        shape = {"type": "box", "width_m": round(lot.uniform(0.05, 0.3), 3), "depth_m": round(lot.uniform(0.05, 0.2), 3)}
        if n % 5 == 0:
            shape = {"type": "round", "diameter_m": round(lot.uniform(0.05, 0.25), 3)}
        plan["location"]["pieces"].append({
            "id": f"jar-{n}", "name": f"jar {n}", "position_m": [round(x, 3) for x in at],
            "rotation_deg": round(lot.uniform(0, 360), 1), "shape": shape,
            "base_m": low, "top_m": round(low + lot.uniform(0.05, 0.5), 3)})
    return plan


def tiled(count):
    """The demo beside itself, in rows of four, with its shots, lamps, circuits and people of their own."""
    plan = copy.deepcopy(DEMO)
    out = {**plan, "cast": [], "cameras": [], "rigs": [], "shots": [],
           "location": {**plan["location"], **{k: [] for k in ("rooms", "openings", "pieces", "circuits", "outlets")}}}
    for n in range(count):
        dx, dy = (n % 4) * 9.0, (n // 4) * 6.0
        ids = set()

        def gather(x):
            if isinstance(x, dict):
                if isinstance(x.get("id"), str):
                    ids.add(x["id"])
                for v in x.values():
                    gather(v)
            elif isinstance(x, list):
                for v in x:
                    gather(v)

        gather(plan)

        def moved(x, key=""):
            if isinstance(x, dict):
                return {k: moved(v, k) for k, v in x.items()}
            if isinstance(x, list):
                if key == "position_m" and len(x) >= 2:
                    return [round(x[0] + dx, 6), round(x[1] + dy, 6), *x[2:]]
                if key == "outline_m":
                    return [[round(p[0] + dx, 6), round(p[1] + dy, 6)] for p in x]
                return [moved(v, key) for v in x]
            return f"{x}-{n}" if isinstance(x, str) and x in ids and key != "name" else x

        part = moved(plan)
        for k in ("cast", "cameras", "rigs", "shots"):
            out[k] += part[k]
        for k in ("rooms", "openings", "pieces", "circuits", "outlets"):
            out["location"][k] += part["location"].get(k, [])
    for n, shot in enumerate(out["shots"]):
        shot["name"] = str(n + 1)
    return out


def unknown(megabytes):
    """The demo with keys that no version knows."""
    plan = copy.deepcopy(DEMO)
    plan["notes-of-others"] = [{"k": n, "v": [n, n + 1, "text"]} for n in range(megabytes * 1_000_000 // 40)]
    return plan


def large(count=60):
    plan = json.loads((ROOT / "assets/bench/large-day.tapemark.json").read_text())
    plan["shots"] = plan["shots"][:count]
    return plan


ROWS = {
    "pieces-facts": ("facts of one shot, demo + n pieces", [0, 30, 100, 300, 1000], crowded, lambda p, d: ["facts", p, "--shot", "1"]),
    "pieces-notices": ("notices, demo + n pieces", [0, 30, 100, 300, 1000], crowded, lambda p, d: ["notices", p]),
    "tiles-facts": ("facts of all shots, demo n times", [1, 2, 4, 8, 16], tiled, lambda p, d: ["facts", p]),
    "tiles-lists": ("lists, demo n times", [1, 2, 4, 8, 16], tiled, lambda p, d: ["lists", p, "-o", f"{d}/lists"]),
    "tiles-notices": ("notices, demo n times", [1, 2, 4, 8, 16], tiled, lambda p, d: ["notices", p]),
    "day-facts": ("facts of n shots, large day", [4, 15, 60], large, lambda p, d: ["facts", p]),
    "day-lists": ("lists of n shots, large day", [4, 15, 60], large, lambda p, d: ["lists", p, "-o", f"{d}/lists"]),
    "day-notices": ("notices of n shots, large day", [4, 15, 60], large, lambda p, d: ["notices", p]),
    "day-paper": ("PDF of n shots, large day", [4, 15, 60], large, lambda p, d: ["sheet", p, "-o", f"{d}/day.pdf"]),
    "day-phone": ("phone pictures of n shots, large day", [4, 15, 60], large, lambda p, d: ["phone", p, "-o", f"{d}/phone"]),
    "day-order": ("order of n shots, large day", [4, 15, 60], large, lambda p, d: ["order", p]),
    "day-kit": ("kit of n shots, large day", [4, 15, 60], large, lambda p, d: ["kit", p]),
    "day-continuity": ("continuity of n shots, large day", [4, 15, 60], large, lambda p, d: ["continuity", p]),
    "frame": ("frame n wide", [320, 640, 1280], None, lambda p, d, n=0: ["frame", p, "--shot", "1", "--width", str(n), "-o", f"{d}/f.png"]),
    "unknown": ("notices, n MB of unknown keys", [6, 20, 60], unknown, lambda p, d: ["notices", p]),
}


def run(command):
    before = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    try:
        _, said = process.communicate(timeout=LIMIT_S)
    except subprocess.TimeoutExpired:
        process.kill()
        process.communicate()
        return None, None, f"over {LIMIT_S} s"
    return time.perf_counter() - before, process.returncode, said.decode(errors="replace").strip().splitlines()[-1:]


def main():
    program = sys.argv[1]
    wanted = sys.argv[2:] or list(ROWS)
    for name in wanted:
        label, sizes, make, command = ROWS[name]
        cells = []
        for n in sizes:
            with tempfile.TemporaryDirectory() as folder:
                path = f"{folder}/plan.tapemark.json"
                pathlib.Path(path).write_text(json.dumps((make or (lambda _: DEMO))(n)))
                words = command(path, folder, n) if make is None else command(path, folder)
                # A shell of its own, so that the most memory is this command's.
                measured = subprocess.run([sys.executable, __file__, "--one", program, *words], capture_output=True, text=True)
                cells.append(f"{n}: {measured.stdout.strip() or measured.stderr.strip()[-200:]}")
        print(f"{label:42} {'; '.join(cells)}", flush=True)


if __name__ == "__main__":
    if sys.argv[1] == "--one":
        seconds, code, said = run(sys.argv[2:])
        peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
        print(said if seconds is None else f"{seconds:.2f} s {peak:.0f} MiB" + (f" (exit {code}: {said})" if code not in (0, 1) else ""))
    else:
        main()
