"""Long runs that no ordinary test makes, one after another, going on where they were stopped.

    cargo build --release && cargo test --release --workspace --no-run
    python benches/long_runs.py [STAGE …]

Stages: kills (500 in the window), saves (5000 kills while saving), fuzz (ten minutes of each target, with cargo-fuzz
installed), monkey (half an hour of random keys and clicks in the real window under Xvfb with xdotool, its memory told
every minute). What is done is kept in target/long-runs.json; delete it to begin anew.
"""
import json
import os
import pathlib
import random
import re
import signal
import subprocess
import sys
import tempfile
import time

ROOT = pathlib.Path(__file__).parent.parent
STATE = ROOT / "target/long-runs.json"
KILLS, SAVES, FUZZ_S, MONKEY_S = 500, 5000, 600, 1800
TARGETS = ["plan", "candela", "drawing", "picture", "length", "journal"]
DISPLAY = ":97"


def load():
    return json.loads(STATE.read_text()) if STATE.exists() else {}


def keep(state):
    STATE.parent.mkdir(exist_ok=True)
    STATE.write_text(json.dumps(state, indent=1))


def run(command, **environment):
    print("$", " ".join(f"{k}={v}" for k, v in environment.items()), *command, flush=True)
    return subprocess.run(command, cwd=ROOT, env={**os.environ, **{k: str(v) for k, v in environment.items()}}).returncode


def in_parts(state, name, whole, part, variable):
    """Runs the crash test a part at a time until the whole number is done."""
    while state.get(name, 0) < whole:
        seed = {"TAPEMARK_SEED": state.get(name, 0)}
        others = {"TAPEMARK_KILLS": 0, "TAPEMARK_SAVE_KILLS": 0, variable: part}
        code = run(["cargo", "test", "--release", "--workspace", "--test", "crash"], **others, **seed)
        if code:
            sys.exit(f"{name}: failed after {state.get(name, 0)}")
        state[name] = state.get(name, 0) + part
        keep(state)
    print(f"{name}: {state[name]}")


def fuzz(state):
    for target in TARGETS:
        if target in state.setdefault("fuzz", []):
            continue
        code = run(["cargo", "fuzz", "run", "-s", "none", target, "--", f"-max_total_time={FUZZ_S}"], RUSTC_BOOTSTRAP=1)
        if code:
            sys.exit(f"fuzz {target}: a fault")
        state["fuzz"].append(target)
        keep(state)
    print("fuzz:", *state["fuzz"])


def resident_mib(pid):
    text = pathlib.Path(f"/proc/{pid}/status").read_text()
    return int(re.search(r"VmRSS:\s+(\d+)", text)[1]) / 1024


def processor_s(pid):
    fields = pathlib.Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


KEYS = ["Escape", "Escape", "Delete", "ctrl+z", "ctrl+z", "ctrl+shift+z", "ctrl+a", "ctrl+c", "ctrl+v", "Tab", "Return",
        "Page_Up", "Page_Down", "F2", "F3", "F4", "F5", "Up", "Down", "Left", "Right", "1", "2", "5", "period", "space",
        "a", "b", "c", "l", "p", "r", "w"]


def monkey(state, seconds=MONKEY_S):
    """Random keys, clicks and drags; whatever question is open is closed with Escape now and then."""
    program = ROOT / "target/release/tapemark"
    screen = subprocess.Popen(["Xvfb", DISPLAY, "-screen", "0", "1280x800x24"], stderr=subprocess.DEVNULL)
    lot = random.Random(18)
    with tempfile.TemporaryDirectory() as home:
        plan = pathlib.Path(home) / "monkey.tapemark.json"
        plan.write_bytes((ROOT / "assets/demo/last-firing.tapemark.json").read_bytes())
        environment = {**os.environ, "DISPLAY": DISPLAY, "HOME": home, "XDG_CONFIG_HOME": home, "XDG_DATA_HOME": home}
        time.sleep(1)
        window = subprocess.Popen([program, plan], env=environment, stderr=subprocess.DEVNULL)
        time.sleep(5)
        readings, started, events = [], time.time(), 0
        try:
            while time.time() - started < seconds:
                words = []
                for _ in range(12):
                    x, y = lot.randrange(1280), lot.randrange(40, 800)
                    kind = lot.randrange(10)
                    if kind < 4:
                        words += ["key", lot.choice(KEYS)]
                    elif kind < 7:
                        words += ["mousemove", str(x), str(y), "click", lot.choice(["1", "1", "1", "3", "4", "5"])]
                    else:
                        to = [str(min(1279, max(0, x + lot.randrange(-200, 200)))), str(min(799, max(40, y + lot.randrange(-150, 150))))]
                        words += ["mousemove", str(x), str(y), "mousedown", "1", "mousemove", *to, "mouseup", "1"]
                subprocess.run(["xdotool", *words], env=environment, stderr=subprocess.DEVNULL)
                events += 12
                if window.poll() is not None:
                    # Closed by the lot: begun again, its readings too.
                    if window.returncode != 0:
                        sys.exit(f"the window ended with {window.returncode} after {events} events")
                    window = subprocess.Popen([program, plan], env=environment, stderr=subprocess.DEVNULL)
                    time.sleep(5)
                if time.time() - started > 60 * len(readings):
                    readings.append(round(resident_mib(window.pid)))
                    print(f"minute {len(readings) - 1}: {readings[-1]} MiB, {events} events", flush=True)
            # Nothing moves any more.
            subprocess.run(["xdotool", "key", "Escape", "key", "Escape"], env=environment)
            time.sleep(20)
            before = processor_s(window.pid)
            time.sleep(10)
            idle = (processor_s(window.pid) - before) / 10
            print(f"{events} events; MiB by minute: {readings}; at rest {resident_mib(window.pid):.0f} MiB, {idle:.1%} of a core")
            state["monkey"] = {"events": events, "mib": readings, "idle": idle}
            keep(state)
        finally:
            window.send_signal(signal.SIGKILL)
            screen.kill()


def main():
    state = load()
    wanted = sys.argv[1:] or ["kills", "saves", "fuzz", "monkey"]
    if "kills" in wanted:
        in_parts(state, "kills", KILLS, 50, "TAPEMARK_KILLS")
    if "saves" in wanted:
        in_parts(state, "saves", SAVES, 500, "TAPEMARK_SAVE_KILLS")
    if "fuzz" in wanted:
        fuzz(state)
    if "monkey" in wanted:
        monkey(state)
    for word in [w for w in wanted if w.startswith("monkey=")]:
        monkey(state, int(word.removeprefix("monkey=")))


if __name__ == "__main__":
    main()
