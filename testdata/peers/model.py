"""The job of a folder as an assignment problem: rows, bins and arcs.

It is worked out from the CSV and engine files anew, with nothing of the Go
program's: lengths are whole nanometres in int64, so every figure is exact.

A row is a number of equal valves, a bin a number of equal shims, an arc a shim
that suits a valve, with its cost in each criterion. The cheapest purchase needs
no bin: it is an arc to bin -1.
"""

import csv
import tomllib
from decimal import Decimal

import numpy as np

CRITERIA = ["unserved", "bought", "cost", "near", "disturbed", "drawn", "deviation", "changed"]  # policy thrift
UNSERVED, BOUGHT, COST, NEAR, DISTURBED, DRAWN, DEVIATION, CHANGED = range(8)
MARGIN = 10_000  # nm
BOX = -1  # the box's pool


def nm(text):
    """Decimal text in mm as whole nanometres."""
    return int((Decimal(str(text)) * 1_000_000).to_integral_exact())


class Model:
    def __init__(self, folder, pooled):
        with open(f"{folder}/engine.toml", "rb") as f:
            engine = tomllib.load(f, parse_float=Decimal)
        sides = []
        for name in ("intake", "exhaust"):
            tight, loose = map(nm, engine[name]["clearance"])
            aim = tight + int((loose - tight) * Decimal(str(engine[name].get("aim", "0.5"))))
            sides.append((tight, loose, aim))
        (catalogue,) = engine["shims"]["catalogue"]
        sizes = np.arange(nm(catalogue["from"]), nm(catalogue["to"]) + 1, nm(catalogue["step"]), dtype=np.int64)

        length = {"": 0}  # many cells say the same

        def cell(text):
            if text not in length:
                length[text] = nm(text)
            return length[text]

        jobs = {}
        rows, bins = {}, {}
        self.valves = []  # the row of each valve, in the file's order
        with open(f"{folder}/check.csv", newline="") as f:
            for r in csv.DictReader(f):
                pool = 0 if pooled else jobs.setdefault(r["job"], len(jobs))
                size = cell(r["mic"]) or cell(r["shim"])
                key = (pool, r["valve"].startswith("ex"), cell(r["clearance"]), size)
                rows[key] = rows.get(key, 0) + 1
                bins[pool, size] = bins.get((pool, size), 0) + 1
                self.valves.append(key)
        with open(f"{folder}/box.csv", newline="") as f:
            for r in csv.DictReader(f):
                if int(r["count"]) > 0:
                    key = (BOX, cell(r["mic"]) or cell(r["size"]))
                    bins[key] = bins.get(key, 0) + int(r["count"])

        self.row_keys = sorted(rows)
        self.row_count = np.array([rows[k] for k in self.row_keys], dtype=np.int64)
        self.bin_keys = sorted(bins)
        self.bin_count = np.array([bins[k] for k in self.bin_keys], dtype=np.int64)
        self._arcs(sides, sizes, int(round(catalogue["price"] * 100)))

    def _arcs(self, sides, offered, price):
        keys = np.array(self.row_keys, dtype=np.int64)
        pool, side, clearance, own = keys.T
        tight, loose, aim = np.array(sides, dtype=np.int64)[side].T
        inside = (tight <= clearance) & (clearance <= loose)
        thin, thick = clearance + own - loose, clearance + own - tight
        stack = clearance + own

        bins = np.array(self.bin_keys, dtype=np.int64)
        line = (bins[:, 0] + 1 << 32) + bins[:, 1]  # one line of all pools

        def spans(pool):
            base = pool + 1 << 32
            return np.searchsorted(line, base + thin), np.searchsorted(line, base + thick, side="right")

        row, bin = [], []
        for from_, to in (spans(pool), spans(np.full_like(pool, BOX))):
            n = np.maximum(to - from_, 0)
            row.append(np.repeat(np.arange(len(keys)), n))
            bin.append(np.repeat(from_ - np.cumsum(n) + n, n) + np.arange(n.sum()))
        stay = np.searchsorted(line, (pool + 1 << 32) + own)
        row.append(np.flatnonzero(~inside))  # its own shim, though it does not suit
        bin.append(stay[~inside])
        row, bin = np.concatenate(row), np.concatenate(bin)
        is_box = bins[bin, 0] == BOX
        is_own = bin == stay[row]

        def fit(row, size, moved):
            cost = np.zeros((len(row), 8), dtype=np.int64)
            expected = stack[row] - size
            fits = (tight[row] <= expected) & (expected <= loose[row])
            clear = (tight[row] + MARGIN <= expected) & (expected <= loose[row] - MARGIN)
            cost[:, UNSERVED] = ~fits
            cost[:, NEAR] = fits & ~clear
            cost[:, DEVIATION] = abs(expected - aim[row])
            cost[:, CHANGED] = moved
            cost[:, DISTURBED] = moved & inside[row]
            return cost

        cost = fit(row, bins[bin, 1], ~is_own)
        cost[:, DRAWN] = is_box

        # The best purchase: first not near a limit, then the closest to the aim.
        first, last = np.searchsorted(offered, thin), np.searchsorted(offered, thick, side="right")
        buyer = np.flatnonzero(last > first)
        n = last[buyer] - first[buyer]
        who = np.repeat(buyer, n)
        which = np.repeat(first[buyer] - np.cumsum(n) + n, n) + np.arange(n.sum())
        buy = fit(who, offered[which], np.ones(len(who), dtype=bool))
        buy[:, BOUGHT], buy[:, COST] = 1, price
        order = np.lexsort((buy[:, DEVIATION], buy[:, NEAR], who))
        best = order[np.flatnonzero(np.diff(who[order], prepend=-1))]

        self.row = np.concatenate([row, who[best]])
        self.bin = np.concatenate([bin, np.full(len(best), -1)])
        self.cost = np.concatenate([cost, buy[best]])
        self.size = np.concatenate([bins[bin, 1], offered[which[best]]])
        # In order of row.
        order = np.argsort(self.row, kind="stable")
        self.row, self.bin, self.cost, self.size = self.row[order], self.bin[order], self.cost[order], self.size[order]

    def write(self, name, flow):
        """Writes the size that each valve gets, a line for each valve."""
        sizes = {}
        for row, size, n in zip(self.row.tolist(), self.size.tolist(), flow.tolist()):
            if n:
                sizes.setdefault(self.row_keys[row], []).extend([size] * n)
        with open(name, "w") as f:
            for key in self.valves:
                size = sizes[key].pop()
                f.write(f"{size // 1_000_000}.{size % 1_000_000:06d}\n")
