#!/usr/bin/python3
"""One general-purpose solver on the job of a folder.

    /usr/bin/python3 peers.py [--pooled] [--limit SECONDS] [--out FILE] PEER FOLDER

It prints one JSON line: what each criterion comes to, how many runs of the
solver that took, and the time inside the solver.

Costs go to the solver as whole numbers, several criteria in one where that is
exact for it, and then the next ones with the earlier ones fixed. To fix them the
prices that prove a run's answer cheapest are worked out (by rounds of
Bellman-Ford, here, not by the solver); what is dearer at these prices goes.
So each answer is checked before it counts: that it is feasible, and cheapest.
"""

import argparse
import json
import subprocess
import sys
import tempfile
import time

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linear_sum_assignment, linprog, milp
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import min_weight_full_bipartite_matching

from model import CRITERIA, Model

EXACT = 2**53  # whole numbers up to here are exact in a float64
TAME = 10**9  # a simplex in float64 can tell costs up to here from one another


class Problem:
    """What one run of a solver is to do: arcs with one whole cost each."""

    def __init__(self, rows, bins, row, bin, cost, full):
        self.rows, self.bins = rows, bins  # counts
        self.row, self.bin, self.cost = row, bin, cost
        self.full = full  # by bin: whether all its pieces must be used
        inner = bin >= 0
        # A bin that cannot run out is no constraint.
        reach = np.bincount(bin[inner], weights=rows[row[inner]], minlength=len(bins))
        self.binding = full | (reach > bins)


# Solvers that match one valve with one shim.


def columns(p, every_piece):
    """Spreads rows and bins to single valves and shims: a column for each
    piece, and one for each valve that is its own: its purchase. Unless every
    piece is to have a column, sizes that cannot run out go there too."""
    own = (p.bin < 0) | ~(p.binding[p.bin] | every_piece)
    pieces = p.bins if every_piece else np.where(p.binding, p.bins, 0)
    start = np.concatenate([[0], np.cumsum(pieces)])
    first = np.concatenate([[0], np.cumsum(p.rows)])
    # Of the arcs into a valve's own column the cheapest.
    order = np.lexsort((p.cost, p.row, ~own))[: own.sum()]
    own_arc = np.full(len(p.rows), -1)
    own_arc[p.row[order][::-1]] = order[::-1]
    return own, pieces, start, first, own_arc


def bonus(p):
    """The cost with a reward for each piece that must be used, more than all else."""
    reward = int((p.rows * row_range(p.row, p.cost, len(p.rows))).sum()) + 1
    return p.cost - np.where((p.bin >= 0) & p.full[p.bin], reward, 0)


def collect(p, valve_row, columns_of, start, own_arc, n_pieces):
    """Adds up the single valves' columns to what flows on each arc."""
    flow = np.zeros(len(p.row), dtype=np.int64)
    index = {(r, b): i for i, (r, b) in enumerate(zip(p.row.tolist(), p.bin.tolist()))}
    bin_of = np.searchsorted(start, columns_of, side="right") - 1
    for row, column, bin in zip(valve_row.tolist(), columns_of.tolist(), bin_of.tolist()):
        flow[own_arc[row] if column >= n_pieces else index[row, bin]] += 1
    return flow


def dense(p, timer, every_piece=False):
    """scipy.optimize.linear_sum_assignment"""
    own, pieces, start, first, own_arc = columns(p, every_piece)
    cost = bonus(p)
    n, m = first[-1], start[-1]
    matrix = np.full((n, m + n), np.inf)
    for i in np.flatnonzero(~own):
        r, b = p.row[i], p.bin[i]
        matrix[first[r] : first[r + 1], start[b] : start[b + 1]] = cost[i]
    valve_row = np.repeat(np.arange(len(p.rows)), p.rows)
    has = np.flatnonzero(own_arc[valve_row] >= 0)
    matrix[has, m + has] = cost[own_arc[valve_row[has]]]
    with timer:
        _, column = linear_sum_assignment(matrix)
    return collect(p, valve_row, column, start, own_arc, m)


def dense_pieces(p, timer):
    """The same with a column for every piece of the box"""
    return dense(p, timer, every_piece=True)


def sparse(p, timer):
    """scipy.sparse.csgraph.min_weight_full_bipartite_matching"""
    own, pieces, start, first, own_arc = columns(p, False)
    cost = bonus(p)
    cost = cost - cost.min() + 1  # a zero would count as no arc
    n, m = first[-1], start[-1]
    valve_row = np.repeat(np.arange(len(p.rows)), p.rows)
    i, j, w = [], [], []
    for a in np.flatnonzero(~own):
        r, b = p.row[a], p.bin[a]
        valves, shims = p.rows[r], pieces[b]
        i.append(np.repeat(np.arange(first[r], first[r + 1]), shims))
        j.append(np.tile(np.arange(start[b], start[b + 1]), valves))
        w.append(np.full(valves * shims, cost[a]))
    has = np.flatnonzero(own_arc[valve_row] >= 0)
    i.append(has), j.append(m + has), w.append(cost[own_arc[valve_row[has]]])
    matrix = csr_matrix((np.concatenate(w).astype(float), (np.concatenate(i), np.concatenate(j))), shape=(n, m + n))
    with timer:
        valve, column = min_weight_full_bipartite_matching(matrix)
    return collect(p, valve_row[valve], column, start, own_arc, m)


# Solvers of linear programs. The matrix is that of a network: a vertex is whole.


def constraints(p):
    """The matrix: a line for each row, then one for each bin that binds."""
    line = np.cumsum(p.binding) - 1
    binds = np.flatnonzero((p.bin >= 0) & p.binding[p.bin])
    i = np.concatenate([p.row, len(p.rows) + line[p.bin[binds]]])
    j = np.concatenate([np.arange(len(p.row)), binds])
    n = len(p.rows) + int(p.binding.sum())
    matrix = csr_matrix((np.ones(len(i)), (i, j)), shape=(n, len(p.row)))
    high = np.concatenate([p.rows, p.bins[p.binding]]).astype(float)
    low = high.copy()
    low[len(p.rows) :] = np.where(p.full[p.binding], high[len(p.rows) :], 0)
    return matrix, low, high


def whole(x):
    flow = np.rint(x)
    if abs(flow - x).max() > 1e-5:
        raise Wrong("an answer that is not whole")
    return flow.astype(np.int64)


def highs(p, timer, presolve=False):
    """scipy.optimize.linprog, HiGHS's dual simplex without presolve"""
    matrix, low, high = constraints(p)
    equal = low == high
    with timer:
        r = linprog(
            p.cost, A_eq=matrix[equal], b_eq=high[equal],
            A_ub=None if equal.all() else matrix[~equal], b_ub=None if equal.all() else high[~equal],
            method="highs-ds", options={"presolve": presolve},
        )
    if r.x is None:
        raise Wrong(r.message)
    return whole(r.x)


def highs_presolve(p, timer):
    """The same with presolve"""
    return highs(p, timer, presolve=True)


def highs_milp(p, timer):
    """scipy.optimize.milp: HiGHS, variables whole, without presolve"""
    matrix, low, high = constraints(p)
    with timer:
        r = milp(p.cost, integrality=np.ones(len(p.row)), bounds=Bounds(0, np.inf),
                 constraints=LinearConstraint(matrix, low, high), options={"presolve": False, "mip_rel_gap": 0})
    if r.x is None:
        raise Wrong(r.message)
    return whole(r.x)


def mps(p, file):
    """Writes the linear program in free MPS."""
    matrix, low, high = constraints(p)
    names = [f"r{i}" for i in range(len(high))]
    file.write("NAME job\nROWS\n N cost\n")
    for name, l, h in zip(names, low, high):
        file.write(f" {'E' if l == h else 'L'} {name}\n")
    file.write("COLUMNS\n")
    by_column = matrix.tocsc()
    for j, cost in enumerate(p.cost.tolist()):
        lines = by_column.indices[by_column.indptr[j] : by_column.indptr[j + 1]]
        file.write(f" x{j} cost {cost}" + "".join(f"\n x{j} r{i} 1" for i in lines) + "\n")
    file.write("RHS\n")
    for name, h in zip(names, high.tolist()):
        file.write(f" rhs {name} {int(h)}\n")
    file.write("ENDATA\n")


def glpk(p, timer):
    """glpsol on an MPS file; reading it counts as the solver's time"""
    with tempfile.TemporaryDirectory() as folder:
        with open(f"{folder}/job.mps", "w") as f:
            mps(p, f)
        with timer:
            subprocess.run(["glpsol", "--freemps", f"{folder}/job.mps", "-w", f"{folder}/out"], check=True, stdout=subprocess.DEVNULL)
        x = np.zeros(len(p.row))
        with open(f"{folder}/out") as f:
            for line in f:
                word = line.split()
                if word[:1] == ["s"] and word[4:6] != ["f", "f"]:
                    raise Wrong("no optimum: " + line.strip())
                if word[:1] == ["j"]:
                    x[int(word[1]) - 1] = float(word[3])
        return whole(x)


def cbc(p, timer):
    """cbc on an MPS file; reading it counts as the solver's time"""
    with tempfile.TemporaryDirectory() as folder:
        with open(f"{folder}/job.mps", "w") as f:
            mps(p, f)
        with timer:
            subprocess.run(["cbc", f"{folder}/job.mps", "-solve", "-solution", f"{folder}/out"], check=True, stdout=subprocess.DEVNULL)
        x = np.zeros(len(p.row))
        with open(f"{folder}/out") as f:
            if not f.readline().startswith("Optimal"):
                raise Wrong("no optimum")
            for line in f:
                word = line.replace("**", "").split()
                x[int(word[1][1:])] = float(word[2])
        return whole(x)


# name: solver, the largest whole cost that it is given
PEERS = {
    "dense": (dense, EXACT),
    "dense-pieces": (dense_pieces, EXACT),
    "sparse": (sparse, EXACT),
    "highs": (highs, TAME),
    "highs-presolve": (highs_presolve, TAME),
    "highs-milp": (highs_milp, TAME),
    "glpk": (glpk, TAME),
    "cbc": (cbc, TAME),
}


class Wrong(Exception):
    """A solver's answer that cannot be used."""


class Timer:
    def __init__(self):
        self.seconds = 0.0

    def __enter__(self):
        self.start = time.perf_counter()

    def __exit__(self, *_):
        self.seconds += time.perf_counter() - self.start


def row_range(row, cost, n):
    """By row: the largest cost of an arc less the smallest. Arcs are in order of row."""
    at = np.flatnonzero(np.diff(row, prepend=-1))
    result = np.zeros(n, dtype=np.int64)
    result[row[at]] = np.maximum.reduceat(cost, at) - np.minimum.reduceat(cost, at)
    return result


def from_least(row, cost):
    """The cost of each arc above the least of its row, without a common factor."""
    at = np.flatnonzero(np.diff(row, prepend=-1))
    least = np.repeat(np.minimum.reduceat(cost, at), np.diff(np.append(at, len(row))))
    above = cost - least
    return above // max(1, np.gcd.reduce(above))


def pack(row, cost, rows, limit):
    """As many of the criteria as one whole number below the limit holds exactly:
    what all the later ones could come to is less than one of an earlier one."""
    used, packed = 0, None
    for n in range(1, cost.shape[1] + 1):
        total = np.zeros(len(row), dtype=object)
        weight = 1
        before = None
        for k in reversed(range(n)):
            column = from_least(row, cost[:, k])
            if k > 0 and (column == from_least(row, cost[:, k - 1])).all():
                continue  # says the same as the one before
            total = total + column.astype(object) * weight
            if total.max(initial=0) >= 2**62:
                break
            before = row_range(row, total.astype(np.int64), len(rows))
            weight = int((rows * before).sum()) + 1
        if before is None or total.max(initial=0) >= 2**62 or weight >= limit:
            break
        used, packed = n, total.astype(np.int64)
    if not used:
        raise Wrong("one criterion alone is too much for exact costs")
    return used, packed


def check(p, flow):
    """Raises Wrong unless the flow is an assignment."""
    if (flow < 0).any() or (np.bincount(p.row, weights=flow, minlength=len(p.rows)) != p.rows).any():
        raise Wrong("infeasible: a valve without one shim")
    inner = p.bin >= 0
    used = np.bincount(p.bin[inner], weights=flow[inner], minlength=len(p.bins))
    if (used > p.bins).any():
        raise Wrong("infeasible: a shim used twice")
    if (used[p.full] < p.bins[p.full]).any():
        raise Wrong("not the optimum of the earlier criteria")
    return used.astype(np.int64)


def prices(p, flow, used):
    """The least prices of the bins that prove the flow cheapest, by rounds of
    Bellman-Ford, and how much dearer than its row's cheapest each arc is at
    them. Raises Wrong where there are no such prices."""
    cost = bonus(p)
    price = np.zeros(len(p.bins) + 1, dtype=np.int64)  # the last one is outside
    placed = flow > 0
    at = np.flatnonzero(np.diff(p.row, prepend=-1))
    lengths = np.diff(np.append(at, len(p.row)))
    order = np.argsort(p.bin, kind="stable")
    order = order[p.bin[order] >= 0]
    heads = np.flatnonzero(np.diff(p.bin[order], prepend=-2))
    bins = p.bin[order][heads]
    for _ in range(len(p.bins) + 2):
        pays = np.maximum.reduceat(np.where(placed, cost + price[p.bin], -(2**62)), at)
        raised = np.maximum.reduceat((np.repeat(pays, lengths) - cost)[order], heads)
        if (raised <= price[bins]).all():
            break
        price[bins] = np.maximum(price[bins], raised)
        if price[-1] or (price[:-1][used < p.bins] > 0).any():
            raise Wrong("not the optimum")
    else:
        raise Wrong("not the optimum")
    pays = np.minimum.reduceat(cost + price[p.bin], at)
    dearer = cost + price[p.bin] - np.repeat(pays, lengths)
    if (dearer[placed] != 0).any():
        raise Wrong("not the optimum")
    return price[:-1], dearer


def solve(model, peer, limit):
    """Solves criterion by criterion, as many at once as the costs hold."""
    row, bin, cost = model.row, model.bin, model.cost
    alive = np.arange(len(row))
    full = np.zeros(len(model.bin_count), dtype=bool)
    timer, runs, done = Timer(), 0, 0
    while done < len(CRITERIA):
        # A matching is made to use a piece by a reward for it, which costs room.
        room = limit // (1 + int(model.bin_count[full].sum())) if limit == EXACT else limit
        used, packed = pack(row[alive], cost[alive, done:], model.row_count, room)
        p = Problem(model.row_count, model.bin_count, row[alive], bin[alive], packed, full)
        flow = peer(p, timer)
        runs += 1
        pieces = check(p, flow)
        done += used
        if done < len(CRITERIA):
            price, dearer = prices(p, flow, pieces)
            full = full | (price > 0)
            alive = alive[dearer == 0]
        else:
            prices(p, flow, pieces)
    total = np.zeros(len(row), dtype=np.int64)
    total[alive] = flow
    return total, timer.seconds, runs


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--pooled", action="store_true")
    parser.add_argument("--out")
    parser.add_argument("peer", choices=PEERS)
    parser.add_argument("folder")
    a = parser.parse_args()
    model = Model(a.folder, a.pooled)
    peer, limit = PEERS[a.peer]
    try:
        flow, seconds, runs = solve(model, peer, limit)
    except (Wrong, MemoryError, ValueError) as error:
        print(json.dumps({"error": f"{type(error).__name__}: {error}"}))
        sys.exit(1)
    if a.out:
        model.write(a.out, flow)
    total = (flow[:, None] * model.cost).sum(axis=0)
    print(json.dumps({"criteria": dict(zip(CRITERIA, total.tolist())), "runs": runs, "seconds": seconds}))


if __name__ == "__main__":
    main()
