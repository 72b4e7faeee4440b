"""Makes random boards and what networkx says of a walk on each.

    /usr/bin/python3 gen.py > boards.json

The meaning is that of the format's own definition: a net has its level because
a driver gives it or a pass element brings it from another net (any of them), a
driver or pass element works while all that it needs holds, and a pass element
brings a net its level only when a driver can be reached behind it without
coming back through that net. What no graph algorithm of networkx answers (which
nets are up with a unit taken out) is a plain sweep to a fixed point.

All resistances are 10 mohm and no board has more than two diodes or 35 parts, so
that no way is ever too weak to count. Made with networkx 2.8.8.
"""
import json
import random
import sys

import networkx as nx

SEED = 20240907


class Board:
    def __init__(self, rng):
        self.rng = rng
        self.lines = []
        self.count = {}
        self.passes = []   # (unit, from, to, control net or None)
        self.drivers = []  # (unit, net, needs) where needs is a list of clauses, each a list of nets: AND of ORs
        self.caps = []     # (part, net)
        self.driven = set()
        self.diodes = 0

    def name(self, letter):
        self.count[letter] = self.count.get(letter, 0) + 1
        return f"{letter}{self.count[letter]}"

    def supply(self, net):
        p = self.name("PS")
        self.lines.append(f"supply {p} -> {net}")
        self.drivers.append((p, net, []))
        self.driven.add(net)

    def both(self, unit, a, b, control=None):
        self.passes.append((unit, a, b, control))
        self.passes.append((unit, b, a, control))

    def series(self, a, b):
        kind, letter = self.rng.choice([("fuse", "F"), ("resistor", "R"), ("ferrite", "FB"), ("coil", "L")])
        p = self.name(letter)
        self.lines.append(f"{kind} {p} {a} -> {b} r=10m")
        self.both(p, a, b)

    def diode(self, a, b):
        if self.diodes == 2:
            return self.series(a, b)
        self.diodes += 1
        p = self.name("D")
        self.lines.append(f"diode {p} {a} -> {b}")
        self.passes.append((p, a, b, None))

    def switch(self, a, b, control):
        if self.rng.random() < 0.5:
            p = self.name("U")
            self.lines.append(f"loadswitch {p} {a} -> {b} en={control} gnd=GND r=10m")
            self.both(p, a, b, control)
        elif self.rng.random() < 0.6:
            p = self.name("Q")
            self.lines.append(f"pfet {p} {a} -> {b} gate={control} on=high r=10m")
            self.both(p, a, b, control)
        else:
            # A pfet whose gate an nfet holds low while the control net is up.
            p, q = self.name("Q"), self.name("Q")
            gate = "GATE" + q[1:]
            self.lines.append(f"pfet {p} {a} -> {b} gate={gate} r=10m")
            self.lines.append(f"nfet {q} {gate} -> GND gate={control} r=10m")
            self.both(p, a, b, gate)
            self.drivers.append((q, gate, [[control]]))

    def connector(self, pairs):
        p = self.name("J")
        self.lines.append(f"connector {p}")
        for i, (a, b) in enumerate(pairs, 1):
            self.lines.append(f"    pin {i} {a} -> {b}")
            self.both(f"{p} pin {i}", a, b)

    def regulator(self, source, enable, out):
        p = self.name("U")
        self.lines.append(f"regulator {p} in={source} out={out} en={enable} gnd=GND")
        self.drivers.append((p, out, [[source], [enable]]))
        self.driven.add(out)

    def controller(self, vdd, out, clauses):
        p = self.name("U")
        text = " & ".join(c[0] if len(c) == 1 else "(" + " | ".join(c) + ")" for c in clauses)
        # Nets of a condition must be on the board, so they are named as inputs.
        inputs = ",".join(sorted({n for c in clauses for n in c} - {vdd}))
        self.lines.append(f"controller {p} vdd={vdd} gnd=GND" + (f" io={inputs}" if inputs else ""))
        self.lines.append(f"    drives {out} when {text}")
        self.drivers.append((p, out, [[vdd]] + clauses))
        self.driven.add(out)

    def cap(self, net):
        p = self.name("C")
        self.lines.append(f"capacitor {p} {net} -> GND 1u")
        self.caps.append((p, net))

    # --- what the definition says -------------------------------------------

    def up(self, without=None):
        """Nets that have their level, with one unit taken out."""
        nets, size = set(), -1
        while size != len(nets):
            size = len(nets)
            for unit, net, needs in self.drivers:
                if unit != without and all(any(n in nets for n in clause) for clause in needs):
                    nets.add(net)
            for unit, a, b, control in self.passes:
                if unit != without and a in nets and (control is None or control in nets):
                    nets.add(b)
        return nets

    def providers(self):
        """For each net, the pass elements that can bring its level, as (unit, from, control)."""
        flow = nx.DiGraph()
        flow.add_nodes_from(n for _, n, _ in self.drivers)
        for _, a, b, _ in self.passes:
            flow.add_edge(a, b)
        driven = {net for _, net, _ in self.drivers}
        result = {}
        for net in flow:
            rest = flow.subgraph(n for n in flow if n != net)
            behind = {n: (nx.ancestors(rest, n) | {n}) & driven for n in rest}
            result[net] = [(u, a, c) for u, a, b, c in self.passes if b == net and a != net and behind[a]]
        return result

    def expected(self, target):
        up = self.up()
        providers = self.providers()
        # Ways that cannot work on a healthy board are left out where another can.
        ways = {}
        for net in up:
            ways[net] = [(u, a, c) for u, a, c in providers.get(net, []) if a in up and (c is None or c in up)]
        need = nx.DiGraph()
        need.add_node(target)
        for net in up:
            for u, a, c in ways[net]:
                step = ("pass", u, a, net)
                need.add_edge(net, step)
                need.add_edge(step, a)
                if c is not None:
                    need.add_edge(step, c)
            for i, (u, n, needs) in enumerate(self.drivers):
                if n != net or not all(any(x in up for x in clause) for clause in needs):
                    continue
                step = ("drive", u, i)
                need.add_edge(net, step)
                for clause in needs:
                    for x in clause:
                        if x in up:
                            need.add_edge(step, x)
        on_walk = nx.descendants(need, target) | {target}
        nets = {n for n in on_walk if isinstance(n, str)}
        units = {n[1] for n in on_walk if not isinstance(n, str)}
        singles = {u for u in units if target not in self.up(u)}
        # The same by dominators where nothing but choices is on the board.
        if all(not needs for _, _, needs in self.drivers) and all(c is None for *_, c in self.passes):
            assert singles == self.dominators(target, on_walk, need), (self.lines, target)
        carry = nx.DiGraph()
        for net in nets:
            for _, a, _ in ways[net]:
                carry.add_edge(net, a)
        return {
            "target": target,
            "parts": sorted({u.split()[0] for u in units}),
            "nets": sorted(nets),
            "singles": sorted(singles),
            "redundant": sorted(self.redundant(nets, ways)),
            "components": sorted(sorted(c) for c in nx.strongly_connected_components(carry) if len(c) > 1),
            "shunts": sorted({p for p, n in self.caps if n in nets}),
        }

    def dominators(self, target, on_walk, need):
        """Units that every way from a super source to the target passes."""
        back = nx.DiGraph()
        for a, b in need.subgraph(on_walk).edges:
            back.add_edge(b, a)
        for n in on_walk:
            if not isinstance(n, str) and n[0] == "drive":
                back.add_edge("*", n)
        dom = set()
        tree = nx.immediate_dominators(back, "*")
        n = target
        while n != "*":
            n = tree[n]
            if not isinstance(n, str):
                dom.add(n[1])
        # Taking a two-way unit out takes both directions; the dominator of one
        # direction alone is enough, since a simple way never uses both.
        return dom

    def redundant(self, nets, ways):
        result = []
        for net in nets:
            direct = [u for u, n, needs in self.drivers if n == net and all(any(x in self.up() for x in c) for c in needs)]
            if len(ways[net]) + len(direct) < 2:
                continue
            # The ways to this net, without what switches them.
            graph = nx.DiGraph()
            todo, seen = [net], {net}
            while todo:
                n = todo.pop()
                for u, m, needs in self.drivers:
                    if m == n and all(any(x in self.up() for x in c) for c in needs):
                        self.add(graph, "*", n, ("drive", u))
                for u, a, _ in ways[n]:
                    self.add(graph, a, n, (u, a))
                    if a not in seen:
                        seen.add(a)
                        todo.append(a)
            tree = nx.immediate_dominators(self.split(graph), "*")
            join = tree[net]
            while not isinstance(join, str):
                join = tree[join]
            faults, _ = nx.minimum_cut(graph, join, net)
            # The same by a cut of nodes: each net is spread over its units.
            assert faults == self.node_cut(graph, join, net), (self.lines, net)
            result.append([net, "" if join == "*" else join, faults])
        return [r for r in result if r[2] >= 2]

    @staticmethod
    def add(graph, a, b, unit):
        if graph.has_edge(a, b):
            graph[a][b]["capacity"] += 1
            graph[a][b]["units"].append(unit)
        else:
            graph.add_edge(a, b, capacity=1, units=[unit])

    @staticmethod
    def split(graph):
        """Units as nodes between the nets."""
        split = nx.DiGraph()
        for a, b, data in graph.edges(data=True):
            for u in data["units"]:
                split.add_edge(a, (u, a, b))
                split.add_edge((u, a, b), b)
        return split

    @staticmethod
    def node_cut(graph, s, t):
        """The smallest number of units between s and t, by minimum_node_cut on
        a graph of units: one unit leads to another over the net between them."""
        line = nx.DiGraph()
        into, out = {}, {}
        for a, b, data in graph.edges(data=True):
            for u in data["units"]:
                node = (u, a, b)
                out.setdefault(a, []).append(node)
                into.setdefault(b, []).append(node)
        for net in set(into) | set(out):
            for x in into.get(net, []):
                for y in out.get(net, []):
                    if net not in (s, t):
                        line.add_edge(x, y)
        for y in out.get(s, []):
            line.add_edge("source", y)
        for x in into.get(t, []):
            line.add_edge(x, "sink")
        return len(nx.minimum_node_cut(line, "source", "sink"))


def pick(rng, nets, n):
    return rng.sample(nets, n)


def make(kind, index):
    rng = random.Random(f"{SEED}/{kind}/{index}")
    b = Board(rng)
    nets = [f"N{i}" for i in range(rng.randint(5, 11))]
    for n in pick(rng, nets, rng.randint(1, 3)):
        b.supply(n)
    if kind == "ladder":
        # Rails joined by several parts side by side, in a row.
        row = nets[:]
        rng.shuffle(row)
        for a, c in zip(row, row[1:]):
            for _ in range(rng.choice([1, 2, 2, 3])):
                b.series(*rng.choice([(a, c), (c, a)]))
        for _ in range(rng.randint(0, 2)):
            b.series(*pick(rng, nets, 2))
    else:
        for _ in range(rng.randint(len(nets), len(nets) + 5)):
            a, c = pick(rng, nets, 2)
            if rng.random() < 0.15:
                b.diode(a, c)
            else:
                b.series(a, c)
    if kind == "switched":
        for _ in range(rng.randint(1, 4)):
            b.switch(*pick(rng, nets, 3))
        for _ in range(rng.randint(0, 3)):
            free = [n for n in nets if n not in b.driven]
            if not free:
                break
            out = rng.choice(free)
            others = [n for n in nets if n != out]
            if rng.random() < 0.6:
                b.regulator(rng.choice(others), rng.choice(others), out)
            else:
                clauses = [pick(rng, others, rng.randint(1, 2)) for _ in range(rng.randint(1, 2))]
                b.controller(rng.choice(others), out, clauses)
        # The chain of rails that a board has: far nets, each behind a switch.
        last = nets[0]
        for i in range(rng.randint(0, 3)):
            new = f"X{i}"
            b.switch(last, new, rng.choice(nets))
            last = new
            nets.append(new)
    if rng.random() < 0.5:
        b.connector([pick(rng, nets, 2) for _ in range(rng.randint(2, 4))])
        # Contacts side by side.
        if rng.random() < 0.6:
            a, c = pick(rng, nets, 2)
            b.connector([(a, c)] * rng.randint(2, 3))
    for n in nets:
        if rng.random() < 0.3:
            b.cap(n)
    up = b.up()
    targets = sorted(n for n in nets if n in up and n not in b.driven) or sorted(n for n in nets if n in up)
    target = rng.choice(targets)
    e = b.expected(target)
    order = blocks(b.lines)
    rng.shuffle(order)
    e["board"] = "\n".join([f"board {kind}{index}", "net GND ground"] + order) + "\n"
    return e


def blocks(lines):
    """Statements with the lines that belong to them."""
    out = []
    for line in lines:
        if line.startswith(" "):
            out[-1] += "\n" + line
        else:
            out.append(line)
    return out


def main():
    boards = []
    for kind, n in [("plain", 100), ("ladder", 80), ("switched", 120)]:
        for i in range(n):
            boards.append(make(kind, i))
    head = {"networkx": nx.__version__, "python": sys.version.split()[0], "seed": SEED}
    print("{" + json.dumps(head)[1:-1] + ', "boards": [')
    print(",\n".join(json.dumps(b, separators=(",", ":")) for b in boards))
    print("]}")


main()
