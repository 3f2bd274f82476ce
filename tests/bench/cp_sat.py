"""Plans turnaround problems with CP-SAT of OR-Tools, one worker, for comparison; no part of linkout.

Reads one JSON object a line, {"problem": ..., "limit_s": ...}, and answers each with one line:
verdict, value, finish, whether proven, and the processor time that solving took.
"""

import json
import sys
import time

from ortools.sat.python import cp_model


def build(problem, late):
    """The model of the published problem; late: without call and without what may be left out."""
    model = cp_model.CpModel()
    tasks = [t for t in problem["tasks"] if not (late and t.get("optional"))]
    horizon = sum(t["duration"] + sum(a.get("lag", 0) for a in t.get("after", [])) for t in tasks)
    horizon += max([t.get("release", 0) for t in tasks], default=0)
    horizon += sum(r["end"] - r["start"] for p in problem.get("pools", []) for r in p.get("reduced", []))
    horizon += sum(a[1] for who in problem.get("crew", []) for a in who.get("away", []))
    horizon += max([r["end"] for p in problem.get("pools", []) for r in p.get("reduced", [])], default=0)
    call = problem.get("call")
    last = horizon if late or call is None else call
    start, end, on, interval = {}, {}, {}, {}
    for t in tasks:
        name = t["id"]
        latest = last if t.get("deadline") is None else min(last, t["deadline"])
        start[name] = model.new_int_var(t.get("release", 0), max(t.get("release", 0), horizon), "")
        end[name] = model.new_int_var(0, 2 * horizon + t["duration"], "")
        on[name] = model.new_bool_var("")
        interval[name] = model.new_optional_interval_var(start[name], t["duration"], end[name], on[name], "")
        model.add(end[name] <= latest).only_enforce_if(on[name])
        if late or not t.get("optional"):
            model.add(on[name] == 1)
    for t in tasks:
        for a in t.get("after", []):
            if a["task"] in on:
                both = [on[t["id"]], on[a["task"]]]
                model.add(start[t["id"]] >= end[a["task"]] + a.get("lag", 0)).only_enforce_if(both)
        for other in t.get("requires", []):
            if other in on:
                model.add_implication(on[t["id"]], on[other])
            else:
                model.add(on[t["id"]] == 0)
    for pool in problem.get("pools", []):
        held, amounts = [], []
        for t in tasks:
            amount = t.get("pools", {}).get(pool["id"], 0)
            if amount:
                held.append(interval[t["id"]])
                amounts.append(amount)
        for r in pool.get("reduced", []):
            held.append(model.new_fixed_size_interval_var(r["start"], r["end"] - r["start"], ""))
            amounts.append(min(r["by"], pool["capacity"]))
        model.add_cumulative(held, amounts, pool["capacity"])
    busy = {who["id"]: [] for who in problem.get("crew", [])}
    for who in problem.get("crew", []):
        for a in who.get("away", []):
            if a[1] > a[0]:
                busy[who["id"]].append(model.new_fixed_size_interval_var(a[0], a[1] - a[0], ""))
    for t in tasks:
        chosen = {}
        for hands in t.get("crew", []):
            slots = []
            for who in problem["crew"]:
                if hands["skill"] in who.get("skills", []):
                    slot = model.new_bool_var("")
                    slots.append(slot)
                    chosen.setdefault(who["id"], []).append(slot)
            model.add(sum(slots) == hands["count"] * on[t["id"]])
        for who, slots in chosen.items():
            does = model.new_bool_var("")
            model.add(sum(slots) == does)
            busy[who].append(
                model.new_optional_interval_var(start[t["id"]], t["duration"], end[t["id"]], does, "")
            )
    for intervals in busy.values():
        model.add_no_overlap(intervals)
    finish = model.new_int_var(0, 2 * horizon, "")
    for name in on:
        model.add(finish >= end[name]).only_enforce_if(on[name])
    value = sum(t.get("value", 0) * on[t["id"]] for t in tasks if t.get("optional"))
    # First the value, then the finish.
    model.minimize(finish - value * (2 * horizon + 1))
    return model, finish, [(t, on[t["id"]]) for t in tasks]


def solve(problem, limit):
    used = 0.0
    for late in (False, True):
        model, finish, tasks = build(problem, late)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.max_time_in_seconds = max(limit - used, 0.001)
        begun = time.process_time()
        status = solver.solve(model)
        used += time.process_time() - begun
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            value = sum(t.get("value", 0) for t, on in tasks if t.get("optional") and solver.value(on))
            return {
                "on_time": not late,
                "value": value,
                "finish": solver.value(finish),
                "proven": status == cp_model.OPTIMAL,
                "time_s": used,
            }
        if status != cp_model.INFEASIBLE:
            break
    return {"on_time": None, "value": 0, "finish": 0, "proven": False, "time_s": used}


for line in sys.stdin:
    asked = json.loads(line)
    print(json.dumps(solve(asked["problem"], asked["limit_s"])), flush=True)
