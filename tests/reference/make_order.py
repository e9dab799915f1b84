"""Random shooting days and the cost of their cheapest order, by two exact solvers from the registries.

    pip install ortools==9.15.6755 scipy==1.17
    python make_order.py > order.json

Days of up to 8 set-ups are proved by CP-SAT of OR-tools (Apache-2.0). For all of them and for larger days the cheapest
order is the shortest path, by scipy's Dijkstra, from nothing done to all done through the graph of what is done, what
was last and, where hours count, the minute; both must agree where both are run.

Minutes are whole. The model is the one of docs/method.md: each set-up begins as soon as it can; the cost is the
time to the last take, a quarter of the minutes people wait between their first and last set-up, and twenty for
each minute past a set-up's hour.
"""
import itertools
import json
import random
import sys

import numpy as np
from ortools.sat.python import cp_model
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra

START = 540
WEIGHT = 4  # costs are counted in quarters


def by_constraints(day, seconds):
    n = len(day["minutes"])
    m = cp_model.CpModel()
    horizon = 3000
    start = [m.NewIntVar(START, START + horizon, f"s{i}") for i in range(n)]
    arcs, lit = [], {}
    for i in range(n + 1):
        for j in range(n + 1):
            if i != j:
                b = m.NewBoolVar(f"a{i}_{j}")
                arcs.append((i, j, b))
                lit[i, j] = b
    m.AddCircuit(arcs)  # node n is the beginning and the end of the day
    for j in range(n):
        early = day["earliest"][j]
        waits = m.NewBoolVar(f"w{j}")
        if early is None:
            m.Add(waits == 0)
        else:
            m.Add(start[j] >= early)
            m.Add(start[j] <= early).OnlyEnforceIf(waits)
        for i in range(n + 1):
            if i == j:
                continue
            ready = START + day["first_change"][j] if i == n else start[i] + day["minutes"][i] + day["change"][i][j]
            m.Add(start[j] >= ready).OnlyEnforceIf(lit[i, j])
            m.Add(start[j] <= ready).OnlyEnforceIf(lit[i, j], waits.Not())
    ends = [start[i] + day["minutes"][i] for i in range(n)]
    last = m.NewIntVar(START, START + horizon, "last")
    for e in ends:
        m.Add(last >= e)
    waiting = []
    for p in range(day["cast"]):
        own = [i for i in range(n) if day["people"][i] >> p & 1]
        if not own:
            continue
        a = m.NewIntVar(START, START + horizon, f"pa{p}")
        b = m.NewIntVar(START, START + horizon, f"pb{p}")
        for i in own:
            m.Add(a <= start[i])
            m.Add(b >= ends[i])
        waiting.append(b - a - sum(day["minutes"][i] for i in own))
    late = []
    for i in range(n):
        if day["latest"][i] is not None:
            v = m.NewIntVar(0, horizon, f"l{i}")
            m.Add(v >= ends[i] - day["latest"][i])
            late.append(v)
    m.Minimize(WEIGHT * (last - START) + sum(waiting) + WEIGHT * 20 * sum(late))
    s = cp_model.CpSolver()
    s.parameters.max_time_in_seconds = seconds
    s.parameters.num_workers = 2
    s.parameters.random_seed = 7
    if s.Solve(m) != cp_model.OPTIMAL:
        return None
    return s.ObjectiveValue() / WEIGHT


def cost_of(day, order):
    """In quarters of a minute, walked through."""
    now, extra, before, first, last, own = START, 0, None, {}, {}, {}
    for j in order:
        begin = now + (day["first_change"][j] if before is None else day["change"][before][j])
        if day["earliest"][j] is not None:
            begin = max(begin, day["earliest"][j])
        now = begin + day["minutes"][j]
        if day["latest"][j] is not None:
            extra += WEIGHT * 20 * max(0, now - day["latest"][j])
        for p in range(day["cast"]):
            if day["people"][j] >> p & 1:
                first.setdefault(p, begin)
                last[p] = now
                own[p] = own.get(p, 0) + day["minutes"][j]
        before = j
    return WEIGHT * (now - START) + extra + sum(last[p] - first[p] - own[p] for p in first)


def upper_bound(day):
    """Any order will do: the better it is, the smaller the graph."""
    n = len(day["minutes"])
    best = list(range(n))
    cost = cost_of(day, best)
    better = True
    while better:
        better = False
        for i, j in itertools.permutations(range(n), 2):
            o = best[:]
            o.insert(j, o.pop(i))
            c = cost_of(day, o)
            if c < cost:
                best, cost, better = o, c, True
    return cost


def by_shortest_path(day):
    n = len(day["minutes"])
    full = (1 << n) - 1
    hours = [i for i in range(n) if day["earliest"][i] is not None or day["latest"][i] is not None]
    bound = upper_bound(day)
    bits = [bin(m).count("1") for m in range(1 << day["cast"])]
    started = [0] * (1 << n)
    for done in range(1, 1 << n):
        low = (done & -done).bit_length() - 1
        started[done] = started[done & (done - 1)] | day["people"][low]
    left = [sum(day["minutes"])] + [0] * full
    for done in range(1, 1 << n):
        low = (done & -done).bit_length() - 1
        left[done] = left[done & (done - 1)] - day["minutes"][low]
    hour_mask = sum(1 << i for i in hours)
    # A layer holds the nodes with as many done; a node's time is kept only while hours lie ahead.
    index = {(0, n, START): 0}
    layer = {(0, n, START): 0}
    cheapest = {0: 0}
    rows, cols, costs = [], [], []
    for _ in range(n):
        nxt = {}
        for (done, last, t), a in layer.items():
            for j in range(n):
                if done >> j & 1:
                    continue
                timed = t is not None
                change = day["first_change"][j] if last == n else day["change"][last][j]
                begin = (t if timed else 0) + change
                if day["earliest"][j] is not None:
                    begin = max(begin, day["earliest"][j])
                end = begin + day["minutes"][j]
                after = done | 1 << j
                still = started[full & ~after] if after != full else 0
                through = bits[started[done] & (still | day["people"][j])]
                during = bits[started[done] & still & ~day["people"][j]]
                gap = begin - (t if timed else 0)
                late = max(0, end - day["latest"][j]) if day["latest"][j] is not None else 0
                cost = WEIGHT * (gap + day["minutes"][j] + 20 * late) + through * gap + during * day["minutes"][j]
                total = cheapest[a] + cost
                if total + WEIGHT * left[after] > bound:
                    continue
                key = (after, j, end if hour_mask & ~after else None)
                b = nxt.get(key)
                if b is None:
                    b = nxt[key] = len(index)
                    index[key] = b
                    cheapest[b] = total
                cheapest[b] = min(cheapest[b], total)
                rows.append(a)
                cols.append(b)
                costs.append(cost)
        layer = nxt
    size = len(index)
    graph = csr_matrix((np.array(costs, float), (rows, cols)), shape=(size, size))
    found = dijkstra(graph, indices=0)
    return min(found[b] for b in layer.values()) / WEIGHT


def random_day(r, n, hours):
    rigs = r.randint(2, max(2, n // 3))
    cameras = r.randint(2, max(2, n - 2))
    rig = [r.randrange(rigs) for _ in range(n)]
    cam = [r.randrange(cameras) for _ in range(n)]
    relight = [[0 if a == b else r.randint(8, 40) for b in range(rigs)] for a in range(rigs)]
    cast = r.randint(1, 5)
    change = [
        [0 if i == j else relight[rig[i]][rig[j]] + (0 if cam[i] == cam[j] else 6) + r.randint(0, 3) for j in range(n)]
        for i in range(n)
    ]
    minutes = [r.randint(8, 35) for _ in range(n)]
    day_min = sum(minutes) + 8 * n
    earliest, latest = [None] * n, [None] * n
    if hours:
        for i in r.sample(range(n), max(1, n // 4)):
            mid = START + r.randint(0, day_min)
            earliest[i], latest[i] = mid - 30, mid + 45
    return {
        "minutes": minutes,
        "first_change": [r.randint(10, 40) for _ in range(n)],
        "change": change,
        "earliest": earliest,
        "latest": latest,
        "cast": cast,
        "people": [r.randrange(1, 1 << cast) for _ in range(n)],
    }


def main():
    r = random.Random(20)
    out = []
    for n, count in [(4, 6), (6, 8), (8, 8), (10, 10), (12, 10), (13, 10), (14, 6), (15, 4), (16, 2)]:
        for k in range(count):
            day = random_day(r, n, k % 2 == 0 and n <= 13)
            cost = by_shortest_path(day)
            proved = by_constraints(day, 60) if n <= 8 else None
            assert proved is None or abs(proved - cost) < 1e-6, (proved, cost)
            print(n, k, cost, proved, file=sys.stderr, flush=True)
            out.append({**day, "cost": cost})
    json.dump(out, sys.stdout, separators=(",", ":"))
    print()


main()
